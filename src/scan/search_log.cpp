#include "search_log.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "forks.hpp"
#include "joints.hpp"
#include "label_points.hpp"
#include "oval.hpp"
#include "part_log.hpp"
#include "round_things.hpp"

namespace kerfwright {
namespace {

/// mm from a point to the surface of a round thing, or to its axis' ends.
double distance_to(const RoughAxis& axis, const Eigen::Vector3d& point) {
  double least = 1e300;
  for (std::size_t i = 0; i < axis.centre.size(); ++i)
    least = std::min(least, (axis.centre[i] - point).norm() - axis.radius[i]);
  return least;
}

void sort_by_distance(std::vector<RoughAxis>& axes, const Eigen::Vector3d& near) {
  std::stable_sort(axes.begin(), axes.end(), [&](const RoughAxis& a, const RoughAxis& b) {
    return distance_to(a, near) < distance_to(b, near);
  });
}

/// A crooked, fluted or burled log is not so round as a smooth one; most of its girth is seen where
/// somebody walked around it.
bool may_be_rough_log(const RoughAxis& axis) {
  return axis.share > 0.6 && axis.spread < 0.067 && axis.mean_girth() > 0.55;
}

/// A rough log beside a smooth one: it was walked around, and more of the scan is of it.
bool is_seen_far_more(const RoughAxis& axis, const RoughAxis& best) {
  return may_be_rough_log(axis) && axis.points > 2.0 * best.points &&
         axis.length() > best.length() && axis.mean_radius() > best.mean_radius() &&
         merit(axis) > 0.2 * merit(best);
}

/// A lobe of a fluted log, or a burl on it, may be rounder than the log.
bool is_lobe_of(const RoughAxis& lobe, const RoughAxis& log) {
  return may_be_rough_log(log) && log.points > 1.5 * lobe.points &&
         log.mean_radius() > 1.3 * lobe.mean_radius() && log.length() > 0.6 * lobe.length() &&
         radii_from(log, lobe.centre[lobe.centre.size() / 2]) < 0.9;
}

/// Of logs that lie about the longest is meant, as far as it is a log as thick and as well seen as
/// the one with the most merit, near enough: a pole or a post is longer than many a log.
void put_longest_first(std::vector<RoughAxis>& axes) {
  if (axes.empty()) return;
  std::size_t best = 0;
  for (std::size_t i = 1; i < axes.size(); ++i) {
    const RoughAxis& axis = axes[i];
    const bool a_log = is_clean(axis) && merit(axis) > 0.3 * merit(axes[0]);
    const bool as_thick = axis.mean_radius() > 0.6 * axes[0].mean_radius() &&
                          axis.mean_radius() < 1.6 * axes[0].mean_radius();
    if (a_log && as_thick && axis.length() > 1.1 * axes[best].length()) best = i;
    if (is_seen_far_more(axis, axes[best])) best = i;
  }
  for (std::size_t i = 0; i < axes.size(); ++i) {
    if (is_lobe_of(axes[best], axes[i])) best = i;
  }
  std::rotate(axes.begin(), axes.begin() + static_cast<std::ptrdiff_t>(best),
              axes.begin() + static_cast<std::ptrdiff_t>(best) + 1);
}

/// The search judges grass, rests and faces in millimetres; what lies far from any log's size is
/// brought near it.
double search_scale(const Points& points) {
  const double longest = robust_extent(points).size().maxCoeff();
  if (longest < 300.0) return 1000.0 / std::max(longest, 1e-9);
  return longest > 60000.0 ? 4000.0 / longest : 1.0;
}

/// Mean diameter over the eighth of the length nearest to an end, without the outermost circle.
double end_diameter(const RoughAxis& axis, bool first) {
  const std::size_t n = axis.radius.size();
  const std::size_t reach = std::max<std::size_t>(2, n / 8);
  double sum = 0.0;
  for (std::size_t i = 1; i <= reach; ++i) sum += axis.radius[first ? i : n - 1 - i];
  return 2.0 * sum / static_cast<double>(reach);
}

/// Whether a scan stops where a log's end has no face: other things are beside the log there, but
/// none beyond. Without other things it cannot be told from a face that was not scanned.
bool scan_stops_at(const LogEnd& end, const LogFrame& frame, const Points& points) {
  const Unwrapped about = frame.unwrap(points, 4.0);
  const double radius = frame.radius(end.along);
  std::size_t before = 0, beyond = 0;
  for (std::size_t i = 0; i < about.index.size(); ++i) {
    if (about.out[i] < 1.4F) continue;
    const double r = about.out[i] * radius, angle = about.angle[i];
    const double at = end.beyond(about.along[i], {r * std::cos(angle), r * std::sin(angle)});
    if (at < -0.5 * radius && at > -3.0 * radius) ++before;
    if (at > 0.5 * radius) ++beyond;
  }
  return before >= 100 && beyond < before / 25;
}

/// All that is said of a log is said in the scan's own scale.
FoundLog report(const PartedLog& parted, const LogFrame& frame, const RoughAxis& axis,
                const Points& points, double scale) {
  FoundLog log;
  log.length = parted.length / scale;
  log.diameter = parted.diameter / scale;
  const double first = end_diameter(axis, true) / scale, last = end_diameter(axis, false) / scale;
  log.thick_end = std::max(first, last);
  log.thin_end = std::min(first, last);
  for (const LogEnd& end : {parted.ends.first, parted.ends.last})
    if (!end.face)
      log.open_ends.push_back({frame.centre(end.along) / scale, scan_stops_at(end, frame, points)});
  return log;
}

/// A round thing made ready to be parted: its axis, and what is known of the points about it.
struct Candidate {
  RoughAxis axis;
  Known known;
  std::optional<SecondStem> second;
  std::vector<RoughAxis> in_line;  ///< other logs that touch its ends
};

RoughAxis stretch_of(const RoughAxis& axis, const LogFrame& frame, double from, double to) {
  RoughAxis part = axis;
  part.centre.clear();
  part.radius.clear();
  part.girth.clear();
  const double step = frame.length() / static_cast<double>(axis.centre.size());
  const int count = std::max(4, static_cast<int>((to - from) / step));
  for (int i = 0; i <= count; ++i) {
    const double at = from + (to - from) * i / count;
    part.centre.push_back(frame.centre(at));
    part.radius.push_back(frame.radius(at));
    part.girth.push_back(1.0);
  }
  return part;
}

/// Of logs in line the longest, or the one nearest to a point.
std::size_t choose_piece(const std::vector<RoughAxis>& pieces,
                         const std::optional<Eigen::Vector3d>& near) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < pieces.size(); ++i)
    if (near ? distance_to(pieces[i], *near) < distance_to(pieces[best], *near)
             : pieces[i].length() > pieces[best].length())
      best = i;
  return best;
}

