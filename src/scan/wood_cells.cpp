#include "wood_cells.hpp"

#include <algorithm>
#include <bitset>
#include <cmath>
#include <numbers>

namespace kerfwright {
namespace {

constexpr double lowest_off = -0.9,
                 highest_off = 1.3;  ///< radii from the surface that the cells reach
/// What stands out from the log and is no part of it: a share of its points lies farther out than
/// burls stand, and it leads on from there. Radii.
struct Limits {
  double burl;        ///< hardly anything on a log stands out farther
  double leads_away;  ///< the lobes of a fluted butt end below it
};
constexpr Limits anywhere{0.6, 0.85};
/// Below the lowest bark a rest is likelier than a burl, and the log itself hides most of the rest.
constexpr Limits underneath{0.3, 0.4};
constexpr double far_share = 0.08;  ///< of a thing's points

/// Cells in straightened space: along, round, off the surface.
struct Cells {
  double first, step;  ///< mm
  int rows, angles, layers;
  double layer;  ///< radii
  std::vector<int> count;
  std::vector<int> group;  ///< -1: not in any

  std::size_t slot(int row, int angle, int at) const {
    return static_cast<std::size_t>((row * angles + angle) * layers + at);
  }
  int row_at(std::size_t at) const { return static_cast<int>(at) / layers / angles; }
  int angle_at(std::size_t at) const { return static_cast<int>(at) / layers % angles; }
  int layer_at(std::size_t at) const { return static_cast<int>(at) % layers; }
  double off_at(std::size_t at) const { return lowest_off + (layer_at(at) + 0.5) * layer; }
  double turn_at(std::size_t at) const {
    return (angle_at(at) + 0.5) * 2.0 * std::numbers::pi / angles;
  }
  int row_of(double along) const { return static_cast<int>(std::floor((along - first) / step)); }
  int angle_of(double angle) const {
    return std::min(angles - 1, static_cast<int>(angle / (2.0 * std::numbers::pi) * angles));
  }
  int layer_of(double off) const {
    return static_cast<int>(std::floor((off - lowest_off) / layer));
  }
};

/// A connected set of cells that stand out from the surface, or lie under it.
struct Group {
  int points = 0;
  int far = 0, half_far = 0;  ///< points farther out than burls stand, anywhere and underneath
  double up_sum = 0.0;        ///< of the cosines of its points' angles from the top
  int low = 0;                ///< points as deep as the lowest bark or deeper
  double farthest = 0.0;      ///< radii from the surface
  int first_row = 1 << 30, last_row = 0;  ///< along the log
  std::bitset<1024> angles;               ///< columns that it takes up round the log
  bool outside = false;                   ///< stands out; else lies under the surface
  bool touches = false;                   ///< the surface
  int on_ground = 0;                      ///< points near the soil
  bool foreign = false;
};

/// The log, at an end face, past the end.
enum class Where : unsigned char { beside, face, beyond };

struct PointPlace {
  float off;          ///< radii from the surface
  float height;       ///< mm over the soil; large without ground
  std::int64_t cell;  ///< -1: outside the cells
  Where where;
};

class Parting {
 public:
  explicit Parting(const WoodInput& input) : in_(input) { measure(); }
  std::vector<Part> run();

 private:
  void measure();
  void size_cells();
  void fill_cells();
  void count_in(std::size_t at, Group& group) const;
  template <typename Visit>
  void each_neighbour(std::size_t at, const Visit& visit) const;
  void grow(std::size_t seed);
  void judge_groups();
  bool is_foreign(const Group& group, bool lying) const;
  bool is_branch(const Group& group) const;
  void take_chocks();
  void mark_feet();
  Where where_of(std::size_t i) const;
  double beyond_end(std::size_t i) const;
  const LogEnd& end_of(std::size_t i) const;
  Part part_of(std::size_t i) const;
  bool near_foot(const PointPlace& place) const;
  bool is_fork(std::size_t i) const { return !in_.fork.empty() && in_.fork[i] != 0; }

