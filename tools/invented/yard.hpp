#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "invented/dice.hpp"
#include "invented/phone_scan.hpp"

namespace kerfwright {

/// A box that stands square in the yard.
struct YardBox {
  Eigen::AlignedBox3d box;  ///< mm
  Label label = Label::bunk;
};

struct YardLog {
  InventedLog log;
  Eigen::Isometry3d to_yard = Eigen::Isometry3d::Identity();
  Label label = Label::bark;
};

/// Everything that stands round the log, in a frame of its own: mm, z up, the ground about z = 0,
/// the log's butt near the origin and its chord along x but for a little tilt.
struct Yard {
  std::vector<YardLog> logs;  ///< the first is the one that is scanned
  std::vector<YardBox> boxes;
  std::array<double, 4> ground_phase{};
};

Yard make_yard(const InventedLog& log, const PhoneSettings& settings, Dice& dice);

/// Height of the soil at (x, y), grass apart, mm.
double ground_height(const Yard& yard, double x, double y);

/// Whether anything stands between two points of the yard. Things nearer than 8 mm to `from` do not
/// count, and the log or box that `from` itself lies on is left out by the caller through
/// `own_log`/`own_box`.
bool is_hidden(const Yard& yard, const Eigen::Vector3d& from, const Eigen::Vector3d& to,
               int own_log, int own_box);

}  // namespace kerfwright
