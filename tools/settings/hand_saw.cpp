#include "settings/hand_saw.hpp"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <set>
#include <string>

#include "kerfwright/shape/section.hpp"
#include "settings/hand_edging.hpp"

namespace kerfwright {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double height_probe = 6.0;  // mm between heights at which a flitch is looked at
constexpr double patch_along = 350.0;
constexpr int patches_round = 8;

Vector3d centre_at(const LogShape& shape, double x) {
  const Vector2d centre = axis_at(shape, x);
  return {x, centre.x(), centre.y()};
}

/// Which cuts bound a piece, from the last to the first, with the side it lies on.
struct Side {
  std::size_t cut;
  bool above;
};

class Tree {
 public:
  explicit Tree(const SawPlan& plan) : plan_(plan) {
    for (const Setup& setup : plan.setups) kinds_[setup.n] = setup.kind;
    for (std::size_t i = 0; i < plan.cuts.size(); ++i) {
      makers_[plan.cuts[i].above] = {i, true};
      makers_[plan.cuts[i].below] = {i, false};
    }
  }

  bool on_mill(std::size_t cut) const {
    return kerfwright::on_mill(kinds_.at(plan_.cuts[cut].setup));
  }

  std::vector<Side> sides(const std::string& piece) const {
    std::vector<Side> found;
    for (auto at = makers_.find(piece); at != makers_.end();
         at = makers_.find(plan_.cuts[at->second.cut].piece)) {
      if (on_mill(at->second.cut)) found.push_back(at->second);
    }
    return found;
  }

  /// The flitch that a board comes of.
  std::string flitch(std::string piece) const {
    for (auto at = makers_.find(piece); at != makers_.end() && !on_mill(at->second.cut);
         at = makers_.find(piece)) {
      piece = plan_.cuts[at->second.cut].piece;
    }
    return piece;
  }

  /// Between which cross-cuts a part of the log lies, as stations; else the ends that are given.
  Vector2d part_of(std::string piece, Vector2d ends) const {
    for (auto at = makers_.find(piece); at != makers_.end(); at = makers_.find(piece)) {
      const Cut& cut = plan_.cuts[at->second.cut];
      piece = cut.piece;
      if (on_mill(at->second.cut)) continue;
      const double side = (cut.normal.x() > 0.0) == at->second.above ? 1.0 : -1.0;
      const double end = cut.point.x() + side * 0.5 * cut.kerf;
      if (side > 0.0) ends.x() = std::max(ends.x(), end);
      if (side < 0.0) ends.y() = std::min(ends.y(), end);
    }
    return ends;
  }

  /// Where the plan cuts a flitch across before it is edged, as cuts.
  std::vector<std::size_t> crossed(const std::string& flitch) const {
    std::set<std::string> parts = {flitch};
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < plan_.cuts.size(); ++i) {
      const Cut& cut = plan_.cuts[i];
      if (!parts.contains(cut.piece) || kinds_.at(cut.setup) != SetupKind::cross_cut) continue;
      parts.insert(cut.above);
      parts.insert(cut.below);
      found.push_back(i);
    }
    return found;
  }

 private:
  const SawPlan& plan_;
  std::map<int, SetupKind> kinds_;
  std::map<std::string, Side> makers_;
};

/// The widest stretch of an outline on the line up . p = height.
Vector2d stretch_at(const std::vector<Vector2d>& outline, const Vector2d& across,
                    const Vector2d& up, double height) {
  std::vector<double> at;
  double before = up.dot(outline.back()) - height;
  for (std::size_t j = 0; j < outline.size(); ++j) {
    const double here = up.dot(outline[j]) - height;
    if ((before < 0.0) != (here < 0.0)) {
      const Vector2d& from = outline[j == 0 ? outline.size() - 1 : j - 1];
      at.push_back(across.dot(from + (outline[j] - from) * (before / (before - here))));
    }
    before = here;
  }
  std::sort(at.begin(), at.end());
  Vector2d widest(1e9, -1e9);
  for (std::size_t i = 0; i + 1 < at.size(); i += 2) {
    if (at[i + 1] - at[i] > widest.y() - widest.x()) widest = {at[i], at[i + 1]};
  }
  return widest;
}

