#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <numbers>
#include <string>

#include "kerfwright/archive/archive.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "sheet/samples.hpp"

/// Invented logs for the archive.
namespace kerfwright::kept {

/// An empty folder of the test's own, and the file of an archive that is not there yet.
inline std::string fresh_place() {
  const auto* test = testing::UnitTest::GetInstance()->current_test_info();
  const auto folder = std::filesystem::path(testing::TempDir()) /
                      (std::string("kerfwright_") + test->test_suite_name() + "_" + test->name());
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  return (folder / "archive.sqlite").string();
}

/// How a log is to differ.
struct Form {
  double length = 2000, radius = 160, bow = 30, sigma = 1;
  double turn = 0;        ///< radians about the chord
  bool reversed = false;  ///< scanned the other way round
  unsigned noise = 0;     ///< 0 = none, else what the sequence of errors starts with
  double burl = 25;       ///< mm that a burl stands out
};

/// A lobed, tapering, bowed log with a burl; each radius off by an error of `sigma`, evenly
/// distributed, where there is noise.
inline LogShape log_of(const Form& form) {
  LogShape shape;
  shape.source = {"invented.ply", "", 1000};
  shape.angles = 64;
  shape.bark = 5;
  constexpr int gaps = 40;
  unsigned state = form.noise;
  const auto error = [&] {
    if (form.noise == 0) return 0.0;
    state = state * 1664525U + 1013904223U;
    return form.sigma * std::sqrt(12.0) * (state / 4294967296.0 - 0.5);
  };
  for (int i = 0; i <= gaps; ++i) {
    const double x = form.length * i / gaps;
    const double share = form.reversed ? 1.0 - x / form.length : x / form.length;
    shape.stations.push_back(x);
    const double bow = form.bow * 4.0 * share * (1.0 - share);
    const double side = form.reversed ? -bow : bow;
    shape.axis.emplace_back(side * std::cos(form.turn), side * std::sin(form.turn));
    auto& radii = shape.radius.emplace_back();
    for (int j = 0; j < shape.angles; ++j) {
      double angle = 2.0 * std::numbers::pi * j / shape.angles - form.turn;
      if (form.reversed) angle = std::numbers::pi - angle;
      const double off = std::remainder(angle - 2.0, 2.0 * std::numbers::pi);
      const double lump = form.burl * std::exp(-std::pow((share - 0.3) / 0.1, 2) - off * off * 4);
      const double radius = form.radius * (1.0 - 0.15 * share) + 8.0 * std::cos(3 * angle + 1) +
                            6.0 * std::cos(2 * angle) + lump;
      radii.push_back(static_cast<float>(radius + error()));
    }
    shape.sigma.emplace_back(64, static_cast<float>(form.sigma));
    shape.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  return shape;
}

inline NewLog new_log(const std::string& name, const LogShape& shape) {
  NewLog log;
  log.card.name = name;
  log.files.push_back({"shape.json", "shape", shape_to_json(shape)});
  return log;
}

/// A log with a plan that was made on it, and a picture of every byte there is.
inline NewLog planned_log(const std::string& name) {
  NewLog log = new_log(name, samples::live_log());
  SawPlan plan = samples::live_plan();
  plan.shape_sha256 = sha256_hex(log.files[0].bytes);
  log.files.push_back({"plan-1.json", "plan", plan_to_json(plan)});
  std::string picture;
  for (int i = 0; i < 5000; ++i) picture += static_cast<char>(i % 256);
  log.files.push_back({"picture-1.jpg", "picture", picture});
  return log;
}

inline Archive made(const std::string& place) {
  return Archive::open(place, Archive::Access::made);
}

inline std::string bytes_at(const std::string& path) { return read_file(path); }

}  // namespace kerfwright::kept
