#include "kerfwright/saw/saw_plan.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <set>

#include "frame.hpp"
#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/trade/inches.hpp"

namespace kerfwright {

std::optional<std::string> expectation_words(const SawPlan& plan) {
  if (!plan.totals.expected || !plan.totals.q10) return std::nullopt;
  char text[300];
  std::snprintf(text, sizeof text,
                "Set a little wrong as usual (%g degrees, %g mm, blade %g mm) it gives %.2f net "
                "on average, where %.2f is planned, and at least %.2f nine times out of ten.",
                plan.mill.turn_error, plan.mill.lift_error, plan.mill.blade_error,
                *plan.totals.expected, plan.totals.net, *plan.totals.q10);
  return plan.mill.inches ? sentence_in_inches(text) : text;
}

std::optional<std::string> bound_words(const SawPlan& plan) {
  const bool of_all = plan.totals.bound.has_value();
  if (!(of_all || plan.totals.bound_of_ways) || !plan.totals.bound_lift) return std::nullopt;
  const double bound = of_all ? *plan.totals.bound : *plan.totals.bound_of_ways;
  // Rounded up, so that what is said stays true.
  const double gap = std::ceil(1000.0 * (1.0 - plan.totals.net / bound) - 1e-9) / 10.0;
  char most[40] = "this one";
  char within[60] = "";
  if (gap > 0.0 || !of_all) {
    std::snprintf(most, sizeof most, "%.2f net", std::ceil(100.0 * bound - 1e-6) / 100.0);
  }
  if (gap > 0.0) {
    std::snprintf(within, sizeof within, ": this one is within %.1f %% of that", gap);
  } else if (!of_all) {
    std::snprintf(within, sizeof within, ": this one is");
  }
  const double step = plan.mill.inches ? sixteenth_inch : 1.0;  // rounded down, likewise
  const double lift_mm = std::floor(*plan.totals.bound_lift / step + 1e-6) * step;
  char lift[20];
  std::snprintf(lift, sizeof lift, "%.0f mm", lift_mm);
  std::string ways = pattern_words(plan.totals.bound_patterns);
  if (const auto comma = ways.find(","); comma != std::string::npos) ways.replace(comma, 1, " or");
  return "No plan sawn " + ways +
         " whose flitches are edged whole, with lanes that lie level, is worth more than " + most +
         ", at any turn and with either end raised by up to " +
         (plan.mill.inches ? inch_text(lift_mm) + " in" : lift) + within + "." +
         (of_all ? "" : " How much other ways of sawing can bring at most is not known.");
}

const Product* product_of(const Board& board, const Order& order) {
  const auto found =
      std::find_if(order.products.begin(), order.products.end(),
                   [&](const Product& product) { return product.name == board.product; });
  return found == order.products.end() ? nullptr : &*found;
}

void take_off_wanted(Order& order, const std::vector<Board>& boards) {
  for (const Board& board : boards) {
    for (Product& product : order.products) {
      if (product.name == board.product && product.wanted && *product.wanted > 0) {
        --*product.wanted;
      }
    }
  }
}

std::vector<int> boards_there(const SawPlan& plan) {
  std::set<std::string> pieces;
  for (const Cut& cut : plan.cuts) {
    if (cut.n > plan.done) continue;
    pieces.erase(cut.piece);
    pieces.insert({cut.above, cut.below});
  }
  std::vector<int> boards;
  for (const Board& board : plan.boards) {
    if (pieces.contains(board.piece)) boards.push_back(board.id);
  }
  return boards;
}

double setting_minutes(SetupKind kind, const Mill& mill) {
  if (kind == SetupKind::edging) return mill.minutes_per_edging;
  return kind == SetupKind::cross_cut ? mill.minutes_per_cross_cut : mill.minutes_per_cut;
}

Totals totals_of(const std::vector<Board>& boards, double log_m3) {
  Totals totals;
  for (const Board& board : boards) {
    totals.value += board.value;
    totals.board_m3 += board.thickness * board.width * board.length * 1e-9;
  }
  totals.log_m3 = log_m3;
  totals.yield = log_m3 > 0.0 ? totals.board_m3 / log_m3 : 0.0;
  return totals;
}

Eigen::Vector3d setup_up(const Setup& setup, double length) {
  const double slope = (setup.lift_top - setup.lift_butt) / length;
  return saw::Frame({setup.roll * std::numbers::pi / 180.0, slope}).up;
}

Setup setup_with_up(const Eigen::Vector3d& up, double length) {
  Setup setup;
  setup.roll = std::atan2(up.y(), up.z()) * 180.0 / std::numbers::pi;
  setup.roll -= 360.0 * std::floor(setup.roll / 360.0 + 1e-12);
  setup.roll = std::max(0.0, setup.roll);
  const double lift = std::clamp(up.x(), -1.0, 1.0) * length;
  setup.lift_top = std::max(0.0, lift);
  setup.lift_butt = std::max(0.0, -lift);
  return setup;
}

}  // namespace kerfwright
