#include "kerfwright/archive/tally.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>

#include "kerfwright/error.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "shape/robust.hpp"
#include "shape/text_line.hpp"

namespace kerfwright {
namespace {

constexpr int least_logs = 3, least_thicknesses = 15;
constexpr double of_median = 1.2533;  // standard error of a median over that of a mean, likewise

double robust_sigma(const std::vector<double>& values) {
  const double middle = median(values);
  std::vector<double> apart;
  for (const double value : values) apart.push_back(std::abs(value - middle));
  return sigma_of_mad * median(apart);
}

/// What differs from log to log and what within them.
struct Spread {
  int count = 0;
  double off = 0, off_sigma = 0;  ///< mean of the logs' own, and how sure it is
  double within = 0, between = 0;
};

template <class Pick>
Spread spread_of(const std::vector<TallyResult>& results, Pick pick) {
  Spread spread;
  std::vector<double> middles, rest, shares;
  for (const TallyResult& result : results) {
    std::vector<double> errors;
    for (const SizeError& error : result.errors)
      if (const std::optional<double>& size = pick(error)) errors.push_back(*size);
    if (errors.empty()) continue;
    const double middle = median(errors);
    middles.push_back(middle);
    // A single board of a log is its own mean and says nothing of the spread within.
    if (errors.size() > 1) {
      const double lost =
          std::sqrt(static_cast<double>(errors.size()) / static_cast<double>(errors.size() - 1));
      for (const double error : errors) rest.push_back(lost * (error - middle));
    }
    shares.push_back(1.0 / static_cast<double>(errors.size()));
    spread.count += static_cast<int>(errors.size());
  }
  if (middles.empty()) return spread;
  spread.off = median(middles);
  spread.within = robust_sigma(rest);
  const double middles_sigma = robust_sigma(middles);
  const double of_boards = of_median * of_median * spread.within * spread.within * median(shares);
  spread.between = std::sqrt(std::max(0.0, middles_sigma * middles_sigma - of_boards));
  spread.off_sigma = of_median * std::sqrt(spread.between * spread.between + of_boards) /
                     std::sqrt(static_cast<double>(middles.size()));
  return spread;
}

std::string row(const char* what, const char* format, double planned, double sawn) {
  char texts[2][64];
  std::snprintf(texts[0], sizeof texts[0], format, planned);
  std::snprintf(texts[1], sizeof texts[1], format, sawn);
  return text_of("%-12s%12s%12s", what, texts[0], texts[1]) +
         (planned > 0.0 ? text_of("%11.0f %%\n", 100.0 * sawn / planned) : std::string("\n"));
}

}  // namespace

TallyResult compare_tally(const SawPlan& plan, const Tally& tally, const std::string& name) {
  TallyResult result;
  result.planned = static_cast<int>(plan.boards.size());
  result.planned_m3 = plan.totals.board_m3;
  result.planned_value = plan.totals.value;
  result.planned_hours = plan.totals.hours;
  result.kerf = plan.mill.kerf;
  if (tally.minutes) result.hours = *tally.minutes / 60.0;
  std::set<int> came;
  for (const TalliedPiece& piece : tally.pieces) {
    const auto board = std::find_if(plan.boards.begin(), plan.boards.end(),
                                    [&](const Board& one) { return one.id == piece.board; });
    const bool planned = board != plan.boards.end();
    if (piece.board != 0 && !planned)
      throw UserError(Fault::bad_tally, "The tally '" + name + "' has a board " +
                                            std::to_string(piece.board) +
                                            " that the plan has not; leave the number out for a "
                                            "piece beside the plan.");
    if (planned && !came.insert(piece.board).second)
      throw UserError(Fault::bad_tally, "The tally '" + name + "' has board " +
                                            std::to_string(piece.board) + " twice; name it once.");
    const auto size = [&](const std::optional<double>& sawn, double in_plan) {
      return sawn ? *sawn : in_plan;
    };
    const double thickness = size(piece.thickness, planned ? board->thickness : 0.0);
    const double width = size(piece.width, planned ? board->width : 0.0);
    const double length = size(piece.length, planned ? board->length : 0.0);
    result.m3 += thickness * width * length * 1e-9;
    result.value += piece.value ? *piece.value : planned ? board->value : 0.0;
    if (!planned) {
      ++result.beside;
      continue;
    }
    ++result.came;
    const auto error = [](const std::optional<double>& sawn, double in_plan) {
      return sawn ? std::optional<double>(*sawn - in_plan) : std::nullopt;
    };
    result.errors.push_back({error(piece.thickness, board->thickness),
                             error(piece.width, board->width), error(piece.length, board->length)});
  }
  return result;
}

Learned learn(const std::vector<TallyResult>& results) {
  Learned learned;
  std::vector<double> hours, values, kerfs;
  for (const TallyResult& result : results) {
    ++learned.logs;
    learned.planned += result.planned;
    learned.came += result.came;
    if (result.hours && result.planned_hours > 0.0)
      hours.push_back(*result.hours / result.planned_hours);
    if (result.planned_value > 0.0) values.push_back(result.value / result.planned_value);
    // Both faces are set from one scale: what the saw takes more than it should, the board lacks.
    const Spread own = spread_of({result}, [](const SizeError& e) { return e.thickness; });
    if (own.count > 0) kerfs.push_back(result.kerf - own.off);
  }
  const Spread thickness = spread_of(results, [](const SizeError& e) { return e.thickness; });
  const Spread width = spread_of(results, [](const SizeError& e) { return e.width; });
  learned.thicknesses = thickness.count;
  learned.thickness_off = thickness.off;
  learned.thickness_off_sigma = thickness.off_sigma;
  learned.kerf = median(kerfs);
  learned.variation = thickness.within;
  learned.setting_error = thickness.between;
  learned.widths = width.count;
  learned.width_off = width.off;
  learned.width_off_sigma = width.off_sigma;
  if (!hours.empty()) learned.hours_factor = median(hours);
  if (!values.empty()) learned.value_factor = median(values);
  learned.enough = learned.logs >= least_logs && learned.thicknesses >= least_thicknesses;
  return learned;
}

std::string describe(const TallyResult& result, const std::string& currency, bool inches) {
  std::string text = text_of("%-12s%12s%12s%13s\n", "", "planned", "sawn", "share");
  text += row("boards", "%.0f", result.planned, result.came);
  if (result.beside > 0) text += text_of("%-12s%12s%12d\n", "beside it", "", result.beside);
  text += inches ? row("board feet", "%.1f", result.planned_m3 / m3_per_board_foot,
                       result.m3 / m3_per_board_foot)
                 : row("m3", "%.4f", result.planned_m3, result.m3);
  text += row(("value, " + currency).c_str(), "%.2f", result.planned_value, result.value);
  if (result.hours) text += row("hours", "%.2f", result.planned_hours, *result.hours);
  return text;
}

std::string describe(const Learned& learned, bool inches) {
  const auto number = [&](double mm) {
    return inches ? text_of("%.3f", mm / mm_per_inch) : text_of("%.1f", mm);
  };
  const auto told = [&](double mm) { return number(mm) + (inches ? " in" : " mm"); };
  const auto key = [&](double mm) { return inches ? "\"" + told(mm) + "\"" : number(mm); };
  std::string text = text_of("%d log%s tallied: %d of %d boards came, %.0f %% of the value",
                             learned.logs, learned.logs == 1 ? "" : "s", learned.came,
                             learned.planned, 100.0 * learned.value_factor);
  if (learned.hours_factor)
    text += text_of(" in %.0f %% of the hours", 100.0 * *learned.hours_factor);
  text += " (medians of the logs).\n";
  if (!learned.enough)
    return text + text_of(
                      "Too few to change an assumption by: logs tallied %d, thicknesses "
                      "measured %d; %d and %d are needed.\n",
                      learned.logs, learned.thicknesses, least_logs, least_thicknesses);
  const auto matters = [](double off, double sigma) {
    return std::abs(off) > std::max(2.0 * sigma, 0.2);
  };
  if (matters(learned.thickness_off, learned.thickness_off_sigma)) {
    text += "Boards are " + told(std::abs(learned.thickness_off)) +
            (learned.thickness_off < 0.0 ? " too thin" : " too thick") + " (sure to +-" +
            number(2.0 * learned.thickness_off_sigma) + "): set 'kerf' in the mill to " +
            key(learned.kerf) + ".\n";
  } else {
    text += "Boards are as thick as planned, to +-" +
            told(std::max(0.2, 2.0 * learned.thickness_off_sigma)) + ": the kerf is right.\n";
  }
  text += "Within a log thickness varies by " + told(learned.variation) +
          " (standard deviation): set 'sawing_variation' in the mill to " + key(learned.variation) +
          ".\n";
  text += "From log to log it varies by " + told(learned.setting_error) +
          " more: that is how well the heights are set.\n";
  if (matters(learned.width_off, learned.width_off_sigma))
    text += "Boards are " + told(std::abs(learned.width_off)) +
            (learned.width_off < 0.0 ? " too narrow" : " too wide") +
            ": look at the kerf and the stop of the edging.\n";
  const double missing = 1.0 - static_cast<double>(learned.came) / std::max(1, learned.planned);
  if (missing > 0.05)
    text += text_of(
        "%.0f %% of the boards did not come: the wood lies further in than the plans "
        "say. Measure the bark and give it with --bark, or plan with a larger "
        "--margin.\n",
        100.0 * missing);
  if (learned.hours_factor && std::abs(*learned.hours_factor - 1.0) > 0.1)
    text += text_of(
        "Sawing takes %.2f times as long as planned: multiply the mill's minutes by "
        "that and divide 'feed_rate' by it.\n",
        *learned.hours_factor);
  return text;
}

Mill learned_mill(const Mill& mill, const Learned& learned) {
  Mill changed = mill;
  if (!learned.enough) return changed;
  changed.kerf = std::max(0.5, learned.kerf);
  changed.sawing_variation = learned.variation;
  return changed;
}

}  // namespace kerfwright
