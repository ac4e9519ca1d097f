#include <cstdio>

#include "kerfwright/yard/yard_sheets.hpp"
#include "sheet/json_text.hpp"
#include "sheet/lengths.hpp"
#include "sheet/look.hpp"
#include "yard_counts.hpp"

namespace kerfwright {
namespace {

using namespace json_text;
using sheet::Lengths;
using sheet::look::rounded;

std::string names_of(const Need& need, const NeedRow& row) {
  std::string names;
  for (const std::size_t p : row.never) {
    names += (names.empty() ? "'" : ", '") + need.order.products[p].name + "'";
  }
  return names;
}

std::string range(const NeedRow& row) {
  const auto text = [](const std::optional<int>& logs) {
    return logs ? std::to_string(*logs) : std::string("never");
  };
  return text(row.few) + " to " + text(row.many);
}

std::string line_of(const Need& need, const NeedRow& row, const Lengths& lengths) {
  char line[160];
  const std::string logs = row.logs ? std::to_string(*row.logs) : "-";
  std::snprintf(line, sizeof line, "  %12s%12s%9s%8s   ", lengths.text(row.log.diameter).c_str(),
                lengths.text(row.log.length).c_str(), rounded(row.m3, 3).c_str(), logs.c_str());
  std::string text = line;
  if (row.logs) return text + range(row) + "\n";
  if (row.never.empty()) return text + "gives too little\n";
  return text + "never gives " + names_of(need, row) + "\n";
}

}  // namespace

std::string need_words(const Need& need, const Mill& mill) {
  const Lengths lengths(mill);
  std::string text =
      "About how many logs of one kind the list takes, each kind alone: an estimate from round "
      "logs "
      "that taper\n" +
      lengths.text(usual_growth.taper) + " a m and bow " + lengths.text(usual_growth.sweep) +
      " a m, sawn through and through; behind it what good and poor logs would take.\n";
  char head[160];
  std::snprintf(head, sizeof head, "  %12s%12s%9s%8s   %s\n", "diameter", "length", "m3", "logs",
                "good to poor");
  text += head;
  for (const NeedRow& row : need.rows) text += line_of(need, row, lengths);
  text += "Diameter in the middle over bark, m3 under bark.\n";
  if (need.mixture.empty()) {
    return text +
           "Not even all these kinds together give the whole list: look at thicker or longer "
           "ones with --diameter and --length.\n";
  }
  std::string mixture;
  for (const auto& [r, logs] : need.mixture) {
    const TypicalLog& log = need.rows[r].log;
    mixture += (mixture.empty() ? "" : ", ") + std::to_string(logs) + " of " +
               lengths.text(log.diameter) + " by " + lengths.text(log.length);
  }
  return text + "The least wood: about " + mixture +
         ".\nRot, knots and hidden metal are not in it: count on some logs more.\n";
}

std::string need_json(const Need& need) {
  const auto whole = [](int n) { return std::to_string(n); };
  std::vector<std::string> rows, mixture;
  for (const NeedRow& row : need.rows) {
    std::vector<std::string> members = {member("diameter", number(row.log.diameter)),
                                        member("length", number(row.log.length)),
                                        member("wood_m3", number(row.m3))};
    if (row.logs) members.push_back(member("logs", whole(*row.logs)));
    if (row.few) members.push_back(member("few", whole(*row.few)));
    if (row.many) members.push_back(member("many", whole(*row.many)));
    std::vector<std::string> never;
    for (const std::size_t p : row.never) never.push_back(quoted(need.order.products[p].name));
    members.push_back(member("never", list(never)));
    rows.push_back(object(members));
  }
  for (const auto& [r, logs] : need.mixture) {
    mixture.push_back(
        object({member("diameter", number(need.rows[r].log.diameter)),
                member("length", number(need.rows[r].log.length)), member("logs", whole(logs))}));
  }
  return document({member("logs", lines(rows)), member("least_wood", list(mixture))});
}

}  // namespace kerfwright
