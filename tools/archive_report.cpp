// Fills an archive with invented logs and says how long add, find and check take, and how large the
// file is. Usage: archive_report FILE [LOGS [STATIONS ANGLES]]; where FILE is there, only
// the finds are timed.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <functional>
#include <iostream>
#include <numbers>
#include <random>

#include "kerfwright/archive/archive.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/sheet/shape_file.hpp"

namespace {

using namespace kerfwright;

double seconds(const std::function<void()>& work) {
  const auto start = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

/// How many times add is measured, when the archive holds all the others.
constexpr int measured = 100;

/// A tapering, bowed, lobed log of random size, each radius with an error of its own.
LogShape random_log(std::mt19937& random, int stations, int angles) {
  const auto between = [&](double low, double high) {
    return low + (high - low) * (static_cast<double>(random()) / 4294967296.0);
  };
  const double length = between(600, 6000), radius = between(90, 350), bow = between(0, 0.03);
  const double lobes = between(0, 0.06), phase = between(0, 6.28);
  LogShape shape;
  shape.source = {"invented.ply", "", 100'000};
  shape.angles = angles;
  shape.bark = between(3, 20);
  for (int i = 0; i < stations; ++i) {
    const double share = static_cast<double>(i) / (stations - 1);
    shape.stations.push_back(length * share);
    shape.axis.emplace_back(bow * length * 4.0 * share * (1.0 - share), 0.0);
    auto& radii = shape.radius.emplace_back();
    for (int j = 0; j < angles; ++j) {
      const double angle = 2.0 * std::numbers::pi * j / angles;
      radii.push_back(static_cast<float>(radius * (1.0 - 0.2 * share) *
                                             (1.0 + lobes * std::cos(3 * angle + phase)) +
                                         between(-1, 1)));
    }
    auto& sigmas = shape.sigma.emplace_back();
    for (int j = 0; j < angles; ++j) sigmas.push_back(static_cast<float>(between(0.3, 3)));
    shape.seen.emplace_back(static_cast<std::size_t>(angles), static_cast<unsigned char>(1));
  }
  return shape;
}

/// Processor time of all threads until now, seconds.
double processor() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

/// The middle and the worst of twenty times, in milliseconds.
void report(const char* what, const Archive& archive, const LogQuery& query) {
  std::vector<double> times;
  std::size_t found = 0;
  const double before = processor();
  for (int k = 0; k < 20; ++k)
    times.push_back(seconds([&] { found = archive.find(query).size(); }));
  std::sort(times.begin(), times.end());
  std::printf("find %-30s %6zu logs, %6.1f ms, at worst %6.1f ms; of the processor %6.1f ms\n",
              what, found, 1e3 * times[10], 1e3 * times.back(), 1e3 * (processor() - before) / 20);
}

void report_finds(const std::string& path) {
  const double opening = seconds([&] { Archive::open(path, Archive::Access::existing); });
  std::printf("open %.1f ms\n", 1e3 * opening);
  const Archive archive = Archive::open(path, Archive::Access::existing);
  LogQuery query;
  report("all", archive, query);
  query.text = "burl butt";
  report("two words of the note", archive, query);
  query = {};
  query.species = "oak";
  query.min_length = 2000;
  query.max_length = 2200;
  report("oak of 2.0 to 2.2 m", archive, query);
  for (const PieceSize& piece :
       {PieceSize{60, 350, 1500}, PieceSize{25, 100, 900}, PieceSize{50, 500, 2500}}) {
    query = {};
    query.gives = piece;
    char name[64];
    std::snprintf(name, sizeof name, "what gives %.0f x %.0f x %.0f", piece.thickness, piece.width,
                  piece.length);
    report(name, archive, query);
  }
}

}  // namespace

int main(int argc, char** argv) {
  try {
    if (argc < 2) {
      std::cerr << "Usage: archive_report FILE [LOGS [STATIONS ANGLES]]; where FILE is there, only "
                   "finds are timed\n";
      return 2;
    }
    if (std::filesystem::exists(argv[1])) {
      report_finds(argv[1]);
      return 0;
    }
    const std::string path = argv[1];
    const int logs = argc > 2 ? std::atoi(argv[2]) : 10'000;
    const int stations = argc > 4 ? std::atoi(argv[3]) : 24,
              angles = argc > 4 ? std::atoi(argv[4]) : 32;
    std::mt19937 random(1);
    const auto new_log = [&](int number) {
      NewLog log;
      log.card.name = "log " + std::to_string(number);
      log.card.species = number % 3 == 0 ? "oak" : number % 3 == 1 ? "cherry" : "walnut";
      log.card.note = number % 50 == 0 ? "a burl at the butt" : "from the lower yard";
      log.files.push_back(
          {"shape.json", "shape", shape_to_json(random_log(random, stations, angles))});
      return log;
    };
    {
      Archive archive = Archive::open(path, Archive::Access::made);
      for (int i = measured; i < logs; ++i) archive.add(new_log(i), true);
    }
    // The last as the program does it: opened anew for each, and held against all others.
    std::vector<double> times;
    int asked = 0;
    const double before = processor();
    for (int i = 0; i < std::min(measured, logs); ++i) {
      const NewLog log = new_log(i);
      times.push_back(seconds([&] {
        try {
          Archive::open(path, Archive::Access::made).add(log, false);
        } catch (const UserError& error) {
          if (error.fault() != Fault::kept_before) throw;
          ++asked;
        }
      }));
    }
    std::sort(times.begin(), times.end());
    std::printf(
        "add: %.1f ms, at worst %.1f ms, of the processor %.1f ms with the making of the log; %d "
        "of %d by chance like another\n",
        1e3 * times[times.size() / 2], 1e3 * times.back(), 1e3 * (processor() - before) / measured,
        asked, measured);
    report_finds(path);
    const double checking = seconds([&] {
      const auto wrong = Archive::open(path, Archive::Access::existing).check();
      std::printf("check: %zu complaints, ", wrong.size());
    });
    std::printf("%.1f s\nsize: %.1f MB, %.1f kB a log\n", checking,
                1e-6 * static_cast<double>(std::filesystem::file_size(path)),
                1e-3 * static_cast<double>(std::filesystem::file_size(path)) / logs);
  } catch (const std::exception& error) {
    std::cerr << "archive_report: " << error.what() << '\n';
    return 1;
  }
  return 0;
}