struct Face {
  Vector3d normal;
  double distance = 0;
  /// Where it stands at a station, along a direction of the section.
  double aloft(double x, const Vector2d& up) const {
    return (distance - normal.x() * x) / normal.tail<2>().dot(up);
  }
};

/// The sawn faces about a flitch, in the solid's frame, where the wood begins.
struct Faces {
  Face low, high;
  std::optional<Face> left, right;
  double size = 0;  ///< between left and right: a cant is worked as the size it was meant to be
};

/// Of the cuts that made a flitch, the nearest on each side of one of its boards.
Faces faces_of(const SawPlan& plan, const std::vector<Side>& sides,
               const std::vector<SlippedCut>& cuts, const Board& board,
               const Eigen::Matrix4d& to_solid) {
  const Eigen::Matrix3d turn = to_solid.topLeftCorner<3, 3>();
  const Vector3d move = to_solid.topRightCorner<3, 1>();
  const Vector2d up = board.up.tail<2>().normalized();
  const Vector3d across(0.0, up.y(), -up.x());
  const Vector3d middle =
      board.corner +
      0.5 * (board.length * board.along + board.width * board.across + board.thickness * board.up);
  const double half = 0.5 * plan.mill.kerf;
  Faces faces;
  double below = 1e9, above = 1e9, to_left = 1e9, to_right = 1e9;
  for (const Side& side : sides) {
    const Cut& meant = plan.cuts[side.cut];
    const bool flat = std::abs(meant.normal.dot(board.up)) > 0.98;
    if (!flat && std::abs(meant.normal.dot(across)) < 0.9) continue;
    const double sign = meant.normal.dot(flat ? board.up : across) > 0.0 ? 1.0 : -1.0;
    const double gap = sign * meant.normal.dot(meant.point - middle);
    const Vector3d normal = sign * (turn * cuts[side.cut].normal);
    const Face face{normal,
                    sign * cuts[side.cut].distance + normal.dot(move) - (gap > 0.0 ? half : -half)};
    double& least = flat ? (gap > 0.0 ? above : below) : (gap > 0.0 ? to_right : to_left);
    if (std::abs(gap) >= least) continue;
    least = std::abs(gap);
    if (flat) (gap > 0.0 ? faces.high : faces.low) = face;
    if (!flat) (gap > 0.0 ? faces.right : faces.left) = face;
  }
  // Where the solid runs the other way, right is left.
  if (turn(0, 0) < 0.0) std::swap(faces.left, faces.right);
  faces.size = to_left + to_right - plan.mill.kerf + 0.01;
  return faces;
}

}  // namespace

Solid solid_of(const LogShape& shape) {
  Solid solid;
  solid.x = shape.stations;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    solid.outlines.push_back(section_outline(shape, i, Bark::off));
  }
  return solid;
}

Solid drawn_solid(const LogShape& shape, Dice& dice) {
  // Normal numbers at the knots of a net, the four about a point blended smoothly and brought back
  // to a variance of 1.
  const int rows = static_cast<int>(shape.length() / patch_along) + 3;
  std::vector<std::vector<double>> net(static_cast<std::size_t>(rows));
  for (auto& row : net) {
    for (int k = 0; k < patches_round; ++k) row.push_back(dice.normal());
  }
  const double shift = dice.uniform();
  const double turn = dice.uniform();
  const auto smooth = [](double t) { return t * t * (3.0 - 2.0 * t); };
  Solid solid = solid_of(shape);
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const double along = shape.stations[i] / patch_along + shift;
    const auto row = static_cast<std::size_t>(along);
    const double a = smooth(along - static_cast<double>(row));
    for (std::size_t j = 0; j < solid.outlines[i].size(); ++j) {
      const double round = (static_cast<double>(j) / shape.angles + turn) * patches_round;
      const auto column = static_cast<std::size_t>(round);
      const double b = smooth(round - static_cast<double>(column));
      const auto at = [&](std::size_t r, std::size_t c) { return net[r][c % patches_round]; };
      const double blended = (1 - a) * ((1 - b) * at(row, column) + b * at(row, column + 1)) +
                             a * ((1 - b) * at(row + 1, column) + b * at(row + 1, column + 1));
      const double spread = std::sqrt(((1 - a) * (1 - a) + a * a) * ((1 - b) * (1 - b) + b * b));
      const Vector2d arm = solid.outlines[i][j] - shape.axis[i];
      const double radius = arm.norm();
      if (radius <= 0.0) continue;
      const double off = static_cast<double>(shape.sigma[i][j]) * blended / spread;
      solid.outlines[i][j] = shape.axis[i] + arm * (std::max(0.0, radius + off) / radius);
    }
  }
  return solid;
}

