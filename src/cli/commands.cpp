#include "commands.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <iostream>
#include <sstream>

#include "archived_log.hpp"
#include "interrupt.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/fixed.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/shape/bumps.hpp"
#include "kerfwright/shape/log_scale.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/read_marks.hpp"
#include "kerfwright/sheet/figures_json.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "kerfwright/trade/inches.hpp"
#include "kerfwright/trade/species.hpp"
#include "plan_given.hpp"
#include "plan_words.hpp"
#include "progress.hpp"
#include "tally_command.hpp"
#include "watching.hpp"

namespace kerfwright::cli {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

bool is_shape_file(const std::string& path) {
  return std::filesystem::path(path).extension() == ".json";
}

/// A shape from its own file, or fitted to a scan: read, find the log, fit.
ShapeOfScan unmarked_shape(const ScanOptions& options) {
  const bool archived = is_archived(options.file);
  if (!archived && !is_shape_file(options.file)) {
    Progress progress(1);
    progress.step("reading " + std::filesystem::path(options.file).filename().string() +
                  ", finding the log and its shape");
    return shape_of_scan(options.file, options.to_shape);
  }
  if (!options.cleaned_out.empty())
    throw UserError(
        Fault::usage,
        "'" + options.file + "' is a shape and holds no points: --cleaned needs the scan.");
  if (archived) return {archived_shape(options), {}, {}};
  return {shape_from_json(read_file(options.file), options.file), {}, {}};
}

/// What stands out of the surface, and of the points where there are any.
std::vector<Bump> bumps_of(const ShapeOfScan& log) {
  return find_bumps(log.shape, bark_points(log.scan, log.labels, log.shape));
}

/// The bytes of the file that shows what was taken for what; empty where none is asked for.
std::string cleaned_scan(const ScanOptions& options, ShapeOfScan& log) {
  if (options.cleaned_out.empty()) return {};
  std::string bytes = labelled_ply(log.scan, log.labels);
  log.scan = {};
  return bytes;
}

}  // namespace

void print_notes(const LogShape& shape, bool inches) {
  for (const std::string& note : shape.notes)
    std::cout << "  " << (inches ? sentence_in_inches(note) : note) << '\n';
}

Mill load_mill(const std::string& file, bool inches) {
  const Mill mill = file.empty() ? Mill{} : read_mill(file);
  return inches ? in_inches(mill) : mill;
}

ScanOptions with_bark_of(const std::string& species, ScanOptions options) {
  const bool told = options.bark_given || !options.species.empty();
  if (!told && !species.empty()) options.to_shape.shape.bark = bark_rule(find_species(species));
  return options;
}

std::string bark_warning(const ScanOptions& options, const LogShape& shape) {
  if (options.bark_given || shape.bark > 0.0) return "";
  return "  No bark is taken off, so that boards may reach into it: --bark says how thick it is (0 "
         "where there is none), or --species.\n";
}

ShapeOfScan load_shape(const ScanOptions& options) {
  ShapeOfScan log = unmarked_shape(options);
  if (options.bark_given) put_bark(log.shape, options.to_shape.shape.bark);
  if (!options.marks.empty()) log.shape.marks = read_marks(options.marks, log.shape);
  if (options.take_knots) {
    auto& knots = log.shape.marks.knots;
    const auto proposed = proposed_knots(log.shape, bumps_of(log));
    knots.insert(knots.end(), proposed.begin(), proposed.end());
  }
  return log;
}

namespace {

/// Empty where nobody asked for it.
std::string mass_text(const LogShape& shape, const std::string& species,
                      const std::optional<Mill>& mill, bool inches) {
  if (!species.empty()) return describe_mass(shape, find_species(species), mill, inches);
  return mill ? "Mass      name the --species to know it\n" : "";
}

/// The files that the command line names.
/// @param cleaned the scan with its labels; empty where it is not asked for
void write_asked_for(const MeasureOptions& options, const LogShape& shape,
                     const std::vector<Bump>& bumps, const std::string& cleaned) {
  const Undisturbed undisturbed;
  if (!options.shape_out.empty()) write_file(options.shape_out, shape_to_json(shape));
  if (!cleaned.empty()) write_file(options.scan.cleaned_out, cleaned);
  if (!options.proposed_out.empty()) {
    write_file(options.proposed_out, proposed_marks(shape, bumps, shape.source.file));
  }
}

}  // namespace

