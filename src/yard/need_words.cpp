#include <algorithm>

#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/trade/inches.hpp"
#include "kerfwright/trade/scaling.hpp"
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

/// Set to the right in a column; a letter may be several bytes.
std::string cell(const std::string& text, std::size_t width) {
  const auto letters = static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
  return std::string(letters < width ? width - letters : 1, ' ') + text;
}

std::string cells(const std::string& diameter, const std::string& length, const std::string& volume,
                  const std::string& logs) {
  return "  " + cell(diameter, 12) + cell(length, 12) + cell(volume, 12) + cell(logs, 8) + "   ";
}

/// What is told of a m, as so much of a foot where the scale is in inches.
std::string slope(double mm_a_metre, const Lengths& lengths) {
  if (!lengths.inches()) return lengths.text(mm_a_metre) + " a m";
  return said_inches(0.001 * mm_per_foot * mm_a_metre) + " in a foot";
}

std::string line_of(const Need& need, const NeedRow& row, const Lengths& lengths) {
  const std::string logs = row.logs ? std::to_string(*row.logs) : "-";
  const std::string text = cells(lengths.text(row.log.diameter), lengths.text(row.log.length),
                                 Amounts{lengths.inches()}.log_number(row.m3), logs);
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
      slope(usual_growth.taper, lengths) + " and bow " + slope(usual_growth.sweep, lengths) +
      ", sawn through and through; behind it what good and poor logs would take.\n";
  text +=
      cells("diameter", "length", Amounts{lengths.inches()}.log_unit(), "logs") + "good to poor\n";
  for (const NeedRow& row : need.rows) text += line_of(need, row, lengths);
  text += "Diameter in the middle over bark, volume under bark.\n";
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
