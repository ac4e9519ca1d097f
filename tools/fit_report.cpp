// How good the fit is: random logs, scans of them as a phone sees them, the fitted shape against the truth.

#include <CLI/CLI.hpp>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <vector>

#include "invented/dice.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"

namespace {

using namespace kerfwright;

struct Errors {
  std::vector<double> value, sigma;

  double bias() const {
    double sum = 0;
    for (const double v : value) sum += v;
    return value.empty() ? 0 : sum / static_cast<double>(value.size());
  }
  double rmse() const {
    double sum = 0;
    for (const double v : value) sum += v * v;
    return value.empty() ? 0 : std::sqrt(sum / static_cast<double>(value.size()));
  }
  double within_two_sigma() const {
    std::size_t count = 0;
    for (std::size_t i = 0; i < value.size(); ++i) count += std::abs(value[i]) <= 2.0 * sigma[i];
    return value.empty() ? 1.0 : static_cast<double>(count) / static_cast<double>(value.size());
  }
  double mean_sigma() const {
    double sum = 0;
    for (const double s : sigma) sum += s;
    return sigma.empty() ? 0 : sum / static_cast<double>(sigma.size());
  }
  void add(double v, double s) {
    value.push_back(v);
    sigma.push_back(s);
  }
  void add(const Errors& other) {
    value.insert(value.end(), other.value.begin(), other.value.end());
    sigma.insert(sigma.end(), other.sigma.begin(), other.sigma.end());
  }
};

struct Result {
  Errors seen, plain, featured;  ///< inferred: plain wood, and under burls, stubs and flutes
  double volume = 0, slab = 0, length = 0, sweep = 0, seconds = 0;
};

/// How far the true bark lies from `from` along `ray`, in the invented log's own frame.
double true_reach(const InventedLog& log, const Eigen::Vector3d& from, const Eigen::Vector3d& ray,
                  double guess) {
  const auto depth = [&](double t) {
    const Eigen::Vector3d p = from + t * ray;
    const Eigen::Vector2d arm = p.tail<2>() - log.axis(p.x());
    return log.radius(p.x(), std::atan2(arm.y(), arm.x())) - arm.norm();
  };
  double low = 0, high = guess;
  while (depth(high) > 0) high *= 1.2;
  for (int i = 0; i < 60; ++i) (depth(0.5 * (low + high)) > 0 ? low : high) = 0.5 * (low + high);
  return low;
}

InventedLog without_features(InventedLog log) {
  log.burls.clear();
  log.stubs.clear();
  log.flutes = 0;
  return log;
}

Scan clean_scan(const PhoneScan& phone) {
  Scan scan;
  for (const auto& point : phone.points) {
    if (point.label == Label::bark || point.label == Label::end_face) {
      scan.points.push_back(1000.0F * point.position);
    }
  }
  scan.file_to_scan.topLeftCorner<3, 3>() *= 1000.0;
  scan.up = Eigen::Vector3d::UnitZ();
  scan.source.points = scan.points.size();
  return scan;
}

void compare(const LogShape& shape, const InventedLog& truth, const Eigen::Matrix4d& to_truth, Result& result) {
  const InventedLog plain = without_features(truth);
  LogShape exact = shape;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    const Eigen::Vector4d centre(shape.stations[i], shape.axis[i].x(), shape.axis[i].y(), 1.0);
    const Eigen::Vector3d from = (to_truth * centre).head<3>();
    for (int j = 0; j < shape.angles; ++j) {
      const auto k = static_cast<std::size_t>(j);
      const double angle = 2.0 * std::numbers::pi * j / shape.angles;
      const Eigen::Vector3d ray = to_truth.topLeftCorner<3, 3>() * Eigen::Vector3d(0, std::cos(angle), std::sin(angle));
      const double radius = static_cast<double>(shape.radius[i][k]);
      const double reach = true_reach(truth, from, ray, radius);
      exact.radius[i][k] = static_cast<float>(reach);
      const double feature = std::abs(reach - true_reach(plain, from, ray, radius));
      Errors& errors = shape.seen[i][k] ? result.seen : (feature > 5.0 ? result.featured : result.plain);
      errors.add(radius - reach, static_cast<double>(shape.sigma[i][k]));
    }
  }
  result.slab = solid_volume_m3(shape, 0.0) / solid_volume_m3(exact, 0.0) - 1.0;
}