/// Keeps one of several logs in line, followed again without the others.
void part_in_line(const Points& points, const Yard& yard,
                  const std::optional<Eigen::Vector3d>& near_to, Candidate& candidate) {
  // On what is not cleanly round a joint is more likely a fault of the circles.
  if (candidate.axis.share < 0.8 || candidate.axis.spread > 0.055) return;
  const LogFrame frame(candidate.axis, std::nullopt);
  const Unwrapped near = frame.unwrap(points, 1.5);
  std::vector<double> edges = find_joints(near, frame);
  if (edges.empty()) return;
  std::sort(edges.begin(), edges.end());
  edges.insert(edges.begin(), 0.0);
  edges.push_back(frame.length());
  std::vector<RoughAxis> pieces;
  for (std::size_t i = 0; i + 1 < edges.size(); ++i)
    pieces.push_back(stretch_of(candidate.axis, frame, edges[i], edges[i + 1]));
  const std::size_t chosen = choose_piece(pieces, near_to);
  const double low = chosen == 0 ? -1e9 : edges[chosen];
  const double high = chosen + 2 == edges.size() ? 1e9 : edges[chosen + 1];
  if (candidate.known.empty()) candidate.known.assign(points.size(), PointLabel::log);
  for (std::size_t i = 0; i < near.index.size(); ++i)
    if (near.along[i] < low || near.along[i] > high)
      candidate.known[near.index[i]] = PointLabel::other_log;
  Points objects;
  const Unwrapped thin = frame.unwrap(yard.objects, 1.5);
  for (std::size_t i = 0; i < thin.index.size(); ++i)
    if (thin.along[i] >= low && thin.along[i] <= high)
      objects.push_back(yard.objects[thin.index[i]]);
  const RoughAxis& piece = pieces[chosen];
  const std::size_t middle = piece.centre.size() / 2;
  const RoughAxis again = follow_axis(
      objects,
      {piece.centre[middle], (piece.centre[middle + 1] - piece.centre[middle - 1]).normalized(),
       piece.radius[middle], 1.0},
      yard.leaf);
  candidate.axis =
      again.centre.size() >= 4 && again.length() > 0.7 * piece.length() ? again : piece;
  for (std::size_t i = 0; i < pieces.size(); ++i)
    if (i != chosen) candidate.in_line.push_back(pieces[i]);
}

