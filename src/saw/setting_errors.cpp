#include "setting_errors.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/section.hpp"

namespace kerfwright::saw {
namespace {

constexpr double least_told = 0.005;  // difference of two means, as a share
constexpr int waves = 24;
constexpr double wave_along = 300.0;  // mm, scale on which errors of the surface change
constexpr double wave_round = 1.6;    // waves to a turn, one standard deviation

/// The finaliser of splitmix64 (Steele, Lea and Flood, Fast splittable pseudorandom number
/// generators, 2014; from memory).
std::uint64_t mixed(std::uint64_t x) {
  x += 0x9e3779b97f4a7c15ULL;
  x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9ULL;
  x = (x ^ (x >> 27)) * 0x94d049bb133111ebULL;
  return x ^ (x >> 31);
}

double unit(std::uint64_t bits) { return static_cast<double>(bits >> 11) * 0x1.0p-53; }

/// One wave over the surface: cos(along x + round theta + phase).
struct Wave {
  double along, phase;
  int round;
};

std::vector<Wave> waves_of(const Luck& luck) {
  std::vector<Wave> made;
  for (int i = 0; i < waves; ++i) {
    made.push_back(
        {luck.normal(Slip::surface, 3 * i) / wave_along,
         2.0 * std::numbers::pi * luck.uniform(Slip::surface, 3 * i + 1),
         static_cast<int>(std::lround(wave_round * luck.normal(Slip::surface, 3 * i + 2)))});
  }
  return made;
}

/// The waves' sum, station by station: those that go round as often are added up first.
class Field {
 public:
  /// @param cosine, sine [angle]
  Field(const Luck& luck, const std::vector<double>& cosine, const std::vector<double>& sine)
      : waves_(waves_of(luck)), angles_(cosine.size()) {
    int most = 0;
    for (const Wave& wave : waves_) most = std::max(most, std::abs(wave.round));
    along_.resize(static_cast<std::size_t>(most) + 1);
    for (std::size_t round = 0; round < along_.size(); ++round) {
      for (std::size_t j = 0; j < angles_; ++j) {
        cosine_.push_back(cosine[round * j % angles_]);
        sine_.push_back(sine[round * j % angles_]);
      }
    }
  }

  /// [angle] at x mm.
  void at(double x, std::vector<double>& field) {
    std::fill(along_.begin(), along_.end(), Sum{});
    const double height = std::sqrt(2.0 / waves);
    for (const Wave& wave : waves_) {
      const double phase = wave.along * x + wave.phase;
      Sum& sum = along_[static_cast<std::size_t>(std::abs(wave.round))];
      sum.cosine += height * std::cos(phase);
      sum.sine += (wave.round < 0 ? -height : height) * std::sin(phase);
    }
    field.assign(angles_, 0.0);
    for (std::size_t round = 0; round < along_.size(); ++round) {
      const double* cosine = cosine_.data() + round * angles_;
      const double* sine = sine_.data() + round * angles_;
      const Sum sum = along_[round];
      for (std::size_t j = 0; j < angles_; ++j) {
        field[j] += sum.cosine * cosine[j] - sum.sine * sine[j];
      }
    }
  }

 private:
  struct Sum {
    double cosine = 0, sine = 0;
  };
  std::vector<Wave> waves_;
  std::size_t angles_;
  std::vector<double> cosine_, sine_;  ///< [round * angles + angle]
  std::vector<Sum> along_;             ///< [round]
};

}  // namespace

SettingErrors errors_of(const Mill& mill) {
  return {mill.turn_error * std::numbers::pi / 180.0, mill.lift_error, mill.blade_error, true};
}

std::uint64_t Luck::bits(Slip slip, int index, int half) const {
  std::uint64_t x = mixed(stream_);
  x = mixed(x ^ static_cast<std::uint64_t>(draw_));
  x = mixed(x ^ (static_cast<std::uint64_t>(slip) << 40 | static_cast<std::uint64_t>(index) << 1 |
                 static_cast<std::uint64_t>(half)));
  return x;
}

double Luck::uniform(Slip slip, int index) const { return unit(bits(slip, index, 0)); }

double Luck::normal(Slip slip, int index) const {
  // Box and Muller, Annals of Mathematical Statistics 29, 1958.
  const double radius = std::sqrt(-2.0 * std::log(1.0 - unit(bits(slip, index, 0))));
  return radius * std::cos(2.0 * std::numbers::pi * unit(bits(slip, index, 1)));
}

DrawnWood drawn_wood(const LogShape& shape, const Luck& luck, const SettingErrors& errors) {
  DrawnWood wood;
  const auto angles = static_cast<std::size_t>(shape.angles);
  std::vector<double> cosine, sine, field(angles, 0.0);
  for (std::size_t j = 0; j < angles; ++j) {
    const double angle = 2.0 * std::numbers::pi * static_cast<double>(j) / shape.angles;
    cosine.push_back(std::cos(angle));
    sine.push_back(std::sin(angle));
  }
  Field waved(luck, cosine, sine);
  wood.y.reserve(shape.stations.size() * angles);
  wood.z.reserve(shape.stations.size() * angles);
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    if (errors.surface) waved.at(shape.stations[i], field);
    const double bark = bark_at(shape, i);
    for (std::size_t j = 0; j < angles; ++j) {
      const double radius = std::max(0.0, static_cast<double>(shape.radius[i][j]) - bark +
                                              static_cast<double>(shape.sigma[i][j]) * field[j]);
      wood.y.push_back(static_cast<float>(shape.axis[i].x() + radius * cosine[j]));
      wood.z.push_back(static_cast<float>(shape.axis[i].y() + radius * sine[j]));
    }
  }
  return wood;
}

double quantile(std::vector<double> draws, double share) {
  if (draws.empty()) return 0.0;
  std::sort(draws.begin(), draws.end());
  const double at = share * static_cast<double>(draws.size() - 1);
  const auto low = static_cast<std::size_t>(at);
  const std::size_t high = std::min(low + 1, draws.size() - 1);
  return draws[low] + (at - std::floor(at)) * (draws[high] - draws[low]);
}

double mean(const std::vector<double>& draws) {
  double sum = 0.0;
  for (const double value : draws) sum += value;
  return draws.empty() ? 0.0 : sum / static_cast<double>(draws.size());
}

bool better_in_the_mean(const Prospect& a, const Prospect& b) {
  const auto count = static_cast<double>(a.draws.size());
  const double mean_a = mean(a.draws);
  const double mean_b = mean(b.draws);
  const double gain = mean_a - mean_b;
  double squares = 0.0;
  for (std::size_t d = 0; d < a.draws.size(); ++d) {
    const double off = a.draws[d] - b.draws[d] - gain;
    squares += off * off;
  }
  const double luck = std::max(least_told * std::max(std::abs(mean_a), std::abs(mean_b)),
                               2.0 * std::sqrt(squares / std::max(1.0, count - 1.0) / count));
  if (std::abs(gain) > luck) return gain > 0.0;
  return a.net > b.net + 1e-9;
}

}  // namespace kerfwright::saw
