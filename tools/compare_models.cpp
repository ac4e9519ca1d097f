// What a log model is worth: random invented logs, scanned as a phone would, and side by side what
// a person would do instead. Volumes against the known solid; plans made on each model, judged in
// it.

#include <CLI/CLI.hpp>
#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <functional>

#include "invented/against_truth.hpp"
#include "invented/dice.hpp"
#include "invented/judge.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "invented/truth.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/bumps.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/mark_geometry.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/order.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "simple_models.hpp"

namespace {

using namespace kerfwright;

struct Settings {
  int logs = 20, first = 1;
  bool plans = true;
};

constexpr std::array<const char*, 5> names = {"ends and tape, Smalian", "straight cylinder, RANSAC",
                                              "frustum of a cone", "circle by slice", "the model"};

/// What one model makes of one log.
struct Result {
  double volume = 0;              ///< error, %
  double claimed = 0, there = 0;  ///< value, as shares of what the plan from the true solid gives
};

using Results = std::array<Result, names.size()>;

struct BumpCount {
  int stubs = 0, hit = 0, proposed = 0, wrong = 0;  ///< wrong: neither stub nor burl is there
  int burls = 0, burls_hit = 0;
  std::vector<double> size_errors;  ///< mm of diameter, of the stubs that were found
};

PhoneSettings phone_for(int seed) {
  Dice dice(static_cast<std::uint64_t>(seed) + 4242);
  PhoneSettings phone;
  phone.seed = static_cast<std::uint64_t>(seed);
  phone.noise = dice.uniform(2.0, 8.0);
  phone.hidden = dice.uniform(0.0, 0.36);
  phone.points = static_cast<int>(dice.uniform(40e3, 250e3));
  return phone;
}

SawPlan plan_on(const LogShape& shape) {
  PlanSettings settings;
  settings.turn_step = 15.0;
  settings.lifts = 3;
  settings.patterns = {Pattern::live};  // the same for all, and quick
  return plan_log(shape, parse_order(mixed_order, "order"), Mill{}, settings);
}

/// Value of the plan that comes from a shape: what it claims, and what is wholly wood to 1 mm.
std::pair<double, double> value_of(const LogShape& shape, const InventedLog& log,
                                   const Eigen::Matrix4d& scan_to_log) {
  try {
    const JudgedPlan judged = judge(plan_on(shape), log, scan_to_log, 1.0);
    return {judged.value_claimed, judged.value_there};
  } catch (const UserError&) {
    return {0.0, 0.0};  // no product fits
  }
}

double smalian_m3(const LogShape& taped) {
  const auto area = [](const std::vector<float>& radii) {
    return circle_area(2e-3 * static_cast<double>(radii.front()));
  };
  return smalian_volume(area(taped.radius.back()), area(taped.radius.front()),
                        1e-3 * taped.length());
}

/// Distance of a bump from a place of the true log, mm, and whether the fit saw that place.
Eigen::Vector3d in_truth(const LogShape& shape, const Bump& bump,
                         const Eigen::Matrix4d& shape_to_truth) {
  const Eigen::Vector2d yz = axis_at(shape, bump.x) + clock_direction(bump.clock);
  const Eigen::Vector3d near(bump.x, yz.x(), yz.y());
  const double radius = 1.0 + depth_inside(shape, near, Bark::on);
  const Eigen::Vector2d out = axis_at(shape, bump.x) + radius * clock_direction(bump.clock);
  return (shape_to_truth * Eigen::Vector4d(bump.x, out.x(), out.y(), 1.0)).head<3>();
}

bool seen_at(const LogShape& shape, const Eigen::Vector3d& place) {
  const auto& x = shape.stations;
  const auto i = static_cast<std::size_t>(
      std::min<std::ptrdiff_t>(std::lower_bound(x.begin(), x.end(), place.x()) - x.begin(),
                               static_cast<std::ptrdiff_t>(x.size()) - 1));
  const Eigen::Vector2d arm = place.tail<2>() - axis_at(shape, place.x());
  const double turns = std::atan2(arm.y(), arm.x()) / 6.283185307179586;
  const int j = static_cast<int>(std::lround((turns + 1.0) * shape.angles)) % shape.angles;
  return shape.seen[i][static_cast<std::size_t>(j)] != 0;
}

void count_bumps(const LogShape& shape, const std::vector<Eigen::Vector3f>& points,
                 const InventedLog& log, const Eigen::Matrix4d& shape_to_truth, BumpCount& count) {
  const auto bumps = find_bumps(shape, points);
  std::vector<Eigen::Vector3d> places;
  for (const Bump& bump : bumps) places.push_back(in_truth(shape, bump, shape_to_truth));
  const Eigen::Matrix4d back = shape_to_truth.inverse();
  const auto visible = [&](double x, double theta) {
    const Eigen::Vector4d p = back * log.surface(x, theta).homogeneous();
    return seen_at(shape, p.head<3>());
  };
  const auto near = [&](const Eigen::Vector3d& place, double reach) {
    return std::any_of(places.begin(), places.end(),
                       [&](const Eigen::Vector3d& p) { return (p - place).norm() < reach; });
  };
  for (const Stub& stub : log.stubs) {
    if (!visible(stub.x, stub.theta)) continue;
    ++count.stubs;
    const auto found = std::find_if(bumps.begin(), bumps.end(), [&](const Bump& bump) {
      const auto i = static_cast<std::size_t>(&bump - bumps.data());
      return (places[i] - log.surface(stub.x, stub.theta)).norm() < 50.0;
    });
    if (found == bumps.end()) continue;
    ++count.hit;
    count.size_errors.push_back(std::abs(found->diameter - 2.0 * stub.radius));
  }
  for (const Burl& burl : log.burls) {
    if (!visible(burl.x, burl.theta)) continue;
    ++count.burls;
    if (near(log.surface(burl.x, burl.theta), burl.reach_along)) ++count.burls_hit;
  }
  for (std::size_t i = 0; i < bumps.size(); ++i) {
    if (bumps[i].is_burl) continue;
    ++count.proposed;
    const auto at = [&](double x, double theta, double reach) {
      return (places[i] - log.surface(x, theta)).norm() < reach;
    };
    const bool stub = std::any_of(log.stubs.begin(), log.stubs.end(),
                                  [&](const Stub& s) { return at(s.x, s.theta, 50.0); });
    const bool burl = std::any_of(log.burls.begin(), log.burls.end(), [&](const Burl& b) {
      return at(b.x, b.theta, 2.0 * b.reach_along);
    });
    if (!stub && !burl) ++count.wrong;
  }
}

Results compare(const Settings& settings, int seed, BumpCount& bumps) {
  const InventedLog log = random_log(static_cast<std::uint64_t>(seed));
  const PhoneScan phone = scan_like_a_phone(log, phone_for(seed));
  const LogShape truth = true_shape(log, phone.scan_to_log);
  const Scan scan = as_read(phone);
  const LogInScan in_scan = look_for_log(scan, {});
  const Scan& found = in_scan.log;
  const LogShape taped = taped_frustum(truth);
  std::array<LogShape, names.size()> shapes = {taped, ransac_cylinder(found), fitted_frustum(found),
                                               circles_by_slice(found), fit_shape(found, {})};
  const double exact = volume_m3(log, false);
  const double best = settings.plans ? value_of(truth, log, phone.scan_to_log).second : 0.0;
  Results results;
  for (std::size_t k = 0; k < names.size(); ++k) {
    put_bark(shapes[k], {log.bark, 0, 0});
    const double volume = k == 0 ? smalian_m3(taped) : solid_volume_m3(shapes[k], Bark::on);
    results[k].volume = 100.0 * (volume / exact - 1.0);
    if (best <= 0.0) continue;
    const auto [claimed, there] = value_of(shapes[k], log, phone.scan_to_log);
    results[k].claimed = claimed / best;
    results[k].there = there / best;
  }
  count_bumps(shapes.back(), bark_points(scan, in_scan.labels, shapes.back()), log,
              phone.scan_to_log * shapes.back().scan_to_log.inverse(), bumps);
  return results;
}

void print_table(const std::vector<Results>& all) {
  std::printf("%-28s | volume, %%: median, worst, mean | plan: claimed, there, worst\n", "");
  for (std::size_t k = 0; k < names.size(); ++k) {
    std::vector<double> sizes;
    double mean = 0, claimed = 0, there = 0, worst = 1e9;
    for (const Results& results : all) {
      const auto n = static_cast<double>(all.size());
      sizes.push_back(std::abs(results[k].volume));
      mean += results[k].volume / n;
      claimed += results[k].claimed / n;
      there += results[k].there / n;
      worst = std::min(worst, results[k].there);
    }
    std::sort(sizes.begin(), sizes.end());
    std::printf("%-28s | %10.2f %10.2f %+10.2f | %10.3f %8.3f %8.3f\n", names[k],
                sizes[sizes.size() / 2], sizes.back(), mean, claimed, there, worst);
  }
}

}  // namespace