  const WoodInput& in_;
  std::vector<PointPlace> place_;
  Cells cells_{};
  std::vector<Group> groups_;
  std::vector<unsigned char> foot_;  ///< per column of cells: something else touches the log here
  double radius_ = 0.0;
  double bark_band_ = 0.0, foot_band_ = 0.0;  ///< radii
  double soil_ = 0.0;                         ///< mm, up to where a point may be ground
};

void Parting::measure() {
  radius_ = in_.frame.radius(0.5 * in_.frame.length());
  bark_band_ = std::max({0.07, 3.0 * in_.surface.noise(), 8.0 / radius_});
  foot_band_ = std::max({0.03, 2.0 * in_.surface.noise(), 5.0 / radius_});
  soil_ = in_.ground ? in_.ground->reach() : 0.0;
  place_.resize(in_.near.index.size());
  for (std::size_t i = 0; i < place_.size(); ++i) {
    const double along = in_.near.along[i];
    place_[i].off = static_cast<float>(in_.near.out[i] - in_.surface.out(along, in_.near.angle[i]));
    place_[i].height =
        in_.ground
            ? static_cast<float>(in_.ground->height(in_.points[in_.near.index[i]].cast<double>()))
            : 1e9f;
    place_[i].where = where_of(i);
  }
}

/// A face may be cut in steps or be rough, and lies within an eighth of a radius or so of its
/// plane.
Where Parting::where_of(std::size_t i) const {
  const bool face = end_of(i).face;
  const double beyond = beyond_end(i);
  const double slack = std::max({0.04 * radius_, 12.0, 3.5 * in_.surface.noise() * radius_});
  if (beyond > (face ? slack : 0.3 * radius_)) return Where::beyond;
  return face && beyond > -std::max(0.12 * radius_, 15.0) ? Where::face : Where::beside;
}

/// Cells as small as three points a cell allow, from 1/12 to 1/2 of the radius.
void Parting::size_cells() {
  std::size_t bark = 0;
  for (const PointPlace& place : place_) bark += std::abs(place.off) < bark_band_ ? 1 : 0;
  const double area =
      2.0 * std::numbers::pi * radius_ * in_.frame.length() * std::max(0.2, in_.surface.girth());
  const double spacing = std::sqrt(3.0 * area / static_cast<double>(bark + 1));
  const double least = std::max(radius_ / 12.0, in_.frame.length() / 1500.0);
  const double side = std::clamp(spacing, std::min(least, radius_ / 2.0), radius_ / 2.0);
  cells_.first = -2.2 * in_.frame.radius(0.0);
  cells_.step = side;
  cells_.rows =
      static_cast<int>(
          (in_.frame.length() + 2.2 * in_.frame.radius(in_.frame.length()) - cells_.first) / side) +
      1;
  cells_.angles = static_cast<int>(2.0 * std::numbers::pi * radius_ / side);
  cells_.layer = std::max(0.04, 0.5 * side / radius_);
  cells_.layers = static_cast<int>((highest_off - lowest_off) / cells_.layer) + 1;
}

void Parting::fill_cells() {
  const auto size = static_cast<std::size_t>(cells_.rows) *
                    static_cast<std::size_t>(cells_.angles * cells_.layers);
  cells_.count.assign(size, 0);
  cells_.group.assign(size, -1);
  for (std::size_t i = 0; i < place_.size(); ++i) {
    const int row = cells_.row_of(in_.near.along[i]);
    const int layer = cells_.layer_of(place_[i].off);
    place_[i].cell = -1;
    if (row < 0 || row >= cells_.rows || layer < 0 || layer >= cells_.layers) continue;
    const std::size_t at = cells_.slot(row, cells_.angle_of(in_.near.angle[i]), layer);
    place_[i].cell = static_cast<std::int64_t>(at);
    const bool in_play = place_[i].where == Where::beside ||
                         (place_[i].where == Where::face && place_[i].off > -bark_band_);
    if (in_play && place_[i].height > soil_ && !is_fork(i)) ++cells_.count[at];
  }
}

/// Adds a cell's points to what is known of its group.
void Parting::count_in(std::size_t at, Group& group) const {
  const int points = cells_.count[at];
  const int row = cells_.row_at(at);
  const double height = std::abs(cells_.off_at(at));
  const double down = -std::cos(cells_.turn_at(at));
  group.points += points;
  group.angles.set(static_cast<std::size_t>(cells_.angle_at(at)) % group.angles.size());
  group.first_row = std::min(group.first_row, row);
  group.last_row = std::max(group.last_row, row);
  group.farthest = std::max(group.farthest, height);
  group.up_sum -= points * down;
  if (height > std::max(anywhere.burl, 50.0 / radius_)) group.far += points;
  if (height > underneath.burl) group.half_far += points;
  if ((1.0 + height) * down > 0.9) group.low += points;
}

/// The occupied cells round about one.
template <typename Visit>
void Parting::each_neighbour(std::size_t at, const Visit& visit) const {
  const int row = cells_.row_at(at);
  const int angle = cells_.angle_at(at);
  const int layer = cells_.layer_at(at);
  for (int r = std::max(0, row - 1); r <= std::min(cells_.rows - 1, row + 1); ++r)
    for (int a = angle - 1; a <= angle + 1; ++a)
      for (int l = std::max(0, layer - 1); l <= std::min(cells_.layers - 1, layer + 1); ++l) {
        const std::size_t next = cells_.slot(r, (a + cells_.angles) % cells_.angles, l);
        if (cells_.count[next] > 0) visit(next);
      }
}

/// Joins the cells outside or inside the bark band that can be reached from `seed`.
void Parting::grow(std::size_t seed) {
  Group group;
  group.outside = cells_.off_at(seed) > 0.0;
  const int id = static_cast<int>(groups_.size());
  std::vector<std::size_t> open{seed};
  cells_.group[seed] = id;
  while (!open.empty()) {
    const std::size_t at = open.back();
    open.pop_back();
    count_in(at, group);
    each_neighbour(at, [&](std::size_t next) {
      const double off = group.outside ? cells_.off_at(next) : -cells_.off_at(next);
      if (off <= bark_band_) {
        group.touches = true;
      } else if (cells_.group[next] < 0) {
        cells_.group[next] = id;
        open.push_back(next);
      }
    });
  }
  groups_.push_back(group);
}

void Parting::judge_groups() {
  for (std::size_t i = 0; i < place_.size(); ++i) {
    if (place_[i].cell < 0) continue;
    const int id = cells_.group[static_cast<std::size_t>(place_[i].cell)];
    if (id >= 0 && place_[i].height < soil_ + 0.15 * radius_ + 15.0)
      ++groups_[static_cast<std::size_t>(id)].on_ground;
  }
  // The butt of an upright stem stands on the ground by right.
  const bool lying = !in_.ground || std::abs(in_.ground->up().dot(in_.frame.chord())) < 0.7;
  for (Group& group : groups_) group.foreign = group.outside && is_foreign(group, lying);
  if (in_.frame.knows_up()) take_chocks();
}

/// What stands out on the lower half of the log over a rest stands on that rest: a chock, a wedge.
void Parting::take_chocks() {
  std::vector<unsigned char> rest(static_cast<std::size_t>(cells_.rows), 0);
  for (const Group& group : groups_)
    if (group.foreign && 2 * group.low > group.points)
      for (int row = group.first_row; row <= group.last_row; ++row)
        rest[static_cast<std::size_t>(row)] = 1;
  for (Group& group : groups_) {
    const int middle = (group.first_row + group.last_row) / 2;
    if (group.outside && group.farthest > 0.2 && group.up_sum < -0.2 * group.points &&
        rest[static_cast<std::size_t>(middle)] != 0)
      group.foreign = true;
  }
}

/// A stump as high as its foot is wide, near enough: no burl stands so steep. What is hardly
/// higher than bark is rough stays, whatever its form.
bool Parting::is_branch(const Group& group) const {
  constexpr double steep = 0.8, least = 60.0;  // mm
  const double along = (group.last_row - group.first_row + 1) * cells_.step;
  const double round =
      2.0 * std::numbers::pi * radius_ * static_cast<double>(group.angles.count()) / cells_.angles;
  const double height = group.farthest * radius_;
  return group.touches && group.points > 8 && height > least &&
         height > steep * std::sqrt(along * round);
}

bool Parting::is_foreign(const Group& group, bool lying) const {
  // A burl may hang down to the grass; a boot stands in it.
  if (lying && 6 * group.on_ground > group.points && group.farthest > 0.2) return true;
  if (is_branch(group)) return true;
  const bool below = in_.frame.knows_up() && 2 * group.low > group.points;
  // The lobe of a deeply fluted butt runs on along the stem and ends; a rest is short, another log
  // does not end here.
  const double run = (group.last_row - group.first_row + 1) * cells_.step;
  if (!in_.frame.knows_up() && run > 2.5 * radius_ && group.farthest < 1.2) return false;
  const int far = below ? group.half_far : group.far;
  return group.farthest > (below ? underneath : anywhere).leads_away && far > 5 &&
         far > far_share * group.points;
}

/// Columns in which something else comes near the bark, and their neighbours.
void Parting::mark_feet() {
  std::vector<unsigned char> touched(static_cast<std::size_t>(cells_.rows * cells_.angles), 0);
  for (std::size_t i = 0; i < place_.size(); ++i) {
    if (place_[i].cell < 0 || place_[i].off > 0.35 || place_[i].off < 0.0f) continue;
    const auto cell = static_cast<std::size_t>(place_[i].cell);
    const int id = cells_.group[cell];
    const bool foreign = id >= 0 && groups_[static_cast<std::size_t>(id)].foreign;
    const bool soil = place_[i].height <= soil_;
    if (foreign || soil || is_fork(i)) touched[cell / static_cast<std::size_t>(cells_.layers)] = 1;
  }
  foot_.assign(touched.size(), 0);
  const int reach_round =
      std::max(1, static_cast<int>(std::lround(0.35 / (2.0 * std::numbers::pi) * cells_.angles)));
  const int reach_along = std::max(1, static_cast<int>(std::lround(0.12 * radius_ / cells_.step)));
  for (int row = 0; row < cells_.rows; ++row)
    for (int angle = 0; angle < cells_.angles; ++angle) {
      if (touched[static_cast<std::size_t>(row * cells_.angles + angle)] == 0) continue;
      for (int r = std::max(0, row - reach_along);
           r <= std::min(cells_.rows - 1, row + reach_along); ++r)
        for (int a = -reach_round; a <= reach_round; ++a)
          foot_[static_cast<std::size_t>(r * cells_.angles +
                                         (angle + a + cells_.angles) % cells_.angles)] = 1;
    }
}

bool Parting::near_foot(const PointPlace& place) const {
  return place.cell >= 0 &&
         foot_[static_cast<std::size_t>(place.cell) / static_cast<std::size_t>(cells_.layers)] != 0;
}

/// mm beyond the end of the log that is nearer; negative inside.
double Parting::beyond_end(std::size_t i) const {
  const double along = in_.near.along[i];
  const double angle = in_.near.angle[i];
  const double r = in_.near.out[i] * in_.frame.radius(along);
  return end_of(i).beyond(along, {r * std::cos(angle), r * std::sin(angle)});
}

const LogEnd& Parting::end_of(std::size_t i) const {
  const bool first = in_.near.along[i] < 0.5 * in_.frame.length();
  return first ? in_.ends.first : in_.ends.last;
}

Part Parting::part_of(std::size_t i) const {
  if (is_fork(i)) return Part::fork;
  const PointPlace& place = place_[i];
  const double off = place.off;
  const bool soil = place.height <= soil_;
  const Part otherwise = soil ? Part::ground : Part::foreign;
  if (place.where == Where::beyond) return otherwise;
  // Nothing else can be inside the log, so only what stands out is doubted.
  const double band = near_foot(place) || soil ? foot_band_ : bark_band_;
  if (place.where == Where::face && off <= band) return Part::face;
  if (off <= band && off >= -bark_band_) return Part::bark;
  if (soil || place.cell < 0) return otherwise;
  if (off > 0.0 && near_foot(place)) return Part::foreign;
  const int id = cells_.group[static_cast<std::size_t>(place.cell)];
  if (id < 0) return Part::bark;
  const Group& group = groups_[static_cast<std::size_t>(id)];
  if (group.foreign) return Part::foreign;
  return group.touches && off > -0.7 ? Part::bark : Part::stray;
}

std::vector<Part> Parting::run() {
  size_cells();
  fill_cells();
  for (std::size_t at = 0; at < cells_.count.size(); ++at)
    if (cells_.count[at] > 0 && cells_.group[at] < 0 && std::abs(cells_.off_at(at)) > bark_band_)
      grow(at);
  judge_groups();
  mark_feet();
  std::vector<Part> parts(place_.size());
  const auto count = static_cast<std::ptrdiff_t>(parts.size());
#pragma omp parallel for schedule(static)
  for (std::ptrdiff_t i = 0; i < count; ++i)
    parts[static_cast<std::size_t>(i)] = part_of(static_cast<std::size_t>(i));
  return parts;
}

}  // namespace

std::vector<Part> part_points(const WoodInput& input) { return Parting(input).run(); }

}  // namespace kerfwright
