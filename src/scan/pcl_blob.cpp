#include "pcl_blob.hpp"

#include <cstring>
#include <limits>

#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

template <typename T>
double value_at(const std::uint8_t* bytes) {
  T value;
  std::memcpy(&value, bytes, sizeof value);
  return static_cast<double>(value);
}

using Reader = double (*)(const std::uint8_t*);

struct Coordinate {
  std::size_t offset = 0;
  std::size_t bytes = 0;
  Reader read = nullptr;
};

Coordinate coordinate_of(const pcl::PCLPointField& field) {
  using Field = pcl::PCLPointField;
  switch (field.datatype) {
    case Field::INT8:
      return {field.offset, 1, value_at<std::int8_t>};
    case Field::UINT8:
      return {field.offset, 1, value_at<std::uint8_t>};
    case Field::INT16:
      return {field.offset, 2, value_at<std::int16_t>};
    case Field::UINT16:
      return {field.offset, 2, value_at<std::uint16_t>};
    case Field::INT32:
      return {field.offset, 4, value_at<std::int32_t>};
    case Field::UINT32:
      return {field.offset, 4, value_at<std::uint32_t>};
    case Field::FLOAT32:
      return {field.offset, 4, value_at<float>};
    case Field::FLOAT64:
      return {field.offset, 8, value_at<double>};
    default:
      return {};
  }
}

Coordinate find_coordinate(const pcl::PCLPointCloud2& blob, const std::string& name,
                           const std::string& path) {
  for (const pcl::PCLPointField& field : blob.fields) {
    if (field.name != name) continue;
    const Coordinate coordinate = coordinate_of(field);
    if (coordinate.read && coordinate.offset + coordinate.bytes <= blob.point_step)
      return coordinate;
  }
  throw UserError(Fault::damaged_file, file_name(path) + ": the points have no coordinate " + name +
                                           "; export the scan again with x, y and z.");
}

}  // namespace

void take_coordinates(const pcl::PCLPointCloud2& blob, const std::string& path, RawCloud& cloud) {
  const Coordinate x = find_coordinate(blob, "x", path);
  const Coordinate y = find_coordinate(blob, "y", path);
  const Coordinate z = find_coordinate(blob, "z", path);
  const std::size_t points = blob.data.size() / blob.point_step;
  cloud.points.resize(points);
  for (std::size_t i = 0; i < points; ++i) {
    const std::uint8_t* at = blob.data.data() + i * blob.point_step;
    cloud.points[i] = {x.read(at + x.offset), y.read(at + y.offset), z.read(at + z.offset)};
  }
}

}  // namespace kerfwright
