#include <cmath>
#include <cstdio>

#include "kerfwright/yard/yard_sheets.hpp"
#include "sheet/look.hpp"
#include "yard_counts.hpp"
#include "yard_phrases.hpp"

namespace kerfwright {
namespace {

using sheet::look::rounded;
using yard::count_words;

std::string table(const YardPlan& plan) {
  std::string text;
  char row[200];
  std::snprintf(row, sizeof row, "  %-24s%8s%8s%9s%8s\n", "of the list", "wanted", "made",
                "missing", "beyond");
  text += row;
  for (const ListLine& line : plan.list) {
    std::snprintf(row, sizeof row, "  %-24.24s%8d%8d%9d%8d\n",
                  plan.order.products[line.product].name.c_str(), line.wanted,
                  line.before + line.made, line.missing(), line.beyond());
    text += row;
  }
  return text;
}

std::string logs_words(const YardPlan& plan, const std::vector<YardLog>& logs) {
  std::string text;
  for (std::size_t i = 0; i < plan.sawing.size(); ++i) {
    const std::size_t l = plan.sawing[i];
    text += "  " + std::to_string(i + 1) + ". " + logs[l].name + ": " +
            yard::pieces_words(plan, l) + "\n";
  }
  const std::string uncut = yard::uncut_words(plan, logs);
  return uncut.empty() ? text : text + "  " + uncut + "\n";
}

}  // namespace

std::vector<std::string> more_words(const YardPlan& plan, const std::vector<YardLog>& logs) {
  std::vector<std::string> sentences;
  for (const MoreLogs& way : plan.more) {
    const std::string what =
        way.line
            ? "for the missing '" + plan.order.products[plan.list[*way.line].product].name + "'"
            : "for all that is missing";
    sentences.push_back("About " + count_words(way.count, "more log", "more logs") + " like '" +
                        logs[way.log].name + "' (" +
                        yard::log_words(logs[way.log].shape, plan.mill) + ") would do " + what +
                        ".");
  }
  return sentences;
}

std::string yard_words(const YardPlan& plan, const std::vector<YardLog>& logs) {
  std::string text = yard::verdict(plan) + "\n" + table(plan);
  for (const std::string& sentence : yard::missing_words(plan, logs))
    text += "  " + sentence + "\n";
  text += yard::sums(plan) + "\n" + yard::bound_words(plan) + "\n";
  text += "In this order, the logs that fetch the most first:\n" + logs_words(plan, logs);
  return text + yard::cautions() + "\n";
}

}  // namespace kerfwright