std::vector<SlippedCut> saw_exactly(const SawPlan& plan) {
  std::vector<SlippedCut> cuts;
  for (const Cut& cut : plan.cuts) cuts.push_back({cut.normal, cut.normal.dot(cut.point)});
  return cuts;
}

std::vector<SlippedCut> saw_by_hand(const SawPlan& plan, const LogShape& shape,
                                    const Sloppiness& sloppy, Dice& dice) {
  const Tree tree(plan);
  std::vector<SlippedCut> cuts = saw_exactly(plan);
  struct Lying {
    double turn = 0, butt = 0, top = 0;
    int face = -1;  // lies on the face of this cut
    Vector2d ends;  // stations
  };
  std::map<int, Lying> setups;
  std::vector<double> turns(plan.cuts.size(), 0.0);
  for (std::size_t i = 0; i < plan.cuts.size(); ++i) {
    const Cut& cut = plan.cuts[i];
    if (!tree.on_mill(i)) continue;
    if (!setups.contains(cut.setup)) {
      Lying lying;
      lying.ends = tree.part_of(cut.piece, {0.0, shape.length()});
      int beside = -1;
      for (const Side& side : tree.sides(cut.piece)) {
        const double cosine = std::abs(plan.cuts[side.cut].normal.dot(cut.normal));
        if (cosine > 0.999) {
          lying.face = static_cast<int>(side.cut);
          break;
        }
        if (cosine < 0.05 && beside < 0) beside = static_cast<int>(side.cut);
      }
      if (lying.face < 0) {
        lying.turn = beside >= 0 ? turns[static_cast<std::size_t>(beside)]
                                 : sloppy.turn * dice.normal() * std::numbers::pi / 180.0;
        lying.butt = sloppy.lift * dice.normal();
        lying.top = sloppy.lift * dice.normal();
      } else {
        lying.turn = turns[static_cast<std::size_t>(lying.face)];
      }
      setups[cut.setup] = lying;
    }
    const Lying& lying = setups[cut.setup];
    turns[i] = lying.turn;
    const double long_is = lying.ends.y() - lying.ends.x();
    SlippedCut& sawn = cuts[i];
    if (lying.face >= 0) {
      const auto f = static_cast<std::size_t>(lying.face);
      const double side = plan.cuts[f].normal.dot(cut.normal) > 0.0 ? 1.0 : -1.0;
      const double off = cuts[f].distance - plan.cuts[f].normal.dot(plan.cuts[f].point);
      sawn.normal = side * cuts[f].normal;
      sawn.distance += side * off;
    } else {
      // The roll of a plane about the part's chord, seen in the log: the log turned by an angle
      // more.
      const Vector3d butt = centre_at(shape, lying.ends.x());
      const Vector3d chord = (centre_at(shape, lying.ends.y()) - butt).normalized();
      sawn.normal = Eigen::AngleAxisd(-lying.turn, chord) * cut.normal;
      sawn.distance += (sawn.normal - cut.normal).dot(butt);
      const double tilt = (lying.top - lying.butt) / long_is;
      sawn.normal.x() += tilt;
      sawn.distance += tilt * lying.ends.x() - lying.butt;
    }
    const double ends = sloppy.blade * dice.normal();
    const double bow = 2.0 * ends / long_is;
    sawn.normal.x() += bow;
    sawn.distance += sloppy.blade * dice.normal() + ends + bow * lying.ends.x();
  }
  return cuts;
}

