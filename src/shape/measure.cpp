#include "kerfwright/shape/measure.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "hidden_part.hpp"
#include "kerfwright/fixed.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/trade/inches.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "robust.hpp"
#include "text_line.hpp"

namespace kerfwright {
namespace {

double cross(const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  return a.x() * b.y() - a.y() * b.x();
}

/// Corners of the convex hull, anticlockwise (Andrew's monotone chain, Information Processing
/// Letters 9, 1979).
Outline convex_hull(Outline points) {
  const auto before = [](const auto& a, const auto& b) {
    return a.x() < b.x() || (a.x() == b.x() && a.y() < b.y());
  };
  std::sort(points.begin(), points.end(), before);
  Outline hull;
  for (int half = 0; half < 2; ++half) {
    const std::size_t fixed = hull.size();
    for (const auto& p : points) {
      while (hull.size() >= fixed + 2 &&
             cross(hull.back() - hull[hull.size() - 2], p - hull.back()) <= 0.0) {
        hull.pop_back();
      }
      hull.push_back(p);
    }
    hull.pop_back();
    std::reverse(points.begin(), points.end());
  }
  return hull;
}

struct Jaws {
  double smallest = 0, largest = 0, mean = 0;
  double square = 0;  ///< at right angles to the smallest
};

/// Least and greatest distance of two parallel jaws that hold the outline: the least has an edge of
/// the hull against one jaw, the greatest two corners.
Jaws calliper(const Outline& outline) {
  const Outline hull = convex_hull(outline);
  if (hull.size() < 3) return {};
  Jaws jaws{std::numeric_limits<double>::max(), 0.0};
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const Eigen::Vector2d side = hull[(i + 1) % hull.size()] - hull[i];
    const Eigen::Vector2d edge = side.normalized();
    jaws.mean += side.norm() / std::numbers::pi;
    double width = 0, near = 0, far = 0;
    for (const auto& p : hull) {
      width = std::max(width, cross(edge, p - hull[i]));
      near = std::min(near, edge.dot(p - hull[i]));
      far = std::max(far, edge.dot(p - hull[i]));
      jaws.largest = std::max(jaws.largest, (p - hull[i]).norm());
    }
    if (width < jaws.smallest) jaws.square = far - near;
    jaws.smallest = std::min(jaws.smallest, width);
  }
  return jaws;
}

SectionMeasure section_at(const LogShape& shape, double x) {
  const Jaws over = calliper(section_outline_at(shape, x, Bark::on));
  const Jaws under = calliper(section_outline_at(shape, x, Bark::off));
  return {x, over.mean, over.smallest, under.mean, under.smallest, under.square};
}

/// The place where the axis is farthest from the chord; between stations it runs straight.
void measure_sweep(const LogShape& shape, LogMeasures& measures) {
  std::size_t farthest = 0;
  for (std::size_t i = 0; i < shape.axis.size(); ++i) {
    if (shape.axis[i].norm() > shape.axis[farthest].norm()) farthest = i;
  }
  const Eigen::Vector2d bow = shape.axis[farthest];
  measures.sweep = bow.norm();
  measures.sweep_per_m = measures.sweep / (1e-3 * shape.length());
  measures.sweep_x = shape.stations[farthest];
  measures.sweep_clock = clock_hours(bow);
}

double mean_ovality(const LogShape& shape) {
  double sum = 0;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const Jaws jaws = calliper(section_outline(shape, i, Bark::on));
    if (jaws.largest > 0.0) sum += 1.0 - jaws.smallest / jaws.largest;
  }
  return sum / static_cast<double>(shape.stations.size());
}

/// How much of the log's length a station stands for, mm.
double stretch_of(const LogShape& shape, std::size_t i) {
  const auto& x = shape.stations;
  const double before = i > 0 ? x[i] - x[i - 1] : 0.0;
  const double after = i + 1 < x.size() ? x[i + 1] - x[i] : 0.0;
  return 0.5 * (before + after);
}

