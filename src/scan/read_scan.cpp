#include "kerfwright/scan/read_scan.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "extent.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "raw_cloud.hpp"
#include "thinning.hpp"

namespace kerfwright {
namespace {

/// The longest side of the scene that is taken for metres: a log alone, or a yard round it.
constexpr double least_metres = 0.15;
constexpr double most_metres = 60.0;
/// Beyond it hundredths of a metre are less likely than thousandths.
constexpr double most_centimetres = 1500.0;
constexpr double most_millimetres = 60000.0;
/// mm; the error of the fit is a few times as much.
constexpr double coarsest_step = 0.2;
/// More points than this, ground and all, are thinned where they lie closest.
constexpr std::size_t enough_points = 800000;

RawCloud read_by_type(const std::string& path, std::string_view bytes) {
  switch (detect_type(path, bytes)) {
    case FileType::ply:
      return read_ply(path, bytes);
    case FileType::pcd:
      return read_pcd(path, bytes);
    case FileType::obj:
      return read_obj(path, bytes);
    case FileType::las:
      return read_las(path, bytes);
    case FileType::stl:
      return read_stl(path, bytes);
    case FileType::gltf:
      return read_gltf(path, bytes);
    case FileType::text:
      break;
  }
  return read_text_points(path, bytes);
}

[[noreturn]] void refuse_coordinates(const std::string& path, std::size_t bad, std::size_t first) {
  throw UserError(Fault::bad_coordinates,
                  file_name(path) + ": " + std::to_string(bad) +
                      (bad == 1 ? " point has a coordinate that is no number"
                                : " points have coordinates that are no numbers") +
                      ", the first at point " + std::to_string(first + 1) +
                      "; export the scan again, or take " + (bad == 1 ? "it" : "them") + " out.");
}

/// A scanner's picture has rays that met nothing, and says so with nan; anywhere else nan is
/// damage.
void check_coordinates(const std::string& path, RawCloud& cloud, std::vector<std::string>& notes) {
  // Beyond 1e12 of any unit nothing stands on earth, and sums of squares would lose the log.
  const auto bad = [](const Eigen::Vector3d& p) { return !(p.array().abs() < 1e12).all(); };
  const auto first = std::find_if(cloud.points.begin(), cloud.points.end(), bad);
  if (first == cloud.points.end()) return;
  const auto count = static_cast<std::size_t>(std::count_if(first, cloud.points.end(), bad));
  if (!cloud.organised || count == cloud.points.size())
    refuse_coordinates(path, count, static_cast<std::size_t>(first - cloud.points.begin()));
  cloud.points.erase(std::remove_if(first, cloud.points.end(), bad), cloud.points.end());
  notes.push_back(std::to_string(count) + " rays of the scan met nothing and were left out.");
}

double millimetres_in(LengthUnit unit) {
  return unit == LengthUnit::metre ? 1000.0 : unit == LengthUnit::centimetre ? 10.0 : 1.0;
}

/// Three significant digits, never a power of ten.
std::string short_number(double value) {
  std::array<char, 48> text{};
  std::snprintf(text.data(), text.size(), value >= 100.0 ? "%.0f" : "%.3g", value);
  return text.data();
}

std::string extent_words(const Eigen::Vector3d& size) {
  return "extent " + short_number(size.x()) + " x " + short_number(size.y()) + " x " +
         short_number(size.z());
}

/// The step between neighbouring coordinates farthest out, where all of them are floats; else 0.
double float_step(const std::vector<Eigen::Vector3d>& points) {
  float reach = 0.0F;
  const std::size_t stride = points.size() / 1000 + 1;
  for (std::size_t i = 0; i < points.size(); i += stride)
    for (const double c : points[i]) {
      const auto rounded = static_cast<float>(c);
      if (static_cast<double>(rounded) != c) return 0.0;
      reach = std::max(reach, std::abs(rounded));
    }
  return static_cast<double>(std::nextafter(reach, 3e38F)) - static_cast<double>(reach);
}

struct Scale {
  double mm_per_unit = 1000.0;
  bool guessed = false;
  std::string note;
};

/// mm in a unit of the file. A taped length gives the first scale of a cloud that fits no unit.
Scale choose_scale(const Eigen::Vector3d& size, const ReadSettings& settings) {
  if (settings.unit) return {millimetres_in(*settings.unit), false, {}};
  const double longest = size.maxCoeff();
  const std::string hint = " (" + extent_words(size) + "): --unit says otherwise.";
  if (settings.log_length && (longest < least_metres || longest > most_millimetres))
    return {*settings.log_length / longest, true,
            "The scan has no unit that fits (" + extent_words(size) +
                "); its scale is that of the taped length."};
  if (longest <= most_metres) return {1000.0, true, "Taken to be in metres" + hint};
  if (longest <= most_centimetres) return {10.0, true, "Taken to be in centimetres" + hint};
  return {1.0, true, "Taken to be in millimetres" + hint};
}

/// Near a corner of the points themselves, so that a scan far out gives the same floats as the same
/// scan near the origin, and with them the same shape. Not in whole tenths: coordinates in whole
/// tenths of a millimetre would lie on the borders of the cubes in which the log is sought, to be
/// tossed to either side by the last digit.
Eigen::Vector3d choose_origin(const CloudExtent& extent, double mm_per_unit) {
  return extent.low.array() - 15.0317 / mm_per_unit;
}

void fill_points(const RawCloud& cloud, const Eigen::Vector3d& shift, double mm_per_unit,
                 Scan& scan) {
  scan.points.reserve(cloud.points.size());
  for (const Eigen::Vector3d& point : cloud.points)
    scan.points.emplace_back(((point - shift) * mm_per_unit).cast<float>());
  scan.file_to_scan = Eigen::Matrix4d::Identity();
  scan.file_to_scan.topLeftCorner<3, 3>() *= mm_per_unit;
  scan.file_to_scan.topRightCorner<3, 1>() = -mm_per_unit * shift;
}

/// 4512345 as "4,512,345".
std::string grouped(std::size_t count) {
  std::string digits = std::to_string(count);
  for (std::size_t at = digits.size(); at > 3;) digits.insert(at -= 3, ",");
  return digits;
}

void thin_scan(Scan& scan) {
  const Thinning thinning = thin_out(scan.points, enough_points);
  if (thinning.after == thinning.before) return;
  scan.notes.push_back(grouped(thinning.before) + " points are finer than needed; " +
                       grouped(thinning.after) + " were kept, at least " +
                       std::to_string(thinning.left) + " of every cube of " +
                       short_number(thinning.cube) + " mm that has as many.");
}

RawCloud read_cloud(const std::string& path, ScanSource& source) {
  const std::string bytes = read_file(path);
  source.file = file_name(path);
  source.sha256 = sha256_hex(bytes);
  RawCloud cloud = read_by_type(path, bytes);
  source.points = cloud.points.size() + cloud.left_out;
  return cloud;
}

}  // namespace

Scan read_scan(const std::string& path, const ReadSettings& settings) {
  Scan scan;
  RawCloud cloud = read_cloud(path, scan.source);
  scan.notes = cloud.notes;
  check_coordinates(path, cloud, scan.notes);
  const double step = float_step(cloud.points);
  const std::size_t faces = cloud.triangles.size();
  if (const std::size_t samples = sample_mesh(cloud); samples > 0)
    scan.notes.push_back("The mesh was turned into " + std::to_string(samples) +
                         " points spread evenly over its " + std::to_string(faces) +
                         " triangles; what an app filled in cannot be told from what it saw.");
  const CloudExtent extent = robust_extent(cloud.points);
  if (!(extent.size().maxCoeff() > 0.0))
    throw UserError(Fault::bad_coordinates,
                    scan.source.file + ": all points lie in one place; export the scan again.");
  const Scale scale = choose_scale(extent.size(), settings);
  if (!scale.note.empty()) scan.notes.push_back(scale.note);
  scan.unit_guessed = scale.guessed;
  if (step * scale.mm_per_unit > coarsest_step)
    scan.notes.push_back("The file keeps its coordinates only in steps of " +
                         short_number(step * scale.mm_per_unit) +
                         " mm, too coarse for a log: export the scan in double precision or nearer "
                         "to the origin.");
  if (settings.up) scan.up = settings.up->normalized();
  fill_points(cloud, choose_origin(extent, scale.mm_per_unit), scale.mm_per_unit, scan);
  thin_scan(scan);
  return scan;
}

}  // namespace kerfwright
