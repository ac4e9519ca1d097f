#include "remains.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "frame.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright::saw {
namespace {

constexpr double parallel = 1e-5;  // how far two unit vectors may be from parallel or square

/// mm of the line where a cut meets a section of its piece.
double sawn_width(const Outline& outline, double x, const Cut& cut,
                  const std::vector<SawnSide>& sides) {
  const Eigen::Vector2d normal = cut.normal.tail<2>();
  const double offset = cut.normal.dot(cut.point) - cut.normal.x() * x;
  const Eigen::Vector2d on_line = normal * (offset / normal.squaredNorm());
  const Eigen::Vector2d along(-normal.y() / normal.norm(), normal.x() / normal.norm());
  double low = 1e9;
  double high = -1e9;
  for (std::size_t j = 0; j < outline.size(); ++j) {
    const Eigen::Vector2d& a = outline[j];
    const Eigen::Vector2d& b = outline[(j + 1) % outline.size()];
    const double da = normal.dot(a) - offset;
    const double db = normal.dot(b) - offset;
    if ((da < 0.0) == (db < 0.0)) continue;
    const double t = along.dot(a + (b - a) * (da / (da - db)) - on_line);
    low = std::min(low, t);
    high = std::max(high, t);
  }
  for (const SawnSide& side : sides) {
    const double slope = side.outward.tail<2>().dot(along);
    const double room = side.offset - side.outward.x() * x - side.outward.tail<2>().dot(on_line);
    if (std::abs(slope) < 1e-9) {
      if (room < 0.0) return 0.0;
    } else if (slope > 0.0) {
      high = std::min(high, room / slope);
    } else {
      low = std::max(low, room / slope);
    }
  }
  return std::max(0.0, high - low);
}

double sawn_area(const Cut& cut, const SawPlan& plan, const SawnPieces& pieces,
                 const LogShape& shape) {
  if (std::abs(cut.normal.x()) > 0.7) {
    double area = 0.0;
    for (const Board& board : plan.boards) {
      if (pieces.comes_of(board.piece, cut.piece)) {
        area = std::max(area, board.thickness * board.width);
      }
    }
    return area;
  }
  const std::vector<SawnSide> sides = pieces.sides_of(cut.piece);
  double area = 0.0;
  for (std::size_t i = 0; i + 1 < shape.stations.size(); ++i) {
    const double x = 0.5 * (shape.stations[i] + shape.stations[i + 1]);
    area += (shape.stations[i + 1] - shape.stations[i]) *
            sawn_width(section_outline_at(shape, x, Bark::off), x, cut, sides);
  }
  return area;
}

}  // namespace

SawnPieces::SawnPieces(const std::vector<Cut>& cuts) : cuts_(cuts) {
  for (const Cut& cut : cuts) {
    made_.emplace(cut.above, Made{&cut, true});
    made_.emplace(cut.below, Made{&cut, false});
  }
}

std::vector<Remain> SawnPieces::remains() const {
  std::set<std::string> sawn;
  for (const Cut& cut : cuts_) sawn.insert(cut.piece);
  std::vector<Remain> remains;
  const auto add = [&](const std::string& name) {
    if (!sawn.contains(name)) remains.push_back({name, sides_of(name)});
  };
  if (cuts_.empty()) add("log");
  for (const Cut& cut : cuts_) {
    add(cut.above);
    add(cut.below);
  }
  return remains;
}

std::vector<SawnSide> SawnPieces::sides_of(const std::string& piece) const {
  std::vector<SawnSide> sides;
  auto at = made_.find(piece);
  while (at != made_.end() && sides.size() <= made_.size()) {
    const auto& [cut, above] = at->second;
    const Eigen::Vector3d outward = above ? Eigen::Vector3d(-cut->normal) : cut->normal;
    const Eigen::Vector3d point = cut->point - outward * (0.5 * cut->kerf);
    sides.push_back({outward, point, outward.dot(point), cut});
    at = cut->piece == "log" ? made_.end() : made_.find(cut->piece);
  }
  std::reverse(sides.begin(), sides.end());
  return sides;
}

