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
  bool joined = false;  ///< grows out of the first: nothing of the one is seen inside the other
};

/// Everything that stands round the log, in a frame of its own: mm, z up, the ground about z = 0,
/// the log's butt near the origin and its chord along x but for a little tilt.
struct Yard {
  std::vector<YardLog> logs;  ///< the first is the one that is scanned
  std::vector<YardBox> boxes;
  std::array<double, 4> ground_phase{};
  double relief = 1.0;
};

/// The border at which the scan stops, in the first log's frame: what has normal . p > distance is
/// not in it.
struct ScanBorder {
  Eigen::Vector3d normal{1, 0, 0};
  double distance = 1e300;
};
ScanBorder scan_border(const InventedLog& log, const PhoneSettings& settings);

/// Whether a point of the yard lies inside a log that is joined to the first, or, for a point of
/// such a one, inside the first.
bool is_inside_joined(const Yard& yard, const Eigen::Vector3d& point, int own_log);

/// How far a log reaches to +y (`side` 1) or -y (-1), as |y|, between two x and two heights of the
/// yard; -1e9 where it is not there.
double reach_to(const YardLog& lying, int side, double from, double to, double low, double high,
                double step);

/// A log laid down so that it rests at both insets on supports of half width `half`, their tops at
/// `top`.
Eigen::Isometry3d lay_down(const InventedLog& log, double inset, double half, double top);

/// Adds what `settings.about` asks for; `top` is the height of the bunks. In surroundings.cpp.
void add_surroundings(Yard& yard, const PhoneSettings& settings, double top, Dice& dice);

/// Moves a second log until it touches the first where `settings.about` wants it.
void place_second_log(YardLog& other, const YardLog& first, const PhoneSettings& settings,
                      double top, Dice& dice);

Yard make_yard(const InventedLog& log, const PhoneSettings& settings, Dice& dice);

/// Height of the soil at (x, y), grass apart, mm.
double ground_height(const Yard& yard, double x, double y);

/// Whether anything stands between two points of the yard. Things nearer than 8 mm to `from` do not
/// count, and the log or box that `from` itself lies on is left out by the caller through
/// `own_log`/`own_box`.
bool is_hidden(const Yard& yard, const Eigen::Vector3d& from, const Eigen::Vector3d& to,
               int own_log, int own_box);

}  // namespace kerfwright
