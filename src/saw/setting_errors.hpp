#pragma once

#include <cstdint>
#include <vector>

#include "kerfwright/shape/log_shape.hpp"
#include "kerfwright/trade/mill.hpp"

namespace kerfwright::saw {

/// How far off a person sets and a mill saws, one standard deviation each.
struct SettingErrors {
  double turn = 0;      ///< radians, of the log on its bark
  double lift = 0;      ///< mm, of each end on its own
  double blade = 0;     ///< mm, of a cut as a whole, and again of its ends against its middle
  bool surface = true;  ///< whether the surface is off by its own sigma too
};

SettingErrors errors_of(const Mill& mill);

/// Which of the things that go wrong in one sawing of a plan.
enum class Slip : std::uint64_t { turn, lift_butt, lift_top, between, within, surface };

/// Standard normal numbers that belong to places, not to an order of asking: every thread gets the
/// same, and two plans that are sawn in the same draw meet the same luck.
class Luck {
 public:
  /// @param stream keeps apart what must not share its luck
  Luck(std::uint64_t stream, int draw) : stream_(stream), draw_(draw) {}

  /// @param index of the setup, cut or wave
  double normal(Slip slip, int index) const;
  /// 0 <= value < 1
  double uniform(Slip slip, int index) const;

 private:
  std::uint64_t bits(Slip slip, int index, int half) const;
  std::uint64_t stream_;
  int draw_;
};

/// The surface under bark as it may really be.
struct DrawnWood {
  std::vector<float> y, z;  ///< [station * angles + angle] outline points, mm
};

/// The shape's radius plus its sigma times a smooth random field of mean 0 and variance 1: waves
/// about 0.3 m and 45 degrees wide, as errors of a fit are.
DrawnWood drawn_wood(const LogShape& shape, const Luck& luck, const SettingErrors& errors);

/// The value that `share` of the draws do not reach, between neighbours in proportion.
double quantile(std::vector<double> draws, double share);

double mean(const std::vector<double>& draws);

/// What a plan gives under errors, and when nothing goes wrong.
struct Prospect {
  const std::vector<double>& draws;  ///< net, as many for both that are compared
  double net = 0;
};

/// Whether `a` is to be chosen before `b`: where luck could be what tells their means apart (half a
/// per cent, or two standard errors of the mean of their differences draw by draw), the one of the
/// greater net; else the one of the greater mean.
bool better_in_the_mean(const Prospect& a, const Prospect& b);

}  // namespace kerfwright::saw
