#include "yard_phrases.hpp"

#include <algorithm>

#include "kerfwright/sheet/cautions.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/yard/yard_sheets.hpp"
#include "sheet/lengths.hpp"
#include "sheet/look.hpp"
#include "yard_counts.hpp"

namespace kerfwright::yard {
namespace {

using sheet::look::rounded;

std::string money(const YardPlan& plan, double amount) {
  return rounded(amount, 2) + " " + plan.order.currency;
}

/// "a m3 of log counted as 100.00 EUR"
std::string wood_price_words(const YardPlan& plan) {
  const Amounts amounts{plan.mill.inches};
  return std::string("a ") + amounts.one_of_log() + " of log counted as " +
         money(plan, amounts.price(plan.wood_price));
}

int missing_pieces(const YardPlan& plan) {
  int missing = 0;
  for (const ListLine& line : plan.list) missing += line.missing();
  return missing;
}

}  // namespace

std::string verdict(const YardPlan& plan) {
  const std::string of_logs = count_words(static_cast<int>(plan.sawing.size()), "log", "logs") +
                              " of " + std::to_string(plan.plans.size());
  if (plan.aim == Aim::fill && plan.filled()) {
    return "The list is filled from " + of_logs + ": for the least sawing and wood, " +
           wood_price_words(plan) + ".";
  }
  const std::string missing = "These logs do not fill the list: " +
                              count_words(missing_pieces(plan), "piece is", "pieces are") +
                              " missing. ";
  if (plan.aim == Aim::fill) {
    return missing + "As much of it as was found comes from " + of_logs + ".";
  }
  if (plan.filled()) return "The list is filled from " + of_logs + ".";
  const std::string wood =
      plan.wood_price > 0.0 ? ", " + wood_price_words(plan) : std::string(", wood counted as free");
  return missing + "The plans of " + of_logs +
         " are those that leave the most money once the sawing is paid" + wood + ".";
}

std::vector<std::string> missing_words(const YardPlan& plan, const std::vector<YardLog>& logs) {
  std::vector<std::string> sentences;
  for (const ListLine& line : plan.list) {
    if (line.missing() == 0) continue;
    sentences.push_back("Missing: " + std::to_string(line.missing()) + " x " +
                        plan.order.products[line.product].name + ".");
  }
  for (std::string& sentence : more_words(plan, logs)) sentences.push_back(std::move(sentence));
  if (!sentences.empty() && plan.more.empty()) {
    sentences.push_back(
        "No log at hand gives the missing pieces: other logs, thicker or longer, "
        "are needed.");
  }
  return sentences;
}

std::string sums(const YardPlan& plan) {
  std::string text = "Value " + money(plan, plan.value);
  if (plan.mill.hourly_rate > 0.0) {
    text += ", net of " + rounded(plan.hours, 1) + " hours " + money(plan, plan.net());
  }
  const Amounts amounts{plan.mill.inches};
  return text + "; " + amounts.boards(plan.board_m3) +
         (amounts.inches ? " from " : " of boards from ") + amounts.log_number(plan.used_m3) +
         " of " + amounts.log(plan.all_m3) + " of wood under bark.";
}

std::string bound_words(const YardPlan& plan) {
  const std::string counted = plan.wood_price > 0.0 ? "Net less the wood is " : "Net is ";
  if (!plan.bound) {
    return std::to_string(plan.plans_looked_at) + " plans of single logs were looked at.";
  }
  return counted + money(plan, plan.result()) + "; no choice among the " +
         std::to_string(plan.plans_looked_at) +
         " plans of single logs that were looked at gives more than " + money(plan, *plan.bound) +
         ".";
}

std::string pieces_words(const YardPlan& plan, std::size_t log) {
  const sheet::Lengths lengths(plan.mill);
  std::string text;
  for (const auto& [stick, count] : sticks_of(*plan.plans[log], plan.order)) {
    text += (text.empty() ? "" : ", ") + std::to_string(count) + " x " +
            plan.order.products[stick.product].name + " " + lengths.number(stick.length);
  }
  return text;
}

std::string uncut_words(const YardPlan& plan, const std::vector<YardLog>& logs) {
  std::string names;
  for (std::size_t l = 0; l < logs.size(); ++l) {
    if (!plan.plans[l]) names += (names.empty() ? "" : ", ") + logs[l].name;
  }
  return names.empty() ? "" : "Leave uncut: " + names + ".";
}

std::string cautions() {
  std::string text;
  for (const char* line : kerfwright::cautions) text.append(text.empty() ? "" : " ").append(line);
  return text;
}

}  // namespace kerfwright::yard