bool SawnPieces::comes_of(const std::string& piece, const std::string& whole) const {
  if (piece == whole || whole == "log") return true;
  auto at = made_.find(piece);
  for (std::size_t i = 0; at != made_.end() && i <= made_.size(); ++i) {
    const std::string& parent = at->second.cut->piece;
    if (parent == whole) return true;
    at = parent == "log" ? made_.end() : made_.find(parent);
  }
  return false;
}

std::optional<Lying> lying_in(const std::vector<SawnSide>& sides, const Pose& pose) {
  const Frame frame(pose);
  Lying lying;
  std::optional<double> lean;
  Eigen::Vector3d sideways = Eigen::Vector3d::Zero();  // outwards of the faces at the sides
  double low = -1e9;
  double high = 1e9;
  for (const SawnSide& side : sides) {
    if (side.across()) continue;
    const double facing = side.outward.dot(frame.up);
    if (std::abs(facing) > 1.0 - parallel) {
      const double height = facing > 0.0 ? side.offset : -side.offset;
      auto& face = facing > 0.0 ? lying.ceiling : lying.floor;
      if (!face || (facing > 0.0 ? height < *face : height > *face)) face = height;
      continue;
    }
    if (std::abs(facing) > parallel) return std::nullopt;
    const Across across = across_of(pose_with_up(side.outward), side.offset, pose);
    if (lean && std::abs(*lean - across.lean) > parallel) return std::nullopt;
    lean = across.lean;
    if (sideways.isZero()) sideways = side.outward;
    const double distance = side.outward.dot(sideways) > 0.0 ? side.offset : -side.offset;
    if (side.outward.dot(sideways) > 0.0) {
      high = std::min(high, distance);
    } else {
      low = std::max(low, distance);
    }
    const bool right = side.outward.dot(frame.across) > 0.0;
    auto& face = right ? lying.right : lying.left;
    if (!face || (right ? across.at < *face : across.at > *face)) face = across.at;
  }
  lying.lean = lean.value_or(0.0);
  if (lying.left && lying.right) lying.width = high - low;
  return lying;
}

Wood between_cross_cuts(Wood wood, const std::vector<SawnSide>& sides) {
  const auto angles = static_cast<std::size_t>(wood.angles);
  for (std::size_t i = 0; i < wood.station_x.size(); ++i) {
    bool inside = true;
    for (const SawnSide& side : sides) {
      if (!side.across()) continue;
      for (std::size_t j = 0; j < angles && inside; ++j) {
        const std::size_t at = i * angles + j;
        const Eigen::Vector3d point(wood.station_x[i], static_cast<double>(wood.y[at]),
                                    static_cast<double>(wood.z[at]));
        inside = side.outward.dot(point) <= side.offset;
      }
    }
    if (inside) continue;
    float y = 0.0F;
    float z = 0.0F;
    for (std::size_t j = 0; j < angles; ++j) {
      y += wood.y[i * angles + j] / static_cast<float>(angles);
      z += wood.z[i * angles + j] / static_cast<float>(angles);
    }
    for (std::size_t j = 0; j < angles; ++j) {
      wood.y[i * angles + j] = y;
      wood.z[i * angles + j] = z;
    }
  }
  return wood;
}

double minutes_of(const Cut& cut, const SawPlan& plan, const SawnPieces& pieces,
                  const LogShape& shape) {
  const auto setup = std::find_if(plan.setups.begin(), plan.setups.end(),
                                  [&](const Setup& made) { return made.n == cut.setup; });
  const SetupKind kind = setup == plan.setups.end() ? SetupKind::log : setup->kind;
  return setting_minutes(kind, plan.mill) +
         sawn_area(cut, plan, pieces, shape) * 1e-6 / plan.mill.feed_rate;
}

}  // namespace kerfwright::saw