void measure_seen(const LogShape& shape, LogMeasures& measures) {
  double seen_area = 0, area = 0;
  std::vector<double> seen, inferred;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    for (std::size_t j = 0; j < shape.radius[i].size(); ++j) {
      const double piece = stretch_of(shape, i) * static_cast<double>(shape.radius[i][j]);
      area += piece;
      if (shape.seen[i][j] != 0) seen_area += piece;
      (shape.seen[i][j] != 0 ? seen : inferred).push_back(static_cast<double>(shape.sigma[i][j]));
    }
  }
  measures.seen_share = area > 0.0 ? seen_area / area : 0.0;
  measures.sigma_seen = median(std::move(seen));
  measures.sigma_inferred = median(std::move(inferred));
}

/// A length in mm with so many decimals, or in inches to sixteenths.
std::string told(double mm, int decimals, bool inches) {
  return inches ? inch_text(mm) : fixed(mm, decimals);
}

std::string section_line(const char* name, const SectionMeasure& s, bool inches) {
  const auto whole = [&](double mm) { return told(mm, 0, inches); };
  return text_line("  %-8s%7s   %9s %11s   %10s %11s   %6s", name, whole(s.x).c_str(),
                   whole(s.mean_over_bark).c_str(), whole(s.smallest_over_bark).c_str(),
                   whole(s.mean_under_bark).c_str(), whole(s.smallest_under_bark).c_str(),
                   told(0.5 * (s.mean_over_bark - s.mean_under_bark), 1, inches).c_str());
}

/// A rise for each length of log: mm a metre, or inches a foot.
std::string slope_text(double mm_per_m, bool inches) {
  if (!inches) return text_of("%.1f mm", mm_per_m);
  return text_of("%.2f in", mm_per_m * 1e-3 * mm_per_foot / mm_per_inch);
}

}  // namespace

LogMeasures measure(const LogShape& shape) {
  LogMeasures measures;
  measures.length = shape.length();
  measures.butt = section_at(shape, 0.0);
  measures.middle = section_at(shape, 0.5 * shape.length());
  measures.top = section_at(shape, shape.length());
  measure_sweep(shape, measures);
  measures.taper =
      (measures.butt.mean_over_bark - measures.top.mean_over_bark) / (1e-3 * shape.length());
  measures.ovality = mean_ovality(shape);
  measures.volume_over_bark = solid_volume_m3(shape, Bark::on);
  measures.volume_under_bark = solid_volume_m3(shape, Bark::off);
  measure_seen(shape, measures);
  return measures;
}

std::string describe(const LogMeasures& m, bool inches) {
  const char* const unit = inches ? "in" : "mm";
  const char* const stretch = inches ? "ft" : "m";
  const auto length = [&](double mm, int decimals) {
    return told(mm, decimals, inches) + " " + unit;
  };
  const auto small = [&](double mm) {
    return (inches ? said_inches(mm) : text_of("%.1f", mm)) + " " + unit;
  };
  std::string text = text_line("Length    %s", length(m.length, 0).c_str());
  text += text_line(
      "Diameter  from butt   over bark  (smallest)   under bark  (smallest)     bark   %s", unit);
  text += section_line("butt", m.butt, inches) + section_line("middle", m.middle, inches) +
          section_line("top", m.top, inches);
  if (m.sweep < 0.5) {
    text += text_line("Sweep     none");
  } else {
    text += text_line(
        "Sweep     %s, %s per %s of length; bows most %s from the butt, to %s "
        "o'clock\n"
        "          (seen from the butt, 12 is up as the log lay when scanned)",
        length(m.sweep, 0).c_str(), slope_text(m.sweep_per_m, inches).c_str(), stretch,
        length(m.sweep_x, 0).c_str(), half_hour_text(m.sweep_clock).c_str());
  }
  text +=
      text_line("Taper     %s of diameter per %s", slope_text(m.taper, inches).c_str(), stretch);
  text += text_line("Ovality   %.1f %% (1 - smallest / largest diameter)", 100.0 * m.ovality);
  const Amounts amounts{inches};
  text +=
      text_line("Volume    %s over bark, %s under bark", amounts.log(m.volume_over_bark, 4).c_str(),
                amounts.log(m.volume_under_bark, 4).c_str());
  text += text_line("Seen      %.0f %% of the surface; the radius is sure to +-%s there",
                    100.0 * m.seen_share, small(2.0 * m.sigma_seen).c_str());
  if (m.seen_share < 0.999) {
    text += text_line("          and to +-%s where it was inferred (two standard deviations)",
                      small(2.0 * m.sigma_inferred).c_str());
  }
  return text;
}

}  // namespace kerfwright
