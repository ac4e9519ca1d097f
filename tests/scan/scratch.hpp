#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <string>
#include <utility>

#include "error_of.hpp"

namespace kerfwright {

/// A file of a test, in a folder of the test's own.
inline std::string scratch_file(const std::string& name, const std::string& bytes) {
  const auto* test = testing::UnitTest::GetInstance()->current_test_info();
  const auto folder = std::filesystem::path(testing::TempDir()) /
                      (std::string("kerfwright_") + test->test_suite_name() + "_" + test->name());
  std::filesystem::create_directories(folder);
  const auto path = folder / name;
  std::ofstream(path, std::ios::binary) << bytes;
  return path.string();
}

/// The bytes of a number, the first the lowest or the highest.
template <typename T>
std::string bytes_of(T value, bool big_endian = false) {
  std::string bytes(sizeof value, '\0');
  std::memcpy(bytes.data(), &value, sizeof value);
  if (big_endian != (std::endian::native == std::endian::big))
    std::reverse(bytes.begin(), bytes.end());
  return bytes;
}

}  // namespace kerfwright