/// Marks the points of a second stem: in it, and standing out from the main stem.
void mark_second_stem(const Points& points, Candidate& candidate) {
  if (candidate.known.empty()) candidate.known.assign(points.size(), PointLabel::log);
  const Unwrapped main = LogFrame(candidate.axis, std::nullopt).unwrap(points, 2.3);
  std::vector<float> out(points.size(), 1e9F);
  for (std::size_t i = 0; i < main.index.size(); ++i) out[main.index[i]] = main.out[i];
  const LogFrame frame(candidate.second->axis, std::nullopt);
  const Unwrapped second = frame.unwrap(points, 1.3);
  for (std::size_t i = 0; i < second.index.size(); ++i)
    if (second.along[i] > 0.0F && out[second.index[i]] > 1.05F)
      candidate.known[second.index[i]] = PointLabel::fork;
}

Candidate make_ready(const Points& points, const Yard& yard, const std::vector<RoughAxis>& axes,
                     std::size_t log, const std::optional<Eigen::Vector3d>& near) {
  Candidate candidate;
  candidate.axis = axes[log];
  part_in_line(points, yard, near, candidate);
  candidate.second = find_fork(axes, log);
  if (candidate.second) {
    candidate.axis = without_stem(yard.objects, candidate.axis, *candidate.second, yard.leaf);
    mark_second_stem(points, candidate);
  }
  return candidate;
}

/// Whether another round thing has points of its own, one in a thousand: a lobe of a fluted log has
/// none.
bool is_of_its_own(const RoughAxis& other, const Points& points,
                   const std::vector<PointLabel>& labels) {
  std::size_t own = 0;
  for (std::size_t i = 0; i < labels.size(); ++i)
    if (labels[i] == PointLabel::other_log && radii_from(other, points[i].cast<double>()) < 1.5)
      ++own;
  return 1000 * own >= labels.size();
}

void name_others(const std::vector<const RoughAxis*>& others, const Points& points, double scale,
                 FoundLog& log) {
  for (const RoughAxis* other : others)
    if (is_of_its_own(*other, points, log.labels))
      log.others.push_back({other->centre[other->centre.size() / 2] / scale,
                            other->length() / scale, 2.0 * other->mean_radius() / scale});
}

/// One search: what it found, among what, and how surely.
struct Look {
  SearchResult result;
  Yard yard;
  std::vector<RoughAxis> axes;
  RoughAxis taken;
  std::size_t log_points = 0;
};

/// How much of the girth must face outward: of what is round as it lies, and of what was stretched
/// about a point, since half a log has a flat side.
constexpr double roundest = 0.65, flattest = 0.55;

/// `within`: space was stretched about this point, and round things about it come first.
Look look_once(const Points& points, Yard surveyed, const std::optional<Eigen::Vector3d>& up,
               const std::optional<Eigen::Vector3d>& near,
               const std::optional<Eigen::Vector3d>& within, double scale) {
  Look look;
  look.yard = std::move(surveyed);
  const Yard& yard = look.yard;
  const double longest_radius = 0.6 * robust_extent(points).size().maxCoeff();
  look.axes = find_round_things(yard, longest_radius);
  std::vector<RoughAxis>& axes = look.axes;
  put_longest_first(axes);
  put_log_before_poles(axes);
  if (near) sort_by_distance(axes, *near);
  if (within)
    std::stable_partition(axes.begin(), axes.end(),
                          [&](const RoughAxis& axis) { return radii_from(axis, *within) < 0.8; });
  const std::optional<Eigen::Vector3d> upward = up            ? up
                                                : yard.ground ? std::optional(yard.ground->up())
                                                              : std::nullopt;
  for (std::size_t i = 0; i < std::min<std::size_t>(axes.size(), 3); ++i) {
    const std::size_t main = near ? i : main_stem(axes, i);
    const Candidate candidate = make_ready(points, yard, axes, main, near);
    const LogFrame frame(candidate.axis, upward);
    const PartedLog parted = part_log(points, yard, candidate.axis, frame, candidate.known);
    if (!looks_like_a_log(candidate.axis, parted, within ? flattest : roundest)) continue;
    FoundLog log = report(parted, frame, candidate.axis, points, scale);
    if (yard.ground) log.ground_up = yard.ground->up();
    log.upright = upward && !frame.knows_up();
    std::vector<const RoughAxis*> others;
    for (const RoughAxis& other : candidate.in_line) others.push_back(&other);
    for (const std::size_t k : other_round_things(axes, main))
      if (!candidate.second || candidate.second->stem != k) others.push_back(&axes[k]);
    const RoughAxis* second = candidate.second ? &candidate.second->axis : nullptr;
    if (second)
      log.fork = Fork{candidate.second->begin / scale, candidate.second->crotch / scale,
                      2.0 * second->radius.front() / scale};
    log.labels = label_points({points, yard, frame, parted, others, second, candidate.known});
    name_others(others, points, scale, log);
    look.log_points =
        static_cast<std::size_t>(std::count(log.labels.begin(), log.labels.end(), PointLabel::log));
    look.taken = candidate.axis;
    look.result.on_its_flat = is_sunk_in_soil(parted, frame, yard.ground);
    look.result.log = std::move(log);
    return look;
  }
  return look;
}

