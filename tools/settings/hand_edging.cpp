#include "settings/hand_edging.hpp"

#include <algorithm>
#include <cmath>

namespace kerfwright {
namespace {

using Eigen::Vector2d;

constexpr double most_lean = 0.1;  // of lanes, mm a mm

/// Lanes side by side, each where it fetches most: by whole millimetres across, from `left`.
double rip(const Ripping& ripping, const std::vector<double>& x, const std::vector<Vector2d>& clear,
           double left, double right, double kerf) {
  const int width = static_cast<int>(right - left + 1e-6);
  double all_left = -1e9, all_right = 1e9;  // between them it is wood from end to end
  for (const Vector2d& stretch : clear) {
    all_left = std::max(all_left, stretch.x());
    all_right = std::min(all_right, stretch.y());
  }
  if (width <= 0 || ripping.products.empty()) return 0.0;
  const auto spare_at = [&](std::size_t i, double from, double across) {
    return std::min(from - clear[i].x(), clear[i].y() - from - across);
  };
  const auto crossing = [&](std::size_t i, double from, double across) {
    const double before = spare_at(i - 1, from, across);
    const double here = spare_at(i, from, across);
    if ((before < 0.0) == (here < 0.0)) return x[i];
    return x[i - 1] + (x[i] - x[i - 1]) * before / (before - here);
  };
  std::vector<double> best(static_cast<std::size_t>(width) + 1, 0.0);
  for (int u = 0; u <= width; ++u) {
    const auto at = static_cast<std::size_t>(u);
    if (u > 0) best[at] = std::max(best[at], best[at - 1]);
    for (std::size_t p = 0; p < ripping.products.size(); ++p) {
      const double across = ripping.products[p]->width;
      if (u + across > right - left + 1e-6) continue;
      const double from = left + u;
      double worth = 0.0;
      double start = -1.0;
      const bool whole = all_left <= from + 1e-6 && all_right >= from + across - 1e-6;
      if (whole) worth = ripping.runs[p][static_cast<std::size_t>(x.back() - x.front())];
      for (std::size_t i = 0; i < x.size() && !whole; ++i) {
        const bool wood = spare_at(i, from, across) >= -1e-6;
        const double border = i > 0 ? crossing(i, from, across) : x[i];
        if (wood && start < 0.0) start = border;
        if (start >= 0.0 && (!wood || i + 1 == x.size())) {
          const double end = wood ? x[i] : border;
          worth += ripping.runs[p][static_cast<std::size_t>(std::max(0.0, end - start))];
          start = -1.0;
        }
      }
      const auto next = std::min(static_cast<std::size_t>(width),
                                 at + static_cast<std::size_t>(std::ceil(across + kerf)));
      best[next] = std::max(best[next], best[at] + worth);
    }
  }
  return best.back();
}

/// Slope of the line nearest to the points, within what lanes may lean.
double slope_of(const std::vector<double>& x, const std::vector<double>& y) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    n += 1;
    sx += x[i];
    sy += y[i];
    sxx += x[i] * x[i];
    sxy += x[i] * y[i];
  }
  const double spread = n * sxx - sx * sx;
  return spread > 0.0 ? std::clamp((n * sxy - sx * sy) / spread, -most_lean, most_lean) : 0.0;
}

/// Lanes that lean as suits them: not at all, as planned, along the middle of what is clear, or
/// along an edge.
double rip_leaning(const Ripping& ripping, const ClearWood& wood,
                   const std::vector<double>& planned, double kerf) {
  std::vector<double> x, left, right, middle;
  for (std::size_t i = 0; i < wood.x.size(); ++i) {
    if (wood.clear[i].y() <= wood.clear[i].x()) continue;
    x.push_back(wood.x[i]);
    left.push_back(wood.clear[i].x());
    right.push_back(wood.clear[i].y());
    middle.push_back(0.5 * (left.back() + right.back()));
  }
  if (x.empty()) return 0.0;
  double best = 0.0;
  std::vector<double> leans = {0.0, slope_of(x, left), slope_of(x, right), slope_of(x, middle)};
  leans.insert(leans.end(), planned.begin(), planned.end());
  for (const double lean : leans) {
    std::vector<Vector2d> clear = wood.clear;
    double from = 1e9, to = -1e9;
    for (std::size_t i = 0; i < clear.size(); ++i) {
      const double shift = lean * (wood.x[i] - x.front());
      clear[i] -= Vector2d(shift, shift);
      if (clear[i].y() <= clear[i].x()) continue;
      from = std::min(from, clear[i].x());
      to = std::max(to, clear[i].y());
    }
    if (lean == 0.0 && wood.face_left) from = 0.0;
    if (lean == 0.0 && !wood.face_left && wood.face_right) from = -std::floor(to - from);
    best = std::max(best, rip(ripping, wood.x, clear, from, to, kerf));
  }
  return best;
}

}  // namespace

Ripping ripping_of(const SawPlan& plan, double thickness, double length) {
  Ripping ripping;
  for (const Product& product : plan.order.products) {
    if (product.thickness != thickness) continue;
    std::vector<double> run(static_cast<std::size_t>(length) + 2, 0.0);
    for (std::size_t mm = 1; mm < run.size(); ++mm) {
      run[mm] = run[mm - 1];
      for (std::size_t k = 0; k < product.lengths.size(); ++k) {
        const auto piece = static_cast<std::size_t>(std::ceil(product.lengths[k]));
        if (piece > mm) continue;
        const double rest = static_cast<double>(mm - piece) - plan.mill.kerf;
        run[mm] = std::max(run[mm], product.value_of(k) +
                                        (rest > 0.0 ? run[static_cast<std::size_t>(rest)] : 0.0));
      }
    }
    ripping.products.push_back(&product);
    ripping.runs.push_back(std::move(run));
  }
  return ripping;
}

ClearWood between(const ClearWood& wood, double from, double to) {
  ClearWood part{{}, {}, wood.face_left, wood.face_right};
  const auto put = [&](double x, const Vector2d& clear) {
    part.x.push_back(x);
    part.clear.push_back(clear);
  };
  const auto put_between = [&](std::size_t i, double x) {  // stations i - 1 and i
    const double t = (x - wood.x[i - 1]) / (wood.x[i] - wood.x[i - 1]);
    put(x, (1.0 - t) * wood.clear[i - 1] + t * wood.clear[i]);
  };
  for (std::size_t i = 0; i < wood.x.size(); ++i) {
    if (i > 0 && wood.x[i - 1] < from && wood.x[i] > from) put_between(i, from);
    if (wood.x[i] >= from && wood.x[i] <= to) put(wood.x[i], wood.clear[i]);
    if (i > 0 && wood.x[i - 1] < to && wood.x[i] > to) put_between(i, to);
  }
  return part;
}

double edged(const Ripping& ripping, const ClearWood& wood, std::vector<double> places,
             const std::vector<double>& planned, double kerf) {
  if (wood.x.size() < 2) return 0.0;
  const double whole = rip_leaning(ripping, wood, planned, kerf);
  if (places.empty()) return whole;
  std::sort(places.begin(), places.end());
  places.push_back(wood.x.back() + kerf);
  double parts = 0.0;
  double after = wood.x.front() - kerf;
  for (const double place : places) {
    const ClearWood part = between(wood, after + 0.5 * kerf, place - 0.5 * kerf);
    if (part.x.size() > 1) parts += rip_leaning(ripping, part, planned, kerf);
    after = place;
  }
  return std::max(whole, parts);
}

}  // namespace kerfwright
