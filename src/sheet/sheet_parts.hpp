#pragma once

#include <string>

#include "lengths.hpp"
#include "saw_steps.hpp"

/// The parts of the saw sheet, each as HTML.
namespace kerfwright::sheet {

/// What to do before the log is moved, with its cautions.
std::string preparation_part(const Steps& steps, const LogShape& shape);

/// The same where some cuts are made: what there is, and what became of it.
std::string remains_part(const Steps& steps, const LogShape& shape);

/// What to do where the wood is not as planned, and what to type then.
std::string otherwise_part(const SawPlan& plan);

/// How the numbers of the sheet are to be read.
std::string rule_of_heights(const Lengths& lengths);

/// One setup: how to lay the piece, its drawings, its cuts.
std::string stage_part(const Steps& steps, const LogShape& shape, std::size_t index);

/// Edging list, cross-cut list and the stack.
std::string bench_part(const Steps& steps, const LogShape& shape);

/// The sheet's looks and its small script.
extern const char* const sheet_style;
extern const char* const sheet_script;

}  // namespace kerfwright::sheet