Points log_points(const Points& points, const FoundLog& log) {
  Points own;
  for (std::size_t i = 0; i < points.size(); ++i)
    if (log.labels[i] == PointLabel::log) own.push_back(points[i]);
  return own;
}

Points stretched(Points points, const Eigen::Matrix3d& rounding) {
  for (Eigen::Vector3f& point : points) point = rounding.cast<float>() * point;
  return points;
}

Yard stretched(Yard yard, const Eigen::Matrix3d& rounding) {
  yard.objects = stretched(std::move(yard.objects), rounding);
  if (yard.ground) yard.ground = yard.ground->stretched(rounding);
  return yard;
}

/// Places that were found in stretched space, in the scan's own.
void unstretch(const Eigen::Matrix3d& rounding, FoundLog& log) {
  const Eigen::Matrix3d back = rounding.inverse();
  for (OpenEnd& end : log.open_ends) end.centre = back * end.centre;
  for (OtherLog& other : log.others) other.middle = back * other.middle;
  if (!log.fork) return;
  log.fork->begin = back * log.fork->begin;
  log.fork->crotch = back * log.fork->crotch;
}

/// Of the points of one log, the share that another has as well.
double shared(const FoundLog& one, const FoundLog& other) {
  std::size_t count = 0, both = 0;
  for (std::size_t i = 0; i < one.labels.size(); ++i) {
    if (one.labels[i] != PointLabel::log) continue;
    ++count;
    both += other.labels[i] == PointLabel::log ? 1 : 0;
  }
  return static_cast<double>(both) / static_cast<double>(std::max<std::size_t>(1, count));
}

/// Whether an oval that was searched is the log rather than what circles found: the same thing,
/// followed better, or of which they had only a part or too much; or much more of a log than a
/// neighbour that nobody chose.
bool is_more_of_a_log(const Look& oval, const Eigen::Vector3d& middle, const Look& round,
                      bool chosen) {
  if (radii_from(oval.taken, middle) > 0.8) return false;
  if (!round.result.log) return true;
  const double more = static_cast<double>(oval.log_points) / static_cast<double>(round.log_points);
  const double better = merit(oval.taken) / std::max(1e-9, merit(round.taken));
  if (shared(*round.result.log, *oval.result.log) < 0.5)
    return !chosen && more > 2.0 && better > 1.0;
  if (round.result.on_its_flat && !oval.result.on_its_flat) return better > 0.5;
  return better > 1.3 || (more > 1.3 && better > 0.4);
}

SearchResult search_at_scale(const Points& points, const std::optional<Eigen::Vector3d>& up,
                             const std::optional<Eigen::Vector3d>& near, double scale) {
  constexpr std::size_t most_ovals = 3;
  Look round = look_once(points, survey(points, up), up, near, std::nullopt, scale);
  const std::vector<Oval> ovals = find_ovals(round.yard, round.axes);
  for (std::size_t i = 0; i < std::min(most_ovals, ovals.size()); ++i) {
    const Eigen::Matrix3d rounding = ovals[i].rounding();
    const Eigen::Vector3d middle = rounding * ovals[i].middle;
    const auto turned = up ? std::optional((rounding.inverse() * *up).normalized()) : std::nullopt;
    const auto moved = near ? std::optional((rounding * *near).eval()) : std::nullopt;
    Look oval = look_once(stretched(points, rounding), stretched(round.yard, rounding), turned,
                          moved, middle, scale);
    if (!oval.result.log || !is_more_of_a_log(oval, middle, round, near.has_value())) continue;
    if (is_square(log_points(points, *oval.result.log), ovals[i].along)) {
      // A strip along a beam's corners may seem loosely round.
      if (round.result.log && !is_clean(round.taken)) round.result.log.reset();
      continue;
    }
    unstretch(rounding, *oval.result.log);
    if (round.yard.ground) oval.result.log->ground_up = round.yard.ground->up();
    return std::move(oval.result);
  }
  if (!round.result.log) round.result.instead = describe(round.yard, scale);
  return std::move(round.result);
}

}  // namespace

SearchResult search_log(const Points& points, const std::optional<Eigen::Vector3d>& up,
                        const std::optional<Eigen::Vector3d>& near) {
  const double scale = search_scale(points);
  if (scale == 1.0) return search_at_scale(points, up, near, scale);
  Points scaled = points;
  for (Eigen::Vector3f& point : scaled) point *= static_cast<float>(scale);
  std::optional<Eigen::Vector3d> near_scaled = near;
  if (near) *near_scaled *= scale;
  return search_at_scale(scaled, up, near_scaled, scale);
}

}  // namespace kerfwright