int main(int argc, char** argv) {
  Settings settings;
  bool no_plans = false;
  CLI::App app("Compare the log model with what a person would do instead, on invented logs.");
  app.add_option("--logs", settings.logs, "how many")->check(CLI::Range(1, 10000));
  app.add_option("--first", settings.first, "seed of the first");
  app.add_flag("--no-plans", no_plans, "volumes and bumps only");
  CLI11_PARSE(app, argc, argv);
  settings.plans = !no_plans;
  std::vector<Results> all;
  BumpCount bumps;
  for (int i = 0; i < settings.logs; ++i) {
    all.push_back(compare(settings, settings.first + i, bumps));
    std::printf("%4d", settings.first + i);
    for (const Result& r : all.back()) std::printf(" | %+6.1f %% %5.3f", r.volume, r.there);
    std::printf("\n");
    std::fflush(stdout);
  }
  print_table(all);
  std::sort(bumps.size_errors.begin(), bumps.size_errors.end());
  if (!bumps.size_errors.empty()) {
    std::printf("diameter of the stubs found: median error %.0f mm\n",
                bumps.size_errors[bumps.size_errors.size() / 2]);
  }
  std::printf(
      "bumps: %d of %d seen stubs found; %d knots proposed, %d of them where neither stub "
      "nor burl is; %d of %d seen burls found\n",
      bumps.hit, bumps.stubs, bumps.proposed, bumps.wrong, bumps.burls_hit, bumps.burls);
  return 0;
}