double true_sweep(const InventedLog& log) {
  double most = 0;
  for (double x = 0; x < log.length; x += 1.0) most = std::max(most, log.axis(x).norm());
  return most;
}

Result judge_fit(const InventedLog& log, const PhoneSettings& settings) {
  const PhoneScan phone = scan_like_a_phone(log, settings);
  const Scan scan = clean_scan(phone);
  Result result;
  const auto start = std::chrono::steady_clock::now();
  const LogShape shape = fit_shape(scan, {});
  result.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  compare(shape, log, phone.scan_to_log * shape.scan_to_log.inverse(), result);
  const LogMeasures measures = measure(shape);
  result.volume = measures.volume_over_bark / volume_m3(log, false) - 1.0;
  result.length = measures.length - log.length;
  result.sweep = measures.sweep - true_sweep(log);
  return result;
}

void print_row(const char* name, const Result& r) {
  std::printf("%-12s %5.2f %+5.2f %4.2f %5.1f | %5.2f %+5.2f %5.2f %5.1f | %6.2f %5.1f | %+6.2f %+6.2f %+6.1f %+6.2f %5.2f\n", name,
              r.seen.rmse(), r.seen.bias(), r.seen.mean_sigma(), 100 * r.seen.within_two_sigma(), r.plain.rmse(), r.plain.bias(), r.plain.mean_sigma(), 
              100 * r.plain.within_two_sigma(), r.featured.rmse(), 100 * r.featured.within_two_sigma(),
              100 * r.volume, 100 * r.slab, r.length, r.sweep, r.seconds);
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"Fits scans of random logs and compares with the truth"};
  int logs = 10, first = 1, points = 250000;
  double noise = 4, hidden = 0.33;
  bool range = false;
  app.add_option("--logs", logs, "how many");
  app.add_option("--first", first, "seed of the first");
  app.add_option("--points", points, "points on the log");
  app.add_option("--noise", noise, "mm");
  app.add_option("--hidden", hidden, "share of the girth");
  app.add_flag("--range", range, "draw noise (2 to 8 mm), points (40 to 400 thousand) and what is hidden");
  CLI11_PARSE(app, argc, argv);
  std::printf("%-12s %5s %5s %4s %5s | %5s %5s %5s %5s | %6s %5s | %6s %6s %6s %6s %5s\n", "log", "seen", "bias", "sig", "cov%", "infer",
              "bias", "sig", "cov%", "feat", "cov%", "vol%", "slab%", "len", "sweep", "s");
  Result all;
  std::vector<Result> results;
  for (int seed = first; seed < first + logs; ++seed) {
    const auto s = static_cast<std::uint64_t>(seed);
    const InventedLog log = random_log(s);
    PhoneSettings settings;
    settings.seed = s;
    Dice dice(s + 777);
    settings.noise = range ? dice.uniform(2, 8) : noise;
    settings.hidden = range ? dice.uniform(0, 0.36) : hidden;
    const double wanted = range ? dice.uniform(40000, 400000) : points;
    settings.ground = settings.bunks = settings.second_log = settings.clutter = false;
    settings.stray_share = 0;
    settings.points = static_cast<int>(wanted);
    const Result r = judge_fit(log, settings);
    print_row(log.name.c_str(), r);
    all.seen.add(r.seen);
    all.plain.add(r.plain);
    all.featured.add(r.featured);
    results.push_back(r);
  }
  all.volume = all.slab = all.length = all.sweep = 0;
  for (const auto& r : results) {
    all.volume = std::max(all.volume, std::abs(r.volume));
    all.slab = std::max(all.slab, std::abs(r.slab));
    all.length = std::max(all.length, std::abs(r.length));
    all.sweep = std::max(all.sweep, std::abs(r.sweep));
    all.seconds += r.seconds / logs;
  }
  print_row("all, worst", all);
}
