#pragma once

#include <string>
#include <vector>

#include "kerfwright/yard/need.hpp"
#include "kerfwright/yard/yard_plan.hpp"

/// What is written of a list that was planned over many logs.
namespace kerfwright {

/// Beside each log of a yard plan: where it was read from, and the folder of its plan within the
/// output.
struct YardSource {
  std::string file, folder;
};

/// {"format": "kerfwright-yard-plan", "version": 1, …}: the list, the logs in the order in which
/// they were given, what is missing and the sums.
std::string yard_json(const YardPlan& plan, const std::vector<YardLog>& logs,
                      const std::vector<YardSource>& sources);

/// The folders that an older order.json names.
/// @param name of the file
/// @throws UserError bad_plan where it is none
std::vector<std::string> folders_of_yard(const std::string& json, const std::string& name);

/// One page to print: what is sawn in which order, what comes from which log, how to stack it, what
/// is missing and what stays uncut. Self-contained but for its links to the logs' own sheets.
std::string yard_sheet_html(const YardPlan& plan, const std::vector<YardLog>& logs,
                            const std::vector<YardSource>& sources);

/// The same for a terminal.
std::string yard_words(const YardPlan& plan, const std::vector<YardLog>& logs);

/// "2 more logs like 'fir-3' (4.1 m, 320 mm) would do.", a sentence for each way; empty where
/// nothing is missing.
std::vector<std::string> more_words(const YardPlan& plan, const std::vector<YardLog>& logs);

/// How many logs a list takes, for a terminal; lengths as the mill tells them.
std::string need_words(const Need& need, const Mill& mill);

/// {"logs": [{"diameter", "length", "wood_m3", "logs", "few", "many", "never"}, …],
/// "least_wood": [{"diameter", "length", "logs"}, …]}; a number that is not known is left out.
std::string need_json(const Need& need);

}  // namespace kerfwright
