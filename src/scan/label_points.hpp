#pragma once

#include <optional>
#include <vector>

#include "kerfwright/scan/find_log.hpp"
#include "part_log.hpp"

namespace kerfwright {

struct LabelInput {
  const Points& points;
  const Yard& yard;
  const LogFrame& frame;
  const PartedLog& log;
  const std::vector<const RoughAxis*>& others;  ///< other logs
  const RoughAxis* fork;                        ///< the second stem; may be null
  const Known& known;
};

/// Names every point of the scan: those near the log by how it was parted, the rest by the ground,
/// by other logs, and by what they hang together with.
std::vector<PointLabel> label_points(const LabelInput& input);

}  // namespace kerfwright
