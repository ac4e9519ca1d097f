#pragma once

#include "flat_flitch.hpp"
#include "kerfwright/sheet/saw_steps.hpp"

namespace kerfwright::sheet {

/// How to edge a flitch and cut it to length, rounded to steps of the tape so that its boards still
/// come out, and what they then fetch.
struct FlitchTold {
  FlitchSteps steps;
  double value = 0;
};
FlitchTold flitch_steps(const Subject& subject, const Flitch& flitch);

}  // namespace kerfwright::sheet
