#pragma once

#include <pcl/PCLPointCloud2.h>

#include <string>

#include "raw_cloud.hpp"

namespace kerfwright {

/// The coordinates of what PCL read, in whatever type the file had them: PCL's own point types
/// would round doubles to float.
/// @throws UserError damaged_file where x, y or z is missing
void take_coordinates(const pcl::PCLPointCloud2& blob, const std::string& path, RawCloud& cloud);

}  // namespace kerfwright
