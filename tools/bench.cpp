// Times the main job as the project's aim states it: 300,000 points of a log of 400 mm by 3 m, 17
// product sizes, 360 turns at 1 degree, seven lifts, positions of 1 mm. Beside it the same poses
// planned by brute force: every flitch at every height edged, without any bound. Of those only
// every fifteenth turn is tried, and the time taken fifteen times. Usage: bench SCANS [RUNS
// [DIAMETER LENGTH]], in mm
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <numbers>
#include <vector>

#include "flitch_worths.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/keep_memory.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/sheet/cut_map.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "planner.hpp"
#include "pose_search.hpp"

namespace {

using namespace kerfwright;
using Clock = std::chrono::steady_clock;

struct Times {
  double read = 0, find = 0, fit = 0, live = 0, cants = 0, plan = 0, write = 0, brute = 0;
  double setups = 0;    ///< a second, through and through
  double soon = 0;      ///< net of what all ways give when they are stopped after a second, over
                        ///< that of sawing through and through in every setup
  double soon_all = 0;  ///< the same, over that of all ways
  double soon_took = 0;
};

/// Seconds that a step takes.
template <typename Step>
double timed(const Step& step) {
  const auto start = Clock::now();
  step();
  return std::chrono::duration<double>(Clock::now() - start).count();
}

InventedLog bench_log(double diameter, double length) {
  LogRanges ranges;
  ranges.length = {length, length};
  ranges.diameter = {diameter, diameter};
  return random_log(1, ranges);
}

/// Of sawing through and through in one pose, by brute force.
double brute_worth(const saw::Wood& wood, const saw::Catalogue& catalogue, const saw::Pose& pose) {
  const saw::Profile profile(wood, pose, catalogue.grid);
  saw::FlitchWorths flitches(wood, catalogue, profile, pose.slope, std::nullopt);
  saw::Edger edger(catalogue, wood.border);
  saw::StackTable table;
  table.cut_cost = saw::cut_costs(wood, catalogue, profile);
  flitches.fill(table);
  for (std::size_t k = 0; k < table.worth.size(); ++k) {
    const saw::FlitchClass& flitch = catalogue.classes[k];
    for (int b = profile.first_strip(); b <= profile.last_strip() + 1 - flitch.strips; ++b) {
      table.worth[k][static_cast<std::size_t>(b)] =
          static_cast<float>(edger.best(flitch, flitches.wood_at(flitch, b)));
    }
  }
  return saw::best_stack(table, catalogue.kerf_strips).worth;
}

constexpr int turns_apart = 15;  // of those that brute force is tried on

/// Seconds that brute force would take over all poses of the search.
double brute_seconds(const LogShape& shape, const Order& order, const Mill& mill) {
  const saw::Wood wood = saw::wood_of(shape, 1.0, 0.0);
  const saw::SearchSpace space = saw::space_of(shape, mill, {});
  const saw::HeightGrid grid = saw::grid_of(wood, order, mill, space.slopes.back());
  const saw::Catalogue catalogue = saw::catalogue_of(order, mill, saw::prices_of(order, mill), grid,
                                                     wood.length(), wood.reach());
  std::vector<saw::Pose> poses;
  for (int turn = 0; turn < space.turns; turn += turns_apart) {
    for (const double slope : space.slopes) {
      poses.push_back({turn * std::numbers::pi / space.turns, slope});
    }
  }
  double best = 0.0;
  const double seconds = timed([&] {
#pragma omp parallel for schedule(dynamic, 1) reduction(max : best)
    for (std::size_t i = 0; i < poses.size(); ++i) {
      best = std::max(best, brute_worth(wood, catalogue, poses[i]));
    }
  });
  if (best <= 0.0) std::exit(1);
  return turns_apart * seconds;
}

/// As `plan --time 1` does.
SawPlan plan_in_a_second(const LogShape& shape, const Order& order, const Mill& mill) {
  PlanSettings hurried;
  const auto start = Clock::now();
  hurried.watch.gone = [start] {
    return std::chrono::duration<double>(Clock::now() - start).count();
  };
  hurried.watch.stop = [gone = hurried.watch.gone] { return gone() >= 1.0; };
  return plan_log(shape, order, mill, hurried);
}

double count_setups(const LogShape& shape, const Mill& mill) {
  const saw::SearchSpace space = saw::space_of(shape, mill, {});
  return static_cast<double>(space.turns) * static_cast<double>(space.slopes.size());
}

Times run_once(const std::string& scan_path, const Order& order) {
  Times times;
  Scan scan, log;
  LogShape shape;
  SawPlan plan;
  Mill mill;
  mill.max_diameter = mill.max_cut_width = 1000;  // no log is too heavy or too thick for a clock
  mill.max_log_mass = 5000;
  PlanSettings live;
  live.patterns = {Pattern::live};
  PlanSettings cants;
  cants.patterns = {Pattern::live, Pattern::cant};
  times.read = timed([&] { scan = read_scan(scan_path, {}); });
  times.find = timed([&] { log = find_log(scan, {}); });
  times.fit = timed([&] { shape = fit_shape(log, {}); });
  times.live = timed([&] { plan = plan_log(shape, order, mill, live); });
  times.setups = count_setups(shape, mill) / times.live;
  SawPlan soon;
  times.soon_took = timed([&] { soon = plan_in_a_second(shape, order, mill); });
  times.soon = soon.totals.net / plan.totals.net;
  times.brute = brute_seconds(shape, order, mill);
  times.cants = timed([&] { plan = plan_log(shape, order, mill, cants); });
  times.plan = timed([&] { plan = plan_log(shape, order, mill, {}); });
  times.soon_all = soon.totals.net / plan.totals.net;
  std::size_t bytes = 0;
  times.write = timed([&] { bytes = plan_to_json(plan).size() + cut_map_svg(plan, shape).size(); });
  if (bytes == 0 || !replay(plan, shape).complete) {
    std::fprintf(stderr, "The plan does not replay: no time counts.\n");
    std::exit(1);
  }
  return times;
}

void print(const char* name, const std::vector<Times>& runs, double Times::*part) {
  std::vector<double> seconds;
  for (const Times& times : runs) seconds.push_back(times.*part);
  std::sort(seconds.begin(), seconds.end());
  std::printf("%-44s %8.2f %8.2f %8.2f\n", name, seconds.front(), seconds[seconds.size() / 2],
              seconds.back());
}

int run(int argc, char** argv) {
  const std::string scans = argc > 1 ? argv[1] : "scans";
  const int runs = argc > 2 ? std::max(1, std::atoi(argv[2])) : 3;
  const Order order = read_order(scans + "/straight-larch.order.toml");
  const double diameter = argc > 4 ? std::atof(argv[3]) : 400.0;
  const double length = argc > 4 ? std::atof(argv[4]) : 3000.0;
  PhoneSettings phone;
  phone.points = 300000;
  const std::string path = std::filesystem::temp_directory_path() / "kerfwright-bench.ply";
  write_file(path, to_ply(scan_like_a_phone(bench_log(diameter, length), phone), false));
  std::vector<Times> all;
  for (int i = 0; i < runs; ++i) all.push_back(run_once(path, order));
  std::filesystem::remove(path);
  std::printf("%-44s %8s %8s %8s\n", "seconds", "least", "median", "most");
  print("read 300,000 points", all, &Times::read);
  print("find the log", all, &Times::find);
  print("fit the shape", all, &Times::fit);
  print("plan, through and through only", all, &Times::live);
  print("plan, cants too", all, &Times::cants);
  print("plan, all patterns", all, &Times::plan);
  print("write plan and drawing", all, &Times::write);
  print("brute force, through and through only", all, &Times::brute);
  print("setups a second, through and through", all, &Times::setups);
  print("all patterns, stopped after 1 s: took", all, &Times::soon_took);
  print("net of that, over through and through", all, &Times::soon);
  print("net of that, over all patterns", all, &Times::soon_all);
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  std::printf("peak memory of all, scan maker included: %ld MB\n", usage.ru_maxrss / 1024);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  keep_memory();
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "bench: %s\n", error.what());
    return 1;
  }
}
