#pragma once

#include <string>
#include <vector>

#include "kerfwright/yard/yard_plan.hpp"

/// Sentences that the terminal and the sheet share.
namespace kerfwright::yard {

/// Whether the list is filled, and by what rule the plans were chosen.
std::string verdict(const YardPlan& plan);

/// What is missing and what more logs would do; empty where nothing is.
std::vector<std::string> missing_words(const YardPlan& plan, const std::vector<YardLog>& logs);

std::string sums(const YardPlan& plan);

/// How good the choice is, and against what.
std::string bound_words(const YardPlan& plan);

/// "3 x joist 2400, 2 x stud 1200"
std::string pieces_words(const YardPlan& plan, std::size_t log);

/// "Leave uncut: fir-3, fir-9."; empty where every log is sawn.
std::string uncut_words(const YardPlan& plan, const std::vector<YardLog>& logs);

std::string cautions();

}  // namespace kerfwright::yard
