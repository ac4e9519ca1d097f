#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/shape/bark.hpp"

/// How many logs a list takes, before any is scanned: an estimate from typical logs.
namespace kerfwright {

/// A round log that tapers straight and bows to one side. mm.
struct TypicalLog {
  double diameter = 300;  ///< in the middle, over bark
  double length = 4000;
};

/// How logs of one size differ. Taper: US Forest Service booklet on the cubic foot as a national
/// log-scaling standard, half an inch in four feet for nearly all types, 0.4 and 0.6 for some.
/// Sweep: of 4,510 Appalachian logs 17 % had two inches or more in sixteen feet (USDA Forest
/// Service NE-172, 1973); half of that is taken for usual.
struct Growth {
  double taper = 0;  ///< mm of diameter per m
  double sweep = 0;  ///< mm in the middle per m of length
};
inline constexpr Growth usual_growth{10.4, 5.2}, good_growth{8.3, 0.0}, poor_growth{12.5, 10.4};

LogShape typical_shape(const TypicalLog& log, const Growth& growth, const BarkRule& bark);

struct NeedSettings {
  std::vector<double> diameters = {200, 250, 300, 350, 400, 450};  ///< mm, as in TypicalLog
  std::vector<double> lengths;  ///< mm; empty = the list's longest piece and 100 more
  BarkRule bark;
  int rounds = 8;  ///< of questions to each log, at most
  PlanSettings plan;
};

/// What a list takes of one kind of log. Whole numbers; the shares of plans that they are reckoned
/// from are rounded up.
struct NeedRow {
  TypicalLog log;
  double m3 = 0;                       ///< under bark, of one log
  std::optional<int> logs, few, many;  ///< as usual, as good and as poor logs; none = never
  std::vector<std::size_t> never;      ///< products that no such log gives (usual growth)
};

struct Need {
  Order order;  ///< green
  std::vector<NeedRow> rows;
  /// Rows and numbers of the mixture that takes the least wood; empty where none gives all.
  std::vector<std::pair<std::size_t, int>> mixture;
};

/// @throws UserError bad_order where nothing is counted, no_product_fits where none of the logs
/// gives anything of the list
Need need_of(const Order& order, const Mill& mill, const NeedSettings& settings);

}  // namespace kerfwright
