#include "told_in_inches.hpp"

#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/trade/mill.hpp"
#include "plan_given.hpp"

namespace kerfwright::cli {
namespace {

bool mill_in_inches(const std::string& file) {
  try {
    return read_mill(file).inches;
  } catch (const UserError&) {
    return false;
  }
}

bool plan_in_inches(const std::string& given) {
  try {
    const std::string file = plan_file(given);
    return plan_from_json(read_file(file), file).mill.inches;
  } catch (const UserError&) {
    return false;
  }
}

}  // namespace

bool told_in_inches(const std::vector<std::string>& words) {
  const std::string mill = "--mill";
  const std::string command = words.empty() ? "" : words.front();
  const bool takes_plan =
      command == "replan" || command == "draw" || command == "replay" || command == "tally";
  for (std::size_t i = 1; i < words.size(); ++i) {
    const std::string& word = words[i];
    if (word == "--inch") return true;
    if (word == mill && i + 1 < words.size() && mill_in_inches(words[i + 1])) return true;
    if (word.starts_with(mill + "=") && mill_in_inches(word.substr(mill.size() + 1))) return true;
    if (i == 1 && takes_plan && plan_in_inches(word)) return true;
  }
  return false;
}

}  // namespace kerfwright::cli
