#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"

namespace kerfwright {

/// A piece as it came off the saw. What was not measured is empty and counts as planned.
struct TalliedPiece {
  int board = 0;                                   ///< of the plan; 0 = a piece beside the plan
  std::optional<double> thickness, width, length;  ///< mm
  std::optional<double> value;                     ///< order's currency
  std::string note;
};

/// What came off a log.
struct Tally {
  std::vector<TalliedPiece> pieces;
  std::optional<double> minutes;  ///< that the sawing took
};

/// Reads a tally (CSV after RFC 4180 with commas, or with semicolons and then decimal commas too;
/// UTF-8): a line of names, of which `board`, `thickness`, `width`, `length`, `value` and `note`
/// are read, in any order, "(mm)" behind them or not, or "(in)" for inches as "1.5" or "1 1/2"; a
/// line for each piece; `minutes` and a number in a line of their own. A plan's boards.csv is such
/// a file. Boards that are not named did not come. `name` stands for the file in messages.
/// @throws UserError bad_tally, with the line
Tally parse_tally(const std::string& csv, const std::string& name);

/// How far a board differs from its plan where it was measured, mm, sawn less planned.
struct SizeError {
  std::optional<double> thickness, width, length;
};

/// Plan and wood of one log.
struct TallyResult {
  int planned = 0, came = 0, beside = 0;  ///< boards; those that came, and pieces beside the plan
  double planned_m3 = 0, m3 = 0;
  double planned_value = 0, value = 0;
  double planned_hours = 0;
  std::optional<double> hours;
  double kerf = 0;                ///< mm, of the plan's mill
  std::vector<SizeError> errors;  ///< of the boards that came
};

/// @throws UserError bad_tally, for boards that the plan has not; `name` as in parse_tally
TallyResult compare_tally(const SawPlan& plan, const Tally& tally, const std::string& name);

/// What many logs say about the assumptions that plans are made with.
struct Learned {
  int logs = 0, planned = 0, came = 0;
  int thicknesses = 0, widths = 0;  ///< how many were measured
  double thickness_off = 0;         ///< mm, robust mean of the logs' own
  double thickness_off_sigma = 0;   ///< mm, how sure that is
  double kerf = 0;             ///< mm, that would have made boards as thick as planned, robust mean
  double variation = 0;        ///< mm, standard deviation within a log, robust
  double setting_error = 0;    ///< mm, standard deviation from log to log, robust
  double width_off = 0;        ///< mm, robust mean
  double width_off_sigma = 0;  ///< mm
  std::optional<double> hours_factor;  ///< sawn over planned, robust mean
  double value_factor = 1;             ///< likewise
  bool enough = false;                 ///< to change anything by: 3 logs and 15 thicknesses
};

/// Robust: medians, and standard deviations as 1.4826 times the median absolute deviation.
Learned learn(const std::vector<TallyResult>& results);

/// One log, planned and sawn, as lines for a person.
std::string describe(const TallyResult& result, const std::string& currency, bool inches = false);

/// What was learned: which assumption to change and to what, a sentence each.
/// @param inches lengths are told in inches
std::string describe(const Learned& learned, bool inches = false);

/// The mill as the tallies say it is: kerf and sawing variation. Unchanged where `enough` is false.
Mill learned_mill(const Mill& mill, const Learned& learned);

}  // namespace kerfwright
