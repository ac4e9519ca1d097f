#include "mill_cuts.hpp"

#include <algorithm>
#include <cmath>

#include "kerfwright/shape/section.hpp"

namespace kerfwright::sheet {
namespace {

using Eigen::Vector3d;

constexpr double sigmas = 2.0;  // that a width may be off before it is time to plan again

/// The station of a piece nearest to a share of its length, so that the sigmas are its own.
std::size_t station_at(const LogShape& shape, const Reach& reach, double share) {
  const double x = reach.from + share * (reach.to - reach.from);
  std::size_t best = 0;
  double nearest = 1e9;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const double at = shape.stations[i];
    if (at < reach.from - 1e-6 || at > reach.to + 1e-6) continue;
    if (std::abs(at - x) >= nearest) continue;
    nearest = std::abs(at - x);
    best = i;
  }
  return best;
}

/// The outline under bark with every radius so many of its own sigmas greater.
Polygon outline_with(const LogShape& shape, std::size_t station, double more_sigmas) {
  Polygon outline = section_outline(shape, station, Bark::off);
  for (std::size_t j = 0; j < outline.size(); ++j) {
    const double angle = 2.0 * M_PI * static_cast<double>(j) / shape.angles;
    outline[j] += more_sigmas * static_cast<double>(shape.sigma[station][j]) *
                  Eigen::Vector2d(std::cos(angle), std::sin(angle));
  }
  return outline;
}

/// A plane seen at a station of the piece it cuts.
struct Slice {
  const LogShape& shape;
  const std::vector<Side>& ancestry;
  Vector3d up;
  double height;  ///< of the face, log frame

  double width(std::size_t station, double more_sigmas, double higher) const {
    const double x = shape.stations[station];
    const Polygon piece = within_piece(outline_with(shape, station, more_sigmas), x, ancestry);
    const auto span = span_on_line(piece, up.tail<2>(), height + higher - up.x() * x);
    return span ? (span->to - span->from).norm() : 0.0;
  }
};

/// A tape is off by a step of its own.
FaceWidth face_width(const Slice& slice, const Reach& reach, double share, const Mill& mill) {
  const double step = mill.height_step;
  const double tape = mill.tape_step();
  const std::size_t station = station_at(slice.shape, reach, share);
  FaceWidth face;
  face.place = slice.shape.stations[station] - reach.from;
  const double width = slice.width(station, 0.0, 0.0);
  if (width > 0.0) face.width = width;
  const double surface =
      (slice.width(station, sigmas, 0.0) - slice.width(station, -sigmas, 0.0)) / 2;
  const double setting =
      std::abs(slice.width(station, 0.0, step) - slice.width(station, 0.0, -step)) / 2;
  face.within = std::ceil((std::hypot(std::max(0.0, surface), setting) + tape) / tape) * tape;
  return face;
}

double widest(const LogShape& shape, const std::vector<Side>& ancestry, const Vector3d& up,
              double height) {
  double most = 0.0;
  for (const double x : shape.stations) {
    const auto span = span_on_line(piece_section(shape, x, Bark::on, ancestry), up.tail<2>(),
                                   height - up.x() * x);
    if (span) most = std::max(most, (span->to - span->from).norm());
  }
  return most;
}

/// How thick a piece is at x in the direction up, over bark.
double thickness(const LogShape& shape, double x, const Vector3d& up,
                 const std::vector<Side>& ancestry) {
  double low = 1e9;
  double high = -1e9;
  for (const auto& p : piece_section(shape, x, Bark::on, ancestry)) {
    const double height = up.dot(Vector3d(x, p.x(), p.y()));
    low = std::min(low, height);
    high = std::max(high, height);
  }
  return std::max(0.0, high - low);
}

class Teller {
 public:
  Teller(const Told& told, const LogShape& shape, const std::vector<Group>& groups,
         std::size_t index, const std::vector<Flitch>& flitches)
      : told_(told), shape_(shape), groups_(groups), index_(index), flitches_(flitches) {}

  MillCut tell(std::size_t cut_index, double height) const {
    const Cut& cut = told_.sawn.cuts[cut_index];
    const Group& group = groups_[index_];
    const Vector3d up = told_up(shape_, group, told_);
    const Reach reach = reach_of(shape_, told_.tree.ancestry(cut.piece));
    const auto ancestry = lengthwise(told_.tree.ancestry(cut.piece));
    MillCut made;
    made.n = cut.n;
    made.height = height;
    // Across the log its top is up.
    const bool upright = (group.crosswise ? cut.normal.x() : cut.normal.dot(up)) > 0.0;
    made.off = part(upright ? cut.above : cut.below, cut_index, up);
    made.below = part(upright ? cut.below : cut.above, cut_index, up);
    if (group.crosswise) return made;
    const double middle = up.dot(cut.point);
    made.width = widest(shape_, ancestry, up, middle);
    const Slice slice{shape_, ancestry, up, middle - cut.kerf / 2};
    for (std::size_t i = 0; i < 3; ++i) {
      made.face[i] = face_width(slice, reach, static_cast<double>(i) / 2, told_.sawn.mill);
    }
    return made;
  }

 private:
  Part part(const std::string& name, std::size_t cut_index, const Vector3d& up) const {
    Part part;
    part.piece = name;
    const Reach reach = reach_of(shape_, told_.tree.ancestry(name));
    const auto ancestry = lengthwise(told_.tree.ancestry(name));
    for (std::size_t i = 0; i < 3; ++i) {
      const double x = reach.from + 0.5 * static_cast<double>(i) * (reach.to - reach.from);
      part.thick[i] = thickness(shape_, x, up, ancestry);
    }
    for (std::size_t i = index_ + 1; i < groups_.size(); ++i) {
      if (told_.tree.comes_of(groups_[i].piece, name)) part.stages.push_back(static_cast<int>(i));
    }
    const auto& cuts = groups_[index_].cuts;
    const bool goes_on = std::any_of(cuts.begin(), cuts.end(), [&](std::size_t i) {
      return i > cut_index && told_.sawn.cuts[i].piece == name;
    });
    const auto flitch = std::find_if(flitches_.begin(), flitches_.end(), [&](const Flitch& other) {
      return other.off_the_mill() == name;
    });
    if (goes_on) {
      part.kind = Part::Kind::rest;
    } else if (!part.stages.empty()) {
      part.kind = Part::Kind::again;
    } else if (flitch != flitches_.end()) {
      const bool board = flitch->cuts.empty() && !flitch->is_part();
      part.kind = board ? Part::Kind::board : Part::Kind::flitch;
      part.letter = flitch->whole;
      if (board) part.board = flitch->boards.front()->id;
    }
    return part;
  }

  const Told& told_;
  const LogShape& shape_;
  const std::vector<Group>& groups_;
  std::size_t index_;
  const std::vector<Flitch>& flitches_;
};

}  // namespace

std::vector<MillCut> mill_cuts(const Told& told, const LogShape& shape,
                               const std::vector<Group>& groups, std::size_t index,
                               const std::vector<Flitch>& flitches,
                               const std::vector<double>& heights) {
  const Teller teller(told, shape, groups, index, flitches);
  std::vector<MillCut> cuts;
  for (std::size_t i = 0; i < heights.size(); ++i) {
    cuts.push_back(teller.tell(groups[index].cuts[i], heights[i]));
  }
  return cuts;
}

}  // namespace kerfwright::sheet