int run_measure(const MeasureOptions& options) {
  std::optional<Mill> mill;
  if (!options.mill.empty()) mill = read_mill(options.mill);
  ShapeOfScan log = load_shape(options.scan);
  const LogShape& shape = log.shape;
  const std::vector<Bump> bumps = bumps_of(log);
  const std::string cleaned = cleaned_scan(options.scan, log);
  write_asked_for(options, shape, bumps, cleaned);
  if (options.json) {
    std::cout << measures_json(shape);
    return 0;
  }
  std::cout << options.scan.file << '\n';
  const bool inches = options.scan.inches || (mill && mill->inches);
  print_notes(shape, inches);
  std::cout << describe(measure(shape), inches)
            << mass_text(shape, species_of(options.scan), mill, inches)
            << describe(sweep_loss(shape), inches) << describe(bumps, inches)
            << describe(scale_log(shape), inches);
  return 0;
}

/// The mill with what the command line says of errors.
Mill with_errors_of(const PlanOptions& options) {
  Mill mill = load_mill(options.mill, options.scan.inches);
  mill.turn_error = options.turn_error.value_or(mill.turn_error);
  mill.lift_error = options.lift_error.value_or(mill.lift_error);
  mill.blade_error = options.blade_error.value_or(mill.blade_error);
  return mill;
}

namespace {

/// @param ended_early why the search was ended early, empty where it was not
SawPlan planned(const LogShape& shape, const Order& order, const Mill& mill,
                const PlanOptions& options, PlanSettings settings, std::string& ended_early) {
  Watching watching(options.seconds);
  settings.watch = watching.watch();
  SawPlan plan = plan_log(shape, order, mill, settings);
  ended_early = watching.ended_early();
  return plan;
}

}  // namespace

int run_plan(const PlanOptions& options) {
  const auto start = Clock::now();
  Order order = read_order(options.order);
  if (order.species.empty()) order.species = species_of(options.scan);
  Mill mill = with_errors_of(options);
  if (options.learned) mill = mill_of_tallies(mill, options.scan.archive, options.json);
  ShapeOfScan log = load_shape(with_bark_of(order.species, options.scan));
  const LogShape& shape = log.shape;
  refuse_plan_of_another_log(options.out, shape.source.file);
  const std::vector<Bump> bumps = bumps_of(log);
  const std::string cleaned = cleaned_scan(options.scan, log);
  const double shape_seconds = seconds_since(start);
  std::string ended_early;
  SawPlan plan = planned(shape, order, mill, options, options.settings, ended_early);
  const std::string shape_text = shape_to_json(shape);
  plan.shape_sha256 = sha256_hex(shape_text);
  const auto files = files_of(plan, shape, shape_text);
  write_all(options.out, files);
  if (!cleaned.empty()) {
    const Undisturbed undisturbed;
    write_file(options.scan.cleaned_out, cleaned);
  }
  const std::string kept = keep_plan(options.scan, plan.shape_sha256, plan_to_json(plan));
  if (options.json) {
    std::cout << plan_figures_json(plan, shape, paths_of(options.out, files));
    return 0;
  }
  std::cout << options.scan.file << '\n';
  print_notes(shape, plan.mill.inches);
  std::cout << bark_warning(options.scan, shape);
  print_plan(plan, shape, order, options.settings, ended_early_words(ended_early, "plan"));
  std::cout << "Written: " << (std::filesystem::path(options.out) / "saw-sheet.html").string()
            << ", the sheet to saw from; the rest lies beside it\n"
            << kept << "Took " << fixed(seconds_since(start), 1) << " s, "
            << fixed(shape_seconds, 1) << " s of it to read and fit\n";
  return 0;
}

int run_replay(const ReplayOptions& options) {
  const auto [plan, shape, shape_file, its_own] = read_plan_and_shape(options.plan, options.shape);
  const Replay result = replay(plan, shape);
  if (!its_own) {
    std::cout << "Note: the plan was made on another shape file than '" << shape_file << "'.\n";
  }
  for (const std::string& sentence : result.sentences) {
    std::cout << (plan.mill.inches ? sentence_in_inches(sentence) : sentence) << '\n';
  }
  const std::size_t there = plan.boards.size() - result.missing.size();
  std::cout << there << " of " << plan.boards.size() << " boards are there, worth "
            << fixed(result.value_found, 2) << ' ' << plan.order.currency << ".\n";
  if (result.complete) return 0;
  throw UserError(Fault::plan_does_not_replay, "The plan '" + options.plan +
                                                   "' does not come out of '" + shape_file +
                                                   "': see the sentences above.");
}

}  // namespace kerfwright::cli
