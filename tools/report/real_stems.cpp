#include "report/real_stems.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <optional>
#include <vector>

#include "kerfwright/error.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/section.hpp"

namespace kerfwright {
namespace {

constexpr double sigma_of_mad = 1.4826;
constexpr std::array<double, 3> drawn_at{0.08, 0.5, 0.92};  ///< shares of the length

struct Stem {
  Scan scan;  ///< four points of five
  std::vector<Eigen::Vector3f> held_out;
};

Stem read_stem(const std::filesystem::path& path) {
  Stem stem;
  std::ifstream file(path);
  Eigen::Vector3f p;
  for (int i = 0; file >> p.x() >> p.y() >> p.z(); ++i) {
    (i % 5 == 4 ? stem.held_out : stem.scan.points).push_back(1000.0F * p);
  }
  return stem;
}

double middle(std::vector<double> values) {
  if (values.empty()) return 0.0;
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

double robust_spread(const std::vector<double>& values) {
  const double centre = middle(values);
  std::vector<double> sizes;
  for (const double v : values) sizes.push_back(std::abs(v - centre));
  return sigma_of_mad * middle(std::move(sizes));
}

std::vector<Eigen::Vector3d> in_log(const LogShape& shape,
                                    const std::vector<Eigen::Vector3f>& points) {
  std::vector<Eigen::Vector3d> there;
  for (const auto& point : points) {
    const Eigen::Vector3d p = (shape.scan_to_log * point.cast<double>().homogeneous()).head<3>();
    if (p.x() >= 0.0 && p.x() <= shape.length()) there.push_back(p);
  }
  return there;
}

/// A bark point unrolled: mm along the log, mm of arc at the log's mean radius, mm from the axis.
Eigen::Vector3d unrolled(const LogShape& shape, const Eigen::Vector3d& p, double mean_radius) {
  const auto after = std::upper_bound(shape.stations.begin(), shape.stations.end(), p.x());
  const auto next =
      std::clamp<std::ptrdiff_t>(after - shape.stations.begin(), 1, std::ssize(shape.stations) - 1);
  const auto k = static_cast<std::size_t>(next);
  const double share =
      (p.x() - shape.stations[k - 1]) / (shape.stations[k] - shape.stations[k - 1]);
  const Eigen::Vector2d arm =
      p.tail<2>() - (1.0 - share) * shape.axis[k - 1] - share * shape.axis[k];
  return {p.x(), mean_radius * std::atan2(arm.y(), arm.x()), arm.norm()};
}

/// How far the first point of the patch lies above a quadric through the others, brought to the
/// spread of a single point.
double above_quadric(const std::vector<Eigen::Vector3d>& patch) {
  Eigen::Matrix<double, 6, 6> normal = 1e-9 * Eigen::Matrix<double, 6, 6>::Identity();
  Eigen::Matrix<double, 6, 1> right = Eigen::Matrix<double, 6, 1>::Zero();
  for (std::size_t i = 1; i < patch.size(); ++i) {
    const Eigen::Vector3d q = patch[i] - patch[0];
    Eigen::Matrix<double, 6, 1> row;
    row << 1.0, q.x(), q.y(), q.x() * q.x(), q.x() * q.y(), q.y() * q.y();
    normal += row * row.transpose();
    right += q.z() * row;
  }
  const Eigen::Matrix<double, 6, 6> inverse = normal.inverse();
  return -(inverse * right)[0] / std::sqrt(1.0 + inverse(0, 0));
}

/// The points' own scatter: each of some points against a quadric of radius over place through its
/// 24 neighbours on the unrolled bark. Bark that is rough over a few centimetres counts as scatter.
double own_noise(const LogShape& shape, const std::vector<Eigen::Vector3d>& points) {
  constexpr std::size_t neighbours = 24, most = 1500;
  double mean_radius = 0;
  for (const auto& section : shape.radius) {
    for (const float r : section) mean_radius += static_cast<double>(r);
  }
  mean_radius /= static_cast<double>(shape.radius.size() * shape.radius.front().size());
  std::vector<Eigen::Vector3d> flat;
  for (const auto& p : points) flat.push_back(unrolled(shape, p, mean_radius));
  std::vector<double> above;
  const std::size_t stride = flat.size() / most + 1;
  for (std::size_t i = 0; i < flat.size(); i += stride) {
    std::vector<Eigen::Vector3d> patch = flat;
    const Eigen::Vector2d here = flat[i].head<2>();
    const auto nearer = [&](const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
      return (a.head<2>() - here).squaredNorm() < (b.head<2>() - here).squaredNorm();
    };
    std::nth_element(patch.begin(), patch.begin() + neighbours, patch.end(), nearer);
    patch.resize(neighbours + 1);
    std::iter_swap(patch.begin(), std::min_element(patch.begin(), patch.end(), nearer));
    above.push_back(above_quadric(patch));
  }
  return robust_spread(above);
}

double to_segment(const Eigen::Vector2d& p, const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  const Eigen::Vector2d along = b - a;
  const double share = std::clamp((p - a).dot(along) / along.squaredNorm(), 0.0, 1.0);
  return (p - a - share * along).norm();
}

/// Distance of a point to the outline at its own x, outside positive.
double off_outline(const LogShape& shape, const Eigen::Vector3d& p) {
  const Outline outline = section_outline_at(shape, p.x(), Bark::on);
  double least = 1e9;
  for (std::size_t j = 0; j < outline.size(); ++j) {
    least = std::min(least, to_segment(p.tail<2>(), outline[j], outline[(j + 1) % outline.size()]));
  }
  return depth_inside(shape, p, Bark::on) > 0.0 ? -least : least;
}

std::vector<double> distances(const LogShape& shape, const std::vector<Eigen::Vector3f>& points) {
  std::vector<double> off;
  for (const auto& p : in_log(shape, points)) off.push_back(off_outline(shape, p));
  return off;
}

void draw_points(std::ofstream& svg, const LogShape& shape,
                 const std::vector<Eigen::Vector3f>& points, double x, const char* colour,
                 double size) {
  constexpr double slab = 25.0;
  for (const auto& p : in_log(shape, points)) {
    if (std::abs(p.x() - x) > slab) continue;
    svg << "<circle cx=\"" << -p.y() << "\" cy=\"" << -p.z() << "\" r=\"" << size << "\" fill=\""
        << colour << "\"/>\n";
  }
}

/// The outline, seen from the butt; dashed where nothing was seen near.
void draw_outline(std::ofstream& svg, const LogShape& shape, double x) {
  const Outline outline = section_outline_at(shape, x, Bark::on);
  const auto after = std::lower_bound(shape.stations.begin(), shape.stations.end(), x);
  const auto station = static_cast<std::size_t>(after - shape.stations.begin());
  for (std::size_t j = 0; j < outline.size(); ++j) {
    const Eigen::Vector2d a = outline[j], b = outline[(j + 1) % outline.size()];
    svg << "<line x1=\"" << -a.x() << "\" y1=\"" << -a.y() << "\" x2=\"" << -b.x() << "\" y2=\""
        << -b.y() << "\" stroke=\"" << (shape.seen[station][j] != 0 ? "#1a1a1a" : "#d0803a")
        << "\" stroke-width=\"0.8\"/>\n";
  }
}

void draw_sections(const std::filesystem::path& path, const LogShape& shape, const Stem& stem) {
  double widest = 0;
  for (const auto& section : shape.radius) {
    for (const float r : section) widest = std::max(widest, static_cast<double>(r));
  }
  double off_chord = 0;
  for (const auto& centre : shape.axis) off_chord = std::max(off_chord, centre.norm());
  const double panel = 2.2 * (widest + 10.0);
  std::ofstream svg(path);
  svg << "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " << 3.0 * panel << " "
      << panel + 24.0 << "\">\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n";
  for (std::size_t k = 0; k < drawn_at.size(); ++k) {
    const double x = drawn_at[k] * shape.length();
    const auto near = static_cast<std::size_t>(
        std::lower_bound(shape.stations.begin(), shape.stations.end(), x) - shape.stations.begin());
    const Eigen::Vector2d centre = shape.axis[near];
    svg << "<text x=\"" << (static_cast<double>(k) + 0.5) * panel << "\" y=\"" << panel + 12.0
        << "\" font-size=\"16\" text-anchor=\"middle\">" << std::lround(x)
        << " mm from the butt</text>\n<g transform=\"translate("
        << (static_cast<double>(k) + 0.5) * panel + centre.x() << "," << 0.5 * panel + centre.y()
        << ")\">\n";
    draw_points(svg, shape, stem.scan.points, x, "#7aa6c2", 0.004 * panel);
    draw_points(svg, shape, stem.held_out, x, "#c2185b", 0.004 * panel);
    draw_outline(svg, shape, x);
    svg << "</g>\n";
  }
  svg << "</svg>\n";
}

void report_stem(const std::filesystem::path& path, const std::string& drawings) {
  const Stem stem = read_stem(path);
  const LogShape shape = fit_shape(stem.scan, {});
  const std::vector<double> off = distances(shape, stem.held_out);
  std::vector<double> sizes;
  for (const double v : off) sizes.push_back(std::abs(v));
  double within = 0;
  for (const auto& section : shape.seen) {
    for (const unsigned char seen : section) within += seen;
  }
  within /= static_cast<double>(shape.seen.size() * shape.seen.front().size());
  std::printf("| %-14s | %6zu | %5.0f %% | %5.1f | %5.1f | %+5.1f | %5.1f | %5.1f |\n",
              path.stem().c_str(), stem.scan.points.size(), 100.0 * within, robust_spread(off),
              middle(sizes), middle(off), robust_spread(distances(shape, stem.scan.points)),
              own_noise(shape, in_log(shape, stem.scan.points)));
  for (const std::string& note : shape.notes) std::fprintf(stderr, "  %s\n", note.c_str());
  if (!drawings.empty()) {
    draw_sections(std::filesystem::path(drawings) / (path.stem().string() + ".svg"), shape, stem);
  }
}

}  // namespace

int report_real_stems(const std::string& folder, const std::string& drawings) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".xyz") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  std::printf(
      "| stem | points fitted | seen | held out: robust RMSE, mm | median size, mm | median, mm | "
      "fitted points: robust RMSE, mm | points' own scatter, mm |\n"
      "| --- | --- | --- | --- | --- | --- | --- | --- |\n");
  int lost = 0;
  for (const auto& file : files) {
    try {
      report_stem(file, drawings);
    } catch (const UserError& error) {
      std::printf("%s: %s\n", file.c_str(), error.what());
      ++lost;
    }
  }
  return lost;
}

}  // namespace kerfwright
