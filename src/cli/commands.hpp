#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/shape/shape_of_scan.hpp"
#include "output.hpp"

namespace kerfwright::cli {

/// Everything on the command line that says how a scan is to be read.
struct ScanOptions {
  std::string file;
  std::string species;  ///< empty = not said
  ScanToShape to_shape;
  std::string cleaned_out;  ///< empty = not written
  bool bark_given = false;  ///< in mm; then it goes before that of a shape file
  bool take_knots = false;  ///< what stands out of the surface counts as knots
  std::string marks;        ///< file of marks; empty = none
  std::string archive;      ///< where archive:NAME is looked for; empty = the usual place
  bool inches = false;      ///< lengths are told in inches, whatever the mill's file says
};

struct MeasureOptions {
  ScanOptions scan;
  std::string shape_out;     ///< empty = not written
  std::string proposed_out;  ///< marks file for what stands out of the surface; empty = not written
  std::string mill;          ///< for the mass it takes; empty = not compared
  bool json = false;         ///< for a program: JSON on standard output
};

struct PlanOptions {
  ScanOptions scan;
  std::string order, mill, out;
  bool learned = false;  ///< kerf and sawing variation as the archive's tallies say
  PlanSettings settings;
  std::optional<double> seconds;  ///< that the search may take
  bool json = false;              ///< for a program: JSON on standard output
  std::optional<double> turn_error, lift_error, blade_error;  ///< go before those of the mill
};

struct CompareOptions {
  ScanOptions scan;
  std::vector<std::string> orders, mills;
  std::string out;
  std::optional<double> seconds;  ///< that all of it may take
  PlanSettings settings;          ///< its patterns are those that are compared; empty = all
  bool json = false;              ///< for a program: JSON on standard output
};

struct ReplayOptions {
  std::string plan, shape;
};

struct DrawOptions {
  std::string plan, shape, out;  ///< an empty shape: the file beside the plan
  bool inches = false;           ///< lengths are told in inches, whatever the plan says
};

struct ReplanOptions {
  std::string plan, shape, out;     ///< an empty shape: the file beside the plan
  int done = 0;                     ///< number of the last cut that is made; 0 = none
  std::string marks;                ///< file of what was found; empty = nothing
  std::vector<double> face_widths;  ///< mm, butt, middle, top; empty = not measured
  PlanSettings settings;
  bool inches = false;  ///< lengths are told in inches, whatever the plan says
  bool json = false;    ///< for a program: JSON on standard output
};

/// The log of a command line: read, found, fitted and marked.
ShapeOfScan load_shape(const ScanOptions& options);

/// The options with the bark of a species, as an order names it, where nothing else says how thick
/// it is.
ScanOptions with_bark_of(const std::string& species, ScanOptions options);

/// Says it where nothing told how thick the bark is, and so none is taken off; else empty.
std::string bark_warning(const ScanOptions& options, const LogShape& shape);

/// Prints what is to be said of a log, its lengths in inches where asked for.
void print_notes(const LogShape& shape, bool inches);

/// A mill from its file, or the one that is assumed where there is none; in inches where asked for.
Mill load_mill(const std::string& file, bool inches);

/// Everything that is drawn of a plan.
std::vector<NamedText> drawings_of(const SawPlan& plan, const LogShape& shape);

/// The shape, the plan and everything that is drawn of it.
/// @param shape_text of its file, whose checksum the plan holds
std::vector<NamedText> files_of(const SawPlan& plan, const LogShape& shape,
                                const std::string& shape_text);

/// Where files lie once they are written to a folder.
std::vector<std::string> paths_of(const std::string& folder, const std::vector<NamedText>& files);

/// A text as a part of a file's name: its letters and digits with dashes between.
std::string plain_name(const std::string& text);

/// Each prints to standard output what a person wants to know and returns the exit code.
/// @throws UserError
int run_measure(const MeasureOptions& options);
int run_plan(const PlanOptions& options);
int run_compare(const CompareOptions& options);
int run_replay(const ReplayOptions& options);
int run_draw(const DrawOptions& options);
int run_replan(const ReplanOptions& options);

}  // namespace kerfwright::cli
