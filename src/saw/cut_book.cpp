#include "cut_book.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace kerfwright::saw {

CutBook::CutBook(const Order& order, const Mill& mill, double length) : length_(length) {
  plan.order = order;
  plan.mill = mill;
}

int CutBook::setup(SetupKind kind, double roll, double slope) {
  Setup made;
  made.kind = kind;
  made.roll = roll * 180.0 / std::numbers::pi;
  made.roll -= 360.0 * std::floor(made.roll / 360.0 + 1e-12);
  made.roll = std::max(0.0, made.roll);
  const double lift = slope * length_;
  made.lift_top = std::max(0.0, lift);
  made.lift_butt = std::max(0.0, -lift);
  for (const Setup& other : plan.setups) {
    if (!on_mill(kind) && other.kind == kind && std::abs(other.roll - made.roll) < 1e-9 &&
        std::abs(other.lift_top - made.lift_top) < 1e-9 &&
        std::abs(other.lift_butt - made.lift_butt) < 1e-9) {
      return other.n;
    }
  }
  made.n = static_cast<int>(plan.setups.size()) + 1;
  plan.setups.push_back(made);
  return made.n;
}

int CutBook::hand_setup(SetupKind kind, const Eigen::Vector3d& normal) {
  return setup(kind, std::atan2(normal.y(), normal.z()), std::clamp(normal.x(), -1.0, 1.0));
}

void CutBook::cut(int setup_number, const std::string& piece, const Eigen::Vector3d& point,
                  const Eigen::Vector3d& normal, const std::string& above, const std::string& below,
                  double area_mm2) {
  Cut made;
  made.n = static_cast<int>(plan.cuts.size()) + 1;
  made.setup = setup_number;
  made.piece = piece;
  made.point = point;
  made.normal = normal;
  made.kerf = plan.mill.kerf;
  made.above = above;
  made.below = below;
  plan.cuts.push_back(made);
  minutes_ += setting_minutes(setup_at(setup_number).kind, plan.mill) +
              area_mm2 * 1e-6 / plan.mill.feed_rate;
}

}  // namespace kerfwright::saw
