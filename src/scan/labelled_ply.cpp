#include <Eigen/Geometry>
#include <Eigen/LU>
#include <array>
#include <bit>
#include <cstdint>
#include <type_traits>

#include "kerfwright/scan/find_log.hpp"

namespace kerfwright {
namespace {

using Colour = std::array<unsigned char, 3>;

/// Told apart by the colour-blind too, as far as eight can be: M. Okabe and K. Ito, Color Universal
/// Design, 2008 (from memory), in the order of the labels; black is replaced by grey.
constexpr std::array<Colour, point_labels> colours{{{230, 159, 0},
                                                    {0, 158, 115},
                                                    {213, 94, 0},
                                                    {86, 180, 233},
                                                    {150, 150, 150},
                                                    {240, 228, 66},
                                                    {204, 121, 167},
                                                    {0, 114, 178}}};

template <typename Number>
void append(std::string& bytes, Number value) {
  using Bits = std::conditional_t<sizeof(Number) == 8, std::uint64_t, std::uint32_t>;
  const auto bits = std::bit_cast<Bits>(value);
  for (std::size_t byte = 0; byte < sizeof(Number); ++byte)
    bytes += static_cast<char>((bits >> (8 * byte)) & 0xffU);
}

std::string header(std::size_t points, const std::string& number) {
  std::string text =
      "ply\nformat binary_little_endian 1.0\n"
      "comment labels: 0 log, 1 ground, 2 rest, 3 other log, 4 clutter, 5 stray, 6 second stem of "
      "a "
      "fork, 7 branch\nelement vertex " +
      std::to_string(points) + "\n";
  for (const char* axis : {"x", "y", "z"}) text += "property " + number + " " + axis + "\n";
  return text +
         "property uchar red\nproperty uchar green\nproperty uchar blue\nproperty int label\n"
         "end_header\n";
}

}  // namespace

std::string labelled_ply(const Scan& scan, const std::vector<PointLabel>& labels) {
  // Coordinates that were shifted to small numbers on reading would not survive in float.
  const bool large = scan.file_to_scan.topRightCorner<3, 1>().norm() > 0.0;
  const Eigen::Matrix4d to_file = scan.file_to_scan.inverse();
  std::string bytes = header(labels.size(), large ? "double" : "float");
  bytes.reserve(bytes.size() + labels.size() * (large ? 31 : 19));
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const Eigen::Vector3d p = (to_file * scan.points[i].cast<double>().homogeneous()).head<3>();
    for (int k = 0; k < 3; ++k) {
      if (large) {
        append(bytes, p[k]);
      } else {
        append(bytes, static_cast<float>(p[k]));
      }
    }
    const auto label = static_cast<std::size_t>(labels[i]);
    for (const unsigned char channel : colours[label]) bytes += static_cast<char>(channel);
    append(bytes, static_cast<std::int32_t>(label));
  }
  return bytes;
}

}  // namespace kerfwright
