#include "plan_words.hpp"

#include <algorithm>
#include <iostream>
#include <map>
#include <sstream>

#include "kerfwright/fixed.hpp"
#include "kerfwright/saw/opening.hpp"
#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/sheet/cautions.hpp"
#include "kerfwright/sheet/saw_steps.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/trade/inches.hpp"

namespace kerfwright::cli {
namespace {

/// A length as it is told: mm with so many decimals, or inches to sixteenths.
std::string length(const Mill& mill, double mm, int decimals = 0) {
  return mill.inches ? inch_text(mm) + " in" : fixed(mm, decimals) + " mm";
}

/// What there is of one product in one length; slabs are as wide as they come.
struct Lot {
  int count = 0;
  double narrowest = 1e9, widest = 0;  // mm
};

/// A size as it is sawn, without its unit.
std::string sawn_size(const Mill& mill, double mm) {
  std::ostringstream text;
  text << mm;
  return mill.inches ? inch_text(mm, 32) : text.str();
}

void print_lot(const Mill& mill, const Product& product, const Lot& lot, double board_length) {
  const auto mean = [&](double mm) { return mill.inches ? inch_text(mm) : fixed(mm, 0); };
  std::cout << "  " << lot.count << " x " << product.name << ", "
            << sawn_size(mill, product.thickness) << " x ";
  if (product.live_edge) {
    std::cout << mean(lot.narrowest);
    if (lot.count > 1) std::cout << " to " << mean(lot.widest);
    std::cout << " (mean)";
  } else {
    std::cout << sawn_size(mill, product.width);
  }
  std::cout << " x " << sawn_size(mill, board_length) << (mill.inches ? " in\n" : " mm\n");
}

void print_boards(const SawPlan& plan) {
  std::map<std::pair<std::string, double>, Lot> lots;
  for (const Board& board : plan.boards) {
    Lot& lot = lots[{board.product, board.length}];
    ++lot.count;
    lot.narrowest = std::min(lot.narrowest, board.width);
    lot.widest = std::max(lot.widest, board.width);
  }
  for (const Product& product : plan.order.products) {
    for (const double length : product.lengths) {
      const auto found = lots.find({product.name, length});
      if (found == lots.end()) continue;
      print_lot(plan.mill, product, found->second, length);
    }
  }
}

bool comes(const Product& product, const SawPlan& plan) {
  return std::any_of(plan.boards.begin(), plan.boards.end(),
                     [&](const Board& board) { return board.product == product.name; });
}

/// Which products got nothing: one wonders, else, whether they were read at all.
void print_none_of(const SawPlan& plan) {
  std::string names;
  for (const Product& product : plan.order.products) {
    if (!comes(product, plan)) names += (names.empty() ? "" : ", ") + product.name;
  }
  if (!names.empty())
    std::cout << "  none of: " << names << " (too large, or other boards are worth more)\n";
}

/// Which sizes come out larger than they were asked for.
void print_spare(const SawPlan& plan, const Order& asked) {
  constexpr double told = 0.05;  // mm
  for (const Product& product : plan.order.products) {
    const auto wish = std::find_if(asked.products.begin(), asked.products.end(),
                                   [&](const Product& p) { return p.name == product.name; });
    if (!comes(product, plan) || wish == asked.products.end() || wish->finished ||
        product.thickness < wish->thickness + told) {
      continue;
    }
    const std::string unit = plan.mill.inches ? " in" : " mm";
    const std::string sawn = sawn_size(plan.mill, product.thickness);
    const std::string wished = sawn_size(plan.mill, wish->thickness);
    if (sawn == wished) continue;  // a hair that no scale shows
    std::cout << "  " << product.name << " is sawn " << sawn << unit << " thick instead of "
              << wished << unit
              << ": with a kerf between boards the height scale can be set to no less\n";
  }
}

/// Where the log is cut to parts before anything else.
void print_cross_cuts(const SawPlan& plan) {
  for (const Cut& cut : plan.cuts) {
    const auto setup = std::find_if(plan.setups.begin(), plan.setups.end(),
                                    [&](const Setup& s) { return s.n == cut.setup; });
    if (setup == plan.setups.end() || setup->kind != SetupKind::cross_cut) break;
    std::cout << "Cross-cut first, " << length(plan.mill, cut.point.x())
              << " from the butt, square to the log there: " << cut.below << " and " << cut.above
              << '\n';
  }
}

/// Where the sheet says that a log or a part of it is laid for its first cut.
const Stage* opening_stage(const std::vector<Stage>& stages, const std::string& piece) {
  const auto found = std::find_if(stages.begin(), stages.end(), [&](const Stage& s) {
    return on_mill(s.kind) && s.part.value_or("log") == piece;
  });
  return found == stages.end() || found->cuts.empty() ? nullptr : &*found;
}

/// The numbers of the sheet, so that nobody sets another height than it tells.
void print_laying(const Stage& stage, const Mill& mill) {
  std::cout << "  block up its underside: ";
  for (std::size_t i = 0; i < stage.supports.size(); ++i) {
    const Support& support = stage.supports[i];
    std::cout << (i == 0 ? "" : ", ") << length(mill, support.raise) << " at "
              << length(mill, support.place) << " from its butt end";
  }
  std::cout << "\n  first cut " << sawn_size(mill, stage.cuts.front().height)
            << (mill.inches ? " in" : " mm")
            << " above the bed (underside of the blade); the centre of the butt is then "
            << length(mill, stage.centre_butt) << ", that of the top "
            << length(mill, stage.centre_top) << " above it\n";
}

void print_opening(const Opening& opening, const std::vector<Stage>& stages, const Mill& mill) {
  const bool whole = opening.piece == "log";
  std::cout << "Opening face" << (whole ? "" : " of " + opening.piece) << "\n  turn the "
            << (whole ? "log " : "part ") << fixed(opening.turn < 359.95 ? opening.turn : 0.0, 1)
            << " degrees clockwise, seen from the butt, from how it lay when scanned\n";
  if (const Stage* stage = opening_stage(stages, opening.piece)) print_laying(*stage, mill);
  if (opening.slab_butt <= 0.0 && opening.slab_top <= 0.0) {
    std::cout << "  it meets the log only between the ends\n";
  } else {
    std::cout << "  the slab is " << length(mill, opening.slab_butt) << " thick at the butt, "
              << length(mill, opening.slab_top) << " at the top, bark included\n";
  }
}

/// Boards and log have units of their own where lengths are told in inches.
std::string wood_words(const Totals& totals, bool inches) {
  const Amounts amounts{inches};
  const std::string boards =
      inches ? amounts.boards(totals.board_m3) : amounts.boards_number(totals.board_m3);
  return boards + " of " + amounts.log(totals.log_m3);
}

void print_totals(const SawPlan& plan) {
  const Totals& totals = plan.totals;
  std::cout << "Value " << fixed(totals.value, 2) << ' ' << plan.order.currency;
  if (plan.mill.hourly_rate > 0.0) {
    std::cout << ", net of " << fixed(totals.hours, 1) << " hours " << fixed(totals.net, 2) << ' '
              << plan.order.currency;
  }
  std::cout << "; " << plan.boards.size() << " boards, " << wood_words(totals, plan.mill.inches)
            << ", yield " << fixed(100.0 * totals.yield, 1) << " %; sawn "
            << pattern_words(plan.pattern) << "; " << plan.cuts.size() << " cuts\n";
  for (const auto& words : {expectation_words(plan), bound_words(plan)}) {
    if (words) std::cout << *words << '\n';
  }
}

/// Says why a gap was asked for and none is told.
void print_lack_of_bound(const PlanSettings& settings, const SawPlan& plan) {
  if (!settings.gap || plan.totals.bound || plan.totals.bound_of_ways) return;
  const std::vector<Pattern>& patterns = settings.patterns;
  const bool any_bounded =
      patterns.empty() || std::any_of(patterns.begin(), patterns.end(), is_bounded);
  std::cout << "How near to the best this is, is not known: "
            << (any_bounded
                    ? "there was no time to bound what the log can give; give it more.\n"
                    : "there is a bound for sawing through and through and with cants only; "
                      "add --pattern live cant, or --pattern live.\n");
}

void print_cautions() {
  for (const char* line : cautions) std::cout << line << '\n';
}

}  // namespace

void print_plan(const SawPlan& plan, const LogShape& shape, const Order& asked,
                const PlanSettings& settings, const std::string& ended_early) {
  print_totals(plan);
  std::cout << ended_early;
  print_lack_of_bound(settings, plan);
  print_boards(plan);
  print_none_of(plan);
  print_spare(plan, asked);
  print_cross_cuts(plan);
  const std::vector<Stage> stages = saw_stages(plan, shape);
  for (const Opening& opening : openings_of(plan, shape)) {
    print_opening(opening, stages, plan.mill);
  }
  print_cautions();
}

}  // namespace kerfwright::cli
