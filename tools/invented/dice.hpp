#pragma once

#include <cstdint>
#include <random>

namespace kerfwright {

/// Random numbers that are the same with every standard library: the generator's sequence is laid
/// down by the C++ standard, the distributions of <random> are not, so these are our own.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : engine_(seed) {}

  /// 0 <= value < 1, a multiple of 2^-53.
  double uniform() { return static_cast<double>(engine_() >> 11) * 0x1.0p-53; }
  double uniform(double low, double high) { return low + (high - low) * uniform(); }

  /// 0 <= value < n.
  int below(int n) { return static_cast<int>(uniform() * n); }

  /// Standard normal (Box and Muller, Annals of Mathematical Statistics 29, 1958); the second of
  /// each pair is kept for the next call.
  double normal();

 private:
  std::mt19937_64 engine_;
  double spare_ = 0;
  bool has_spare_ = false;
};

}  // namespace kerfwright
