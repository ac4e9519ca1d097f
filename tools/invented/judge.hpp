#pragma once

#include <string>
#include <vector>

#include "invented/invented_log.hpp"
#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// What a board of a plan is in the true wood.
struct JudgedBoard {
  int id = 0;
  std::string product;
  double value = 0;
  double protrusion = 0;  ///< mm, how far the worst point that must be wood lies outside; negative:
                          ///< the least depth of any
  Eigen::Vector3d worst_point;  ///< where, in the true log's frame
  bool there = true;            ///< protrusion <= tolerance
};

struct JudgedPlan {
  std::vector<JudgedBoard> boards;
  double value_claimed = 0;  ///< what the plan says its boards fetch
  double value_there = 0;    ///< what those fetch that are wholly wood
  double share() const { return value_claimed > 0 ? value_there / value_claimed : 0; }
};

/// Carries each board of a plan to the true solid, by way of the scan's own coordinates, and looks
/// every 5 mm along it whether the outline of its section lies under the bark. An arris may miss a
/// corner of wane * thickness by wane * width of its product; what lies outside by up to
/// `tolerance` mm counts as wood.
JudgedPlan judge(const SawPlan& plan, const InventedLog& truth, const Eigen::Matrix4d& scan_to_log,
                 double tolerance = 0.5);

/// The same on a shape, as read from a truth file.
JudgedPlan judge(const SawPlan& plan, const LogShape& truth, double tolerance = 0.5);

}  // namespace kerfwright
