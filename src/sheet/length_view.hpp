#pragma once

#include "subject.hpp"

namespace kerfwright::sheet {

enum class Looking { from_right, from_above };

/// The log along its length as it lies under the saw in the main setup, with its boards; butt to
/// the left.
Figure length_view(const Subject& subject, Looking looking);

}  // namespace kerfwright::sheet
