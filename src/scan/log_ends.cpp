#include "log_ends.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "quantile.hpp"

namespace kerfwright {
namespace {

constexpr int sectors = 36;
constexpr double bark_band = 0.18;  ///< radii about the circle

/// How much of the girth has bark, bin by bin along the axis.
struct Profile {
  double first = 0.0, width = 1.0;
  std::vector<int> seen;
  double place(std::size_t bin) const { return first + width * static_cast<double>(bin); }
};

Profile bark_profile(const Unwrapped& near, const LogFrame& frame, double width) {
  Profile profile;
  const double margin = 2.0 * std::max(frame.radius(0.0), frame.radius(frame.length()));
  profile.first = -margin;
  profile.width = width;
  const auto bins = static_cast<std::size_t>((frame.length() + 2.0 * margin) / width) + 1;
  std::vector<unsigned char> hit(bins * sectors, 0);
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    if (std::abs(near.out[i] - 1.0) > bark_band) continue;
    const double bin = (near.along[i] - profile.first) / width;
    if (bin < 0.0 || bin >= static_cast<double>(bins)) continue;
    const int sector = static_cast<int>(near.angle[i] / (2.0 * std::numbers::pi) * sectors);
    hit[static_cast<std::size_t>(bin) * sectors +
        static_cast<std::size_t>(std::min(sector, sectors - 1))] = 1;
  }
  profile.seen.resize(bins);
  for (std::size_t b = 0; b < bins; ++b)
    profile.seen[b] = static_cast<int>(
        std::count(hit.begin() + static_cast<std::ptrdiff_t>(b * sectors),
                   hit.begin() + static_cast<std::ptrdiff_t>((b + 1) * sectors), 1));
  return profile;
}

/// The first bin, going outward from `from`, after which the bark stays away for two bins.
double run_out(const Profile& profile, double from, int way, double usual) {
  auto bin = static_cast<int>((from - profile.first) / profile.width);
  const auto bins = static_cast<int>(profile.seen.size());
  bin = std::clamp(bin, 0, bins - 1);
  const auto has = [&](int b) {
    return b >= 0 && b < bins && profile.seen[static_cast<std::size_t>(b)] > 0.3 * usual;
  };
  while (bin + way >= 0 && bin + way < bins && (has(bin + way) || has(bin + 2 * way))) bin += way;
  return profile.place(static_cast<std::size_t>(way > 0 ? std::min(bin + 1, bins - 1) : bin));
}

double usual_girth(const Profile& profile, double length) {
  std::vector<double> inner;
  for (std::size_t b = 0; b < profile.seen.size(); ++b)
    if (profile.place(b) >= 0.1 * length && profile.place(b) <= 0.9 * length)
      inner.push_back(profile.seen[b]);
  if (inner.empty()) return 1.0;
  return take_quantile(inner);
}

/// Places the end within its bin: the bark's points lie evenly along the last stretch, so 98 % of
/// them reach 98 % of the way to the end; a few strays beyond do not matter.
void sharpen(const Unwrapped& near, double stretch, LogEnd& end) {
  std::vector<double> into;  // mm towards the end, from the start of the stretch
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    if (std::abs(near.out[i] - 1.0f) > bark_band) continue;
    const double at = stretch + end.outward * (near.along[i] - end.along);
    if (at > 0.0 && at < 1.1 * stretch) into.push_back(at);
  }
  if (into.size() < 30) return;
  const double place = std::min(take_quantile(into, 0.98) / 0.98, 1.1 * stretch);
  end.along += end.outward * (place - stretch);
}

/// Points well inside the bark near an end, in straightened millimetres (along, two sideways).
Points inside_points(const Unwrapped& near, const LogFrame& frame, double end) {
  Points inside;
  const double radius = frame.radius(end);
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    const double off = near.along[i] - end;
    if (near.out[i] > 0.85f || std::abs(off) > 0.8 * radius) continue;
    const double r = near.out[i] * frame.radius(near.along[i]);
    const double angle = near.angle[i];
    inside.emplace_back(static_cast<float>(off), static_cast<float>(r * std::cos(angle)),
                        static_cast<float>(r * std::sin(angle)));
  }
  return inside;
}

/// A face is a flat thing across the log, not a few strays: it takes up a good part of the section.
void find_face(const Unwrapped& near, const LogFrame& frame, double bin, LogEnd& end) {
  Points inside = inside_points(near, frame, end.along);
  const double radius = frame.radius(end.along);
  const double leaf = std::max(0.06 * radius, 4.0);
  if (inside.size() < 20) return;
  inside =
      thin_points(inside, {Eigen::Vector3d::Constant(-1e6), Eigen::Vector3d::Constant(1e6)}, leaf);
  const double band = std::max(0.05 * radius, 10.0);
  const Eigen::Vector3d axis = Eigen::Vector3d::UnitX();
  const Plane plane = find_plane(inside, band, &axis);
  if (!plane.found || std::abs(plane.normal.x()) < 0.5) return;
  double covered = 0.0;
  for (const Eigen::Vector3f& p : inside)
    covered +=
        std::abs(plane.normal.dot(p.cast<double>()) - plane.distance) < band ? leaf * leaf : 0.0;
  if (covered < 0.12 * std::numbers::pi * radius * radius) return;
  const double at = plane.distance / plane.normal.x();
  if (std::abs(at) > 0.6 * radius + 2.0 * bin) return;
  end.face = true;
  end.slope = {-plane.normal.y() / plane.normal.x(), -plane.normal.z() / plane.normal.x()};
  end.along += at;
}