double edge_by_hand(const SawPlan& plan, const std::vector<SlippedCut>& cuts, const Solid& solid,
                    const Eigen::Matrix4d& to_solid) {
  const Tree tree(plan);
  const Eigen::Matrix3d turn = to_solid.topLeftCorner<3, 3>();
  const Vector3d move = to_solid.topRightCorner<3, 1>();
  const double kerf = plan.mill.kerf;
  std::map<std::string, std::vector<const Board*>> flitches;
  for (const Board& board : plan.boards) flitches[tree.flitch(board.piece)].push_back(&board);
  std::map<double, Ripping> rippings;
  double value = 0.0;
  for (const auto& [name, boards] : flitches) {
    const Board* const board = boards.front();
    const Faces faces = faces_of(plan, tree.sides(name), cuts, *board, to_solid);
    const Vector2d up2 = faces.low.normal.tail<2>().normalized();
    const Vector2d across(up2.y(), -up2.x());
    ClearWood wood{{}, {}, faces.left.has_value(), faces.right.has_value()};
    const auto lateral = [&](const Face& face, double x, double aloft) {
      return (face.distance - face.normal.x() * x - aloft * face.normal.tail<2>().dot(up2)) /
             face.normal.tail<2>().dot(across);
    };
    for (std::size_t i = 0; i < solid.x.size(); ++i) {
      const double x = solid.x[i];
      const double bottom = faces.low.aloft(x, up2);
      const double top = faces.high.aloft(x, up2);
      const int probes = std::max(1, static_cast<int>(std::ceil((top - bottom) / height_probe)));
      Vector2d stretch(-1e9, 1e9);
      for (int k = 0; k <= probes; ++k) {
        const Vector2d here =
            stretch_at(solid.outlines[i], across, up2, bottom + (top - bottom) * k / probes);
        stretch = {std::max(stretch.x(), here.x()), std::min(stretch.y(), here.y())};
      }
      const double half = 0.5 * (bottom + top);
      double origin = 0.0;  // what lanes follow
      if (faces.left) {
        origin = lateral(*faces.left, x, half);
        stretch.x() = std::max(stretch.x(), origin);
        if (faces.right) stretch.y() = std::min(stretch.y(), origin + faces.size);
      } else if (faces.right) {
        origin = lateral(*faces.right, x, half);
        stretch.y() = std::min(stretch.y(), origin);
      }
      stretch -= Vector2d(origin, origin);
      wood.x.push_back(x);
      wood.clear.push_back(stretch);
    }
    auto ripping = rippings.find(board->thickness);
    if (ripping == rippings.end()) {
      ripping = rippings
                    .emplace(board->thickness,
                             ripping_of(plan, board->thickness, solid.x.back() - solid.x.front()))
                    .first;
    }
    std::vector<double> places, planned;
    for (const std::size_t cut : tree.crossed(name)) {
      places.push_back((turn * plan.cuts[cut].point + move).x());
    }
    for (const Board* one : boards) {
      const Vector3d along = turn * one->along;
      planned.push_back(along.tail<2>().dot(across) / along.x());
    }
    std::sort(planned.begin(), planned.end());
    planned.erase(std::unique(planned.begin(), planned.end(),
                              [](double a, double b) { return std::abs(a - b) < 1e-6; }),
                  planned.end());
    const Vector2d ends = tree.part_of(name, {-1e9, 1e9}) * (turn(0, 0) < 0.0 ? -1.0 : 1.0);
    const ClearWood part = between(wood, move.x() + ends.minCoeff(), move.x() + ends.maxCoeff());
    value += edged(ripping->second, part, places, planned, kerf);
  }
  return value;
}

}  // namespace kerfwright
