// How good the fit is: random logs, scans of them as a phone sees them, and the fitted shape
// against the truth, with medians and the worst. Nothing here is asserted; the table is for
// DEVELOPERS.md.

#include <CLI/CLI.hpp>
#include <Eigen/LU>
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <vector>

#include "invented/dice.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"

namespace {

using namespace kerfwright;

struct ReportSettings {
  int logs = 40, first = 1, points = 250000;
  double noise = 4.0;         ///< mm
  double hidden = 1.0 / 3.0;  ///< share of the girth
  bool draw = false;          ///< draw points, noise and what is hidden for each log
  bool whole = false;         ///< among ground, rests and clutter, through find_log
};

/// Errors of radii, mm, with the sigma that the fit gave for each.
struct Errors {
  double count = 0, sum = 0, squares = 0, within = 0, sigma = 0;

  void add(double error, double its_sigma) {
    count += 1.0;
    sum += error;
    squares += error * error;
    within += std::abs(error) <= 2.0 * its_sigma ? 1.0 : 0.0;
    sigma += its_sigma;
  }
  void add(const Errors& other) {
    count += other.count;
    sum += other.sum;
    squares += other.squares;
    within += other.within;
    sigma += other.sigma;
  }
  double bias() const { return count > 0 ? sum / count : 0.0; }
  double rmse() const { return count > 0 ? std::sqrt(squares / count) : 0.0; }
  double within_percent() const { return count > 0 ? 100.0 * within / count : 100.0; }
  double mean_sigma() const { return count > 0 ? sigma / count : 0.0; }
};

struct Result {
  Errors seen, inferred, featured;  ///< featured: inferred where a burl, stub or flute is hidden
  double volume = 0, length = 0, sweep = 0, seconds = 0;  ///< percent, mm, mm
};

/// How far the true bark lies from `from` along `ray`, both in the invented log's frame.
double true_reach(const InventedLog& log, const Eigen::Vector3d& from, const Eigen::Vector3d& ray,
                  double guess) {
  const auto inside = [&](double t) {
    const Eigen::Vector3d p = from + t * ray;
    const Eigen::Vector2d arm = p.tail<2>() - log.axis(p.x());
    return log.radius(p.x(), std::atan2(arm.y(), arm.x())) > arm.norm();
  };
  double low = 0, high = guess;
  while (inside(high)) high *= 1.2;
  for (int i = 0; i < 40; ++i) {
    const double middle = 0.5 * (low + high);
    (inside(middle) ? low : high) = middle;
  }
  return low;
}

InventedLog without_features(InventedLog log) {
  log.burls.clear();
  log.stubs.clear();
  log.flutes = 0;
  return log;
}

void compare_radii(const LogShape& shape, const InventedLog& truth, const Eigen::Matrix4d& to_truth,
                   Result& result) {
  const InventedLog plain = without_features(truth);
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const Eigen::Vector4d centre(shape.stations[i], shape.axis[i].x(), shape.axis[i].y(), 1.0);
    const Eigen::Vector3d from = (to_truth * centre).head<3>();
    for (std::size_t j = 0; j < shape.radius[i].size(); ++j) {
      const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / shape.angles;
      const Eigen::Vector3d ray =
          to_truth.topLeftCorner<3, 3>() * Eigen::Vector3d(0, std::cos(angle), std::sin(angle));
      const double radius = static_cast<double>(shape.radius[i][j]);
      const double reach = true_reach(truth, from, ray, radius);
      Errors* errors = &result.seen;
      if (shape.seen[i][j] == 0) {
        const bool featured = std::abs(reach - true_reach(plain, from, ray, radius)) > 5.0;
        errors = featured ? &result.featured : &result.inferred;
      }
      errors->add(radius - reach, static_cast<double>(shape.sigma[i][j]));
    }
  }
}

double true_sweep(const InventedLog& log) {
  double most = 0;
  for (double x = 0; x < log.length; x += 1.0) most = std::max(most, log.axis(x).norm());
  return most;
}

/// The scan in mm, as it would be read; the log's own points only, unless the whole yard is asked
/// for.
Scan scan_of(const PhoneScan& phone, bool whole) {
  Scan scan;
  for (const auto& point : phone.points) {
    const bool own = point.label == Label::bark || point.label == Label::end_face;
    if (whole || own) scan.points.push_back(1000.0F * point.position);
  }
  scan.file_to_scan.topLeftCorner<3, 3>() *= 1000.0;
  if (!whole) scan.up = Eigen::Vector3d::UnitZ();
  scan.source.points = scan.points.size();
  return scan;
}