/// Where the bark stops in each sector of the girth that was seen, going outward from `from`:
/// (along, sideways), mm.
std::vector<Eigen::Vector3d> sector_stops(const Unwrapped& near, const LogFrame& frame, double from,
                                          double width, double outward) {
  std::array<std::vector<double>, sectors> out;
  for (std::size_t i = 0; i < near.index.size(); ++i) {
    const double at = outward * (near.along[i] - from);
    if (std::abs(near.out[i] - 1.0F) > bark_band || at < 0.0) continue;
    const int sector = static_cast<int>(near.angle[i] / (2.0 * std::numbers::pi) * sectors);
    out[static_cast<std::size_t>(std::min(sector, sectors - 1))].push_back(at);
  }
  std::vector<Eigen::Vector3d> stops;
  for (int s = 0; s < sectors; ++s) {
    auto& places = out[static_cast<std::size_t>(s)];
    std::sort(places.begin(), places.end());
    double stop = 0.0;
    // Sparse bark has gaps of its own; this long a one comes by chance once in e^12 times.
    const double gap =
        places.empty()
            ? 0.0
            : std::max(4.0 * width, 12.0 * places.back() / static_cast<double>(places.size()));
    for (const double place : places) {
      if (place > stop + gap) break;
      stop = place;
    }
    if (stop <= 0.0) continue;
    const double along = from + outward * stop,
                 angle = (s + 0.5) * 2.0 * std::numbers::pi / sectors;
    const double radius = frame.radius(along);
    stops.emplace_back(along, radius * std::cos(angle), radius * std::sin(angle));
  }
  return stops;
}

/// The plane at which the bark stops where no face is: oblique where the scan itself stops there.
void lean_end(const std::vector<Eigen::Vector3d>& stops, double radius, LogEnd& end) {
  if (stops.size() < sectors / 3) return;
  double band = 3.0 * radius;
  Eigen::Vector3d plane(end.along, 0.0, 0.0);
  for (int round = 0; round < 6; ++round, band = std::max(0.15 * radius, 0.5 * band)) {
    Eigen::Matrix3d normal = Eigen::Vector3d(1e-6, 1e-3, 1e-3).asDiagonal();
    Eigen::Vector3d right = Eigen::Vector3d::Zero();
    for (const Eigen::Vector3d& stop : stops) {
      const Eigen::Vector3d row(1.0, stop.y(), stop.z());
      if (round > 0 && std::abs(stop.x() - plane.dot(row)) > band) continue;
      normal += row * row.transpose();
      right += stop.x() * row;
    }
    plane = normal.ldlt().solve(right);
  }
  const auto on = [&](const Eigen::Vector3d& flat) {
    return std::count_if(stops.begin(), stops.end(), [&](const Eigen::Vector3d& stop) {
      return std::abs(stop.x() - flat.dot(Eigen::Vector3d(1.0, stop.y(), stop.z()))) <
             0.15 * radius;
    });
  };
  const double slope = plane.tail<2>().norm();
  const auto explained = on(plane);
  if (slope > 1.5 || slope < 0.1 ||
      10 * explained < 7 * static_cast<std::ptrdiff_t>(stops.size()) ||
      explained <= on({end.along, 0.0, 0.0}))
    return;
  end.along = plane.x();
  end.slope = plane.tail<2>();
}

}  // namespace

LogEnds find_ends(const Unwrapped& near, const LogFrame& frame) {
  const double radius = frame.radius(0.5 * frame.length());
  std::size_t bark = 0;
  for (const float out : near.out) bark += std::abs(out - 1.0f) < 0.15f ? 1 : 0;
  // Bins hold about two points in each sector that is seen, at least.
  const double sparse = 40.0 * frame.length() / static_cast<double>(bark + 1);
  const double width = std::clamp(sparse, 0.05 * radius, 0.5 * radius);
  const Profile profile = bark_profile(near, frame, width);
  const double usual = usual_girth(profile, frame.length());
  LogEnds ends;
  const double inset = std::min(0.4 * radius, 0.3 * frame.length());
  ends.first.along = run_out(profile, inset, -1, usual);
  ends.first.outward = -1.0;
  ends.last.along = run_out(profile, frame.length() - inset, 1, usual);
  const double stretch = std::min(6.0 * width, 0.3 * frame.length());
  sharpen(near, stretch, ends.first);
  sharpen(near, stretch, ends.last);
  find_face(near, frame, width, ends.first);
  find_face(near, frame, width, ends.last);
  for (LogEnd* end : {&ends.first, &ends.last}) {
    if (end->face) continue;
    const double from = end->along - end->outward * std::min(2.0 * radius, 0.4 * frame.length());
    lean_end(sector_stops(near, frame, from, width, end->outward), radius, *end);
  }
  return ends;
}

}  // namespace kerfwright
