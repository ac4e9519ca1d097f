#include "commands.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <iostream>
#include <map>
#include <sstream>

#include "archived_log.hpp"
#include "interrupt.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/saw/opening.hpp"
#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/shape/bumps.hpp"
#include "kerfwright/shape/log_scale.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/read_marks.hpp"
#include "kerfwright/sheet/cautions.hpp"
#include "kerfwright/sheet/figures_json.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/saw_steps.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "kerfwright/trade/inches.hpp"
#include "kerfwright/trade/species.hpp"
#include "tally_command.hpp"
#include "watching.hpp"

namespace kerfwright::cli {
namespace {

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

std::string fixed(double value, int decimals) {
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

bool is_shape_file(const std::string& path) {
  return std::filesystem::path(path).extension() == ".json";
}

/// A shape from its own file, or fitted to a scan: read, find the log, fit.
ShapeOfScan unmarked_shape(const ScanOptions& options) {
  const bool archived = is_archived(options.file);
  if (!archived && !is_shape_file(options.file))
    return shape_of_scan(options.file, options.to_shape);
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

/// A length as it is told: mm with so many decimals, or inches to sixteenths.
std::string length(const Mill& mill, double mm, int decimals = 0) {
  return mill.inches ? inch_text(mm) + " in" : fixed(mm, decimals) + " mm";
}

void print_notes(const LogShape& shape, bool inches) {
  for (const std::string& note : shape.notes)
    std::cout << "  " << (inches ? sentence_in_inches(note) : note) << '\n';
}

/// What there is of one product in one length; slabs are as wide as they come.
struct Lot {
  int count = 0;
  double narrowest = 1e9, widest = 0;  // mm
};

/// A size as it is sawn, without its unit.
std::string sawn_size(const Mill& mill, double mm) {
  std::ostringstream text;
  text << mm;
  return mill.inches ? inch_text(mm, 32) : text.str();
}

void print_lot(const Mill& mill, const Product& product, const Lot& lot, double board_length) {
  const auto mean = [&](double mm) { return mill.inches ? inch_text(mm) : fixed(mm, 0); };
  std::cout << "  " << lot.count << " x " << product.name << ", "
            << sawn_size(mill, product.thickness) << " x ";
  if (product.live_edge) {
    std::cout << mean(lot.narrowest);
    if (lot.count > 1) std::cout << " to " << mean(lot.widest);
    std::cout << " (mean)";
  } else {
    std::cout << sawn_size(mill, product.width);
  }
  std::cout << " x " << sawn_size(mill, board_length) << (mill.inches ? " in\n" : " mm\n");
}

void print_boards(const SawPlan& plan) {
  std::map<std::pair<std::string, double>, Lot> lots;
  for (const Board& board : plan.boards) {
    Lot& lot = lots[{board.product, board.length}];
    ++lot.count;
    lot.narrowest = std::min(lot.narrowest, board.width);
    lot.widest = std::max(lot.widest, board.width);
  }
  for (const Product& product : plan.order.products) {
    for (const double length : product.lengths) {
      const auto found = lots.find({product.name, length});
      if (found == lots.end()) continue;
      print_lot(plan.mill, product, found->second, length);
    }
  }
}

/// Which sizes come out larger than they were asked for.
void print_spare(const SawPlan& plan, const Order& asked) {
  constexpr double told = 0.05;  // mm
  for (const Product& product : plan.order.products) {
    const auto wish = std::find_if(asked.products.begin(), asked.products.end(),
                                   [&](const Product& p) { return p.name == product.name; });
    const bool comes = std::any_of(plan.boards.begin(), plan.boards.end(), [&](const Board& board) {
      return board.product == product.name;
    });
    if (!comes || wish == asked.products.end() || wish->finished ||
        product.thickness < wish->thickness + told) {
      continue;
    }
    const std::string unit = plan.mill.inches ? " in" : " mm";
    std::cout << "  " << product.name << " is sawn " << sawn_size(plan.mill, product.thickness)
              << unit << " thick instead of " << sawn_size(plan.mill, wish->thickness) << unit
              << ": with a kerf between boards the height scale can be set to no less\n";
  }
}

/// Where the log is cut to parts before anything else.
void print_cross_cuts(const SawPlan& plan) {
  for (const Cut& cut : plan.cuts) {
    const auto setup = std::find_if(plan.setups.begin(), plan.setups.end(),
                                    [&](const Setup& s) { return s.n == cut.setup; });
    if (setup == plan.setups.end() || setup->kind != SetupKind::cross_cut) break;
    std::cout << "Cross-cut first, " << length(plan.mill, cut.point.x())
              << " from the butt, square to the log there: " << cut.below << " and " << cut.above
              << '\n';
  }
}

/// Where the sheet says that a log or a part of it is laid for its first cut.
const Stage* opening_stage(const SawSteps& steps, const std::string& piece) {
  const auto found = std::find_if(steps.stages.begin(), steps.stages.end(), [&](const Stage& s) {
    return on_mill(s.kind) && s.part.value_or("log") == piece;
  });
  return found == steps.stages.end() || found->cuts.empty() ? nullptr : &*found;
}

/// The numbers of the sheet, so that nobody sets another height than it tells.
void print_laying(const Stage& stage, const Mill& mill) {
  std::cout << "  block up its underside: ";
  for (std::size_t i = 0; i < stage.supports.size(); ++i) {
    const Support& support = stage.supports[i];
    std::cout << (i == 0 ? "" : ", ") << length(mill, support.raise) << " at "
              << length(mill, support.place) << " from its butt end";
  }
  std::cout << "\n  first cut " << sawn_size(mill, stage.cuts.front().height)
            << (mill.inches ? " in" : " mm")
            << " above the bed (underside of the blade); the centre of the butt is then "
            << length(mill, stage.centre_butt) << ", that of the top "
            << length(mill, stage.centre_top) << " above it\n";
}

void print_opening(const Opening& opening, const SawSteps& steps, const Mill& mill) {
  const bool whole = opening.piece == "log";
  std::cout << "Opening face" << (whole ? "" : " of " + opening.piece) << "\n  turn the "
            << (whole ? "log " : "part ") << fixed(opening.turn < 359.95 ? opening.turn : 0.0, 1)
            << " degrees clockwise, seen from the butt, from how it lay when scanned\n";
  if (const Stage* stage = opening_stage(steps, opening.piece)) print_laying(*stage, mill);
  if (opening.slab_butt <= 0.0 && opening.slab_top <= 0.0) {
    std::cout << "  it meets the log only between the ends\n";
  } else {
    std::cout << "  the slab is " << length(mill, opening.slab_butt) << " thick at the butt, "
              << length(mill, opening.slab_top) << " at the top, bark included\n";
  }
}

void print_totals(const SawPlan& plan) {
  const Totals& totals = plan.totals;
  std::cout << "Value " << fixed(totals.value, 2) << ' ' << plan.order.currency;
  if (plan.mill.hourly_rate > 0.0) {
    std::cout << ", net of " << fixed(totals.hours, 1) << " hours " << fixed(totals.net, 2) << ' '
              << plan.order.currency;
  }
  std::cout << "; " << plan.boards.size() << " boards, " << fixed(totals.board_m3, 3) << " of "
            << fixed(totals.log_m3, 3) << " m3, yield " << fixed(100.0 * totals.yield, 1)
            << " %; sawn " << pattern_words(plan.pattern) << "; " << plan.cuts.size() << " cuts\n";
  for (const auto& words : {expectation_words(plan), bound_words(plan)}) {
    if (words) std::cout << *words << '\n';
  }
}

/// Says why a gap was asked for and none is told.
void print_lack_of_bound(const PlanSettings& settings, const SawPlan& plan) {
  if (!settings.gap || plan.totals.bound) return;
  const bool live = settings.patterns == std::vector<Pattern>{Pattern::live};
  std::cout << "How near to the best this is, is not known: "
            << (live ? "there was no time to bound what the log can give; give it more.\n"
                     : "there is a bound for sawing through and through only; add --pattern "
                       "live.\n");
}

void print_cautions() {
  for (const char* line : cautions) std::cout << line << '\n';
}

}  // namespace

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
                      const std::optional<Mill>& mill) {
  if (!species.empty()) return describe_mass(shape, find_species(species), mill);
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
  std::cout << describe(measure(shape), inches) << mass_text(shape, species_of(options.scan), mill)
            << describe(sweep_loss(shape)) << describe(bumps, inches) << describe(scale_log(shape));
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
  print_totals(plan);
  std::cout << ended_early_words(ended_early, "plan");
  print_lack_of_bound(options.settings, plan);
  print_boards(plan);
  print_spare(plan, order);
  print_cross_cuts(plan);
  const SawSteps steps = saw_steps(plan, shape);
  for (const Opening& opening : openings_of(plan, shape)) {
    print_opening(opening, steps, plan.mill);
  }
  print_cautions();
  std::cout << "Written: " << (std::filesystem::path(options.out) / "saw-sheet.html").string()
            << ", the sheet to saw from; the rest lies beside it\n"
            << kept << "Took " << fixed(seconds_since(start), 1) << " s, "
            << fixed(shape_seconds, 1) << " s of it to read and fit\n";
  return 0;
}

int run_replay(const ReplayOptions& options) {
  const SawPlan plan = plan_from_json(read_file(options.plan), options.plan);
  const auto beside = std::filesystem::path(options.plan).parent_path() / "shape.json";
  const std::string shape_file = options.shape.empty() ? beside.string() : options.shape;
  const std::string shape_text = read_file(shape_file);
  const LogShape shape = shape_from_json(shape_text, shape_file);
  const Replay result = replay(plan, shape);
  if (plan.shape_sha256 != sha256_hex(shape_text)) {
    std::cout << "Note: the plan was made on another shape file than '" << shape_file << "'.\n";
  }
  for (const std::string& sentence : result.sentences) std::cout << sentence << '\n';
  const std::size_t there = plan.boards.size() - result.missing.size();
  std::cout << there << " of " << plan.boards.size() << " boards are there, worth "
            << fixed(result.value_found, 2) << ' ' << plan.order.currency << ".\n";
  if (result.complete) return 0;
  throw UserError(Fault::plan_does_not_replay, "The plan '" + options.plan +
                                                   "' does not come out of '" + shape_file +
                                                   "': see the sentences above.");
}

}  // namespace kerfwright::cli