PhoneSettings phone_for(const ReportSettings& report, int seed) {
  PhoneSettings phone;
  Dice dice(static_cast<std::uint64_t>(seed) + 777);
  phone.seed = static_cast<std::uint64_t>(seed);
  phone.noise = report.draw ? dice.uniform(2.0, 8.0) : report.noise;
  phone.hidden = report.draw ? dice.uniform(0.0, 0.36) : report.hidden;
  phone.points = report.draw ? static_cast<int>(dice.uniform(40e3, 400e3)) : report.points;
  if (!report.whole) {
    phone.ground = phone.bunks = phone.second_log = phone.clutter = false;
    phone.stray_share = 0;
  }
  return phone;
}

Result judge_fit(const ReportSettings& report, int seed) {
  const InventedLog log = random_log(static_cast<std::uint64_t>(seed));
  const PhoneScan phone = scan_like_a_phone(log, phone_for(report, seed));
  const Scan scan = scan_of(phone, report.whole);
  Result result;
  const auto start = std::chrono::steady_clock::now();
  const LogShape shape = fit_shape(report.whole ? find_log(scan, {}) : scan, {});
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
  result.seconds = took.count();
  compare_radii(shape, log, phone.scan_to_log * shape.scan_to_log.inverse(), result);
  const LogMeasures measures = measure(shape);
  result.volume = 100.0 * (measures.volume_over_bark / volume_m3(log, false) - 1.0);
  result.length = measures.length - log.length;
  result.sweep = measures.sweep - true_sweep(log);
  return result;
}

void print_errors(const Errors& e) {
  std::printf(" | %5.2f %+6.2f %5.2f %5.1f", e.rmse(), e.bias(), e.mean_sigma(),
              e.within_percent());
}

void print_row(const std::string& name, const Result& r) {
  std::printf("%-10s", name.c_str());
  print_errors(r.seen);
  print_errors(r.inferred);
  print_errors(r.featured);
  std::printf(" | %+6.2f %+6.1f %+6.1f %5.2f\n", r.volume, r.length, r.sweep, r.seconds);
}

/// One figure of all logs: the median and the worst of its sizes.
void print_spread(const char* name, const std::vector<Result>& results,
                  double (*figure)(const Result&)) {
  std::vector<double> sizes;
  for (const Result& r : results) sizes.push_back(std::abs(figure(r)));
  std::sort(sizes.begin(), sizes.end());
  std::printf("%-44s median %6.2f   nine in ten below %6.2f   worst %6.2f\n", name,
              sizes[sizes.size() / 2], sizes[sizes.size() * 9 / 10], sizes.back());
}

void print_summary(const std::vector<Result>& results) {
  Result all;
  for (const Result& r : results) {
    all.seen.add(r.seen);
    all.inferred.add(r.inferred);
    all.featured.add(r.featured);
  }
  print_row("pooled", all);
  print_spread("seen, RMSE, mm", results, [](const Result& r) { return r.seen.rmse(); });
  print_spread("seen, bias, mm", results, [](const Result& r) { return r.seen.bias(); });
  print_spread("inferred, RMSE, mm", results, [](const Result& r) { return r.inferred.rmse(); });
  print_spread("inferred, bias, mm", results, [](const Result& r) { return r.inferred.bias(); });
  print_spread("hidden burls, stubs, flutes, RMSE, mm", results,
               [](const Result& r) { return r.featured.rmse(); });
  print_spread("volume, percent", results, [](const Result& r) { return r.volume; });
  print_spread("length, mm", results, [](const Result& r) { return r.length; });
  print_spread("sweep, mm", results, [](const Result& r) { return r.sweep; });
  print_spread("seconds", results, [](const Result& r) { return r.seconds; });
}

}  // namespace

int main(int argc, char** argv) {
  ReportSettings report;
  CLI::App app{"Fits scans of random logs and compares them with the truth"};
  app.add_option("--logs", report.logs, "how many")->check(CLI::Range(1, 10000));
  app.add_option("--first", report.first, "seed of the first log");
  app.add_option("--points", report.points, "in the scan");
  app.add_option("--noise", report.noise, "mm");
  app.add_option("--hidden", report.hidden, "share of the girth that is not seen, 0 to 0.4");
  app.add_flag("--draw", report.draw,
               "draw noise (2 to 8), points (40 to 400 thousand) and what is hidden");
  app.add_flag("--whole", report.whole,
               "with ground, rests, clutter and a second log, through find_log");
  CLI11_PARSE(app, argc, argv);
  std::printf(
      "           |  seen: rmse, bias, sigma, %% in 2s  |  inferred: the same      |  hidden "
      "features: "
      "the same | vol %% length sweep s\n");
  std::vector<Result> results;
  int lost = 0;
  for (int seed = report.first; seed < report.first + report.logs; ++seed) {
    try {
      results.push_back(judge_fit(report, seed));
      print_row("log " + std::to_string(seed), results.back());
    } catch (const UserError& error) {
      std::printf("log %-6d %s\n", seed, error.what());
      ++lost;
    }
  }
  std::printf("%zu of %d logs found\n", results.size(), report.logs);
  if (!results.empty()) print_summary(results);
  return lost == 0 ? 0 : 1;
}
