#include "kerfwright/shape/shape_of_scan.hpp"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"
#include "text_line.hpp"

namespace kerfwright {
namespace {

constexpr double alike = 0.02;  ///< two ways to the scale that agree

/// One thing that was taped, and what the fitted log says of it, mm.
struct Compared {
  const char* what;
  double taped, fitted;
};

/// In the order in which they are believed.
std::vector<Compared> compared_sizes(const TapedSizes& taped, const LogShape& shape) {
  const LogMeasures fitted = measure(shape);
  // The mean diameter is that of the convex hull's girth: what a tape reads.
  const double butt = fitted.butt.mean_over_bark, top = fitted.top.mean_over_bark;
  std::vector<Compared> sizes;
  const auto add = [&](const char* what, const std::optional<double>& size, double of_fit) {
    if (size) sizes.push_back({what, *size, of_fit});
  };
  add("the length", taped.length, fitted.length);
  add("the diameter at the butt", taped.butt_diameter, butt);
  add("the girth at the butt", taped.butt_girth, butt * std::numbers::pi);
  add("the diameter at the top", taped.top_diameter, top);
  add("the girth at the top", taped.top_girth, top * std::numbers::pi);
  return sizes;
}

double mm_per_unit(const Scan& scan) {
  return std::cbrt(std::abs(scan.file_to_scan.topLeftCorner<3, 3>().determinant()));
}

/// The found log was scaled by its rough size; the fitted one says what is missing. A fit is not
/// quite the same at another scale, hence again and not merely multiplied.
LogShape fit_to_tape(Scan& log, const TapedSizes& taped, const ShapeSettings& settings) {
  LogShape shape = fit_shape(log, settings);
  constexpr int most_rounds = 3;
  constexpr double good_enough = 2e-4;
  for (int round = 0; taped.any() && round < most_rounds; ++round) {
    const Compared believed = compared_sizes(taped, shape).front();
    const double factor = believed.taped / believed.fitted;
    if (std::abs(factor - 1.0) < good_enough) break;
    for (Eigen::Vector3f& point : log.points) point *= static_cast<float>(factor);
    log.file_to_scan.topRows<3>() *= factor;
    shape = fit_shape(log, settings);
  }
  return shape;
}

Eigen::Vector3d in_log(const LogShape& shape, const Scan& log, const Eigen::Vector3d& mm) {
  const Eigen::Matrix4d to_log = shape.scan_to_log * log.file_to_scan.inverse();
  return (to_log * mm.homogeneous()).head<3>();
}

void note_fork(const LogShape& shape, const LogInScan& found, std::vector<std::string>& notes) {
  if (!found.fork) return;
  const Eigen::Vector3d begin = in_log(shape, found.log, found.fork->begin);
  const Eigen::Vector3d crotch = in_log(shape, found.log, found.fork->crotch);
  notes.push_back(text_of(
      "The log forks: at %s o'clock (seen from the butt) a second stem, about %.0f mm thick, "
      "begins %.0f mm from the butt; the crotch is %.0f mm from the butt. The thicker stem "
      "was taken and the bark where the other joins it was inferred; wood about a fork twists "
      "and may hold bark, so look at it before sawing there.",
      half_hour_text(clock_hours(crotch.tail<2>() - axis_at(shape, crotch.x()))).c_str(),
      found.fork->diameter, std::min(begin.x(), crotch.x()), std::max(begin.x(), crotch.x())));
}

void note_open_ends(const LogShape& shape, const LogInScan& found,
                    std::vector<std::string>& notes) {
  for (const OpenEnd& end : found.open_ends) {
    if (!end.scan_stops) continue;
    const bool butt = in_log(shape, found.log, end.centre).x() < 0.5 * shape.length();
    notes.push_back(
        text_of("At the %s the scan itself stops: the log is taken to end there, at %.0f "
                "mm; if it goes on, scan it whole.",
                butt ? "butt" : "top", butt ? 0.0 : shape.length()));
  }
}

void note_scale(const Scan& scan, double factor, const std::vector<Compared>& sizes,
                std::vector<std::string>& notes) {
  const Compared& believed = sizes.front();
  notes.push_back(
      text_of("Scaled so that %s of the log is %.0f mm, as taped.", believed.what, believed.taped));
  if (std::abs(factor - 1.0) > alike)
    notes.push_back(text_of(
        "By the unit %s %s would be %.0f mm: %.1f %% apart from the tape. The tape was believed.",
        scan.unit_guessed ? "guessed from the scan's size" : "given for the scan", believed.what,
        believed.taped / factor, 100.0 * std::abs(1.0 / factor - 1.0)));
  for (std::size_t i = 1; i < sizes.size(); ++i) {
    const double apart = sizes[i].fitted / sizes[i].taped - 1.0;
    if (std::abs(apart) > alike)
      notes.push_back(text_of(
          "By tape %s is %.0f mm, on the log so scaled %.0f mm: %.1f %% apart. %s was believed; "
          "measure both again.",
          sizes[i].what, sizes[i].taped, sizes[i].fitted, 100.0 * std::abs(apart),
          believed.what == std::string("the length") ? "The length" : "The first"));
  }
}

}  // namespace

ShapeOfScan shape_of_scan(const std::string& path, const ScanToShape& settings) {
  ReadSettings read = settings.read;
  read.log_length = settings.find.taped.length;
  read.up = settings.find.up;
  ShapeOfScan result;
  result.scan = read_scan(path, read);
  LogInScan found = look_for_log(result.scan, settings.find);
  result.labels = std::move(found.labels);
  result.shape = fit_to_tape(found.log, settings.find.taped, settings.shape);
  std::vector<std::string> notes = found.log.notes;
  if (settings.find.taped.any())
    note_scale(result.scan, mm_per_unit(found.log) / mm_per_unit(result.scan),
               compared_sizes(settings.find.taped, result.shape), notes);
  note_fork(result.shape, found, notes);
  note_open_ends(result.shape, found, notes);
  result.shape.notes.insert(result.shape.notes.begin(), notes.begin(), notes.end());
  return result;
}

}  // namespace kerfwright
