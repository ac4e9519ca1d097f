#include "command_line.hpp"

#include <locale>
#include <memory>
#include <optional>
#include <sstream>

#include "commands.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/trade/species.hpp"

namespace kerfwright::cli {
namespace {

/// Words of the command line that say how a scan is to be read, before they are understood.
struct ScanFlags {
  std::string unit, up, near;
  std::optional<double> bark;
};

/// "x", "+x", "-x" and so on as a direction of the scan's own axes.
Eigen::Vector3d direction(const std::string& text) {
  const bool down = text.front() == '-';
  const char axis = text.back();
  const Eigen::Vector3d unit = axis == 'x'   ? Eigen::Vector3d::UnitX()
                               : axis == 'y' ? Eigen::Vector3d::UnitY()
                                             : Eigen::Vector3d::UnitZ();
  return down ? Eigen::Vector3d(-unit) : unit;
}

/// What a person can measure on the log, mm over bark.
void add_tape_options(CLI::App* command, TapedSizes& taped) {
  command
      ->add_option("--length", taped.length,
                   "Taped length of the log in mm; scales a cloud that has no scale")
      ->check(CLI::Range(50.0, 30000.0));
  const auto add = [&](const std::string& name, std::optional<double>& size,
                       const std::string& what) {
    command->add_option(name, size, what + ", mm over bark; scales the cloud too, or is compared")
        ->check(CLI::Range(20.0, 15000.0));
  };
  add("--butt-diameter", taped.butt_diameter, "Diameter at the thicker end");
  add("--butt-girth", taped.butt_girth, "Girth at the thicker end");
  add("--top-diameter", taped.top_diameter, "Diameter at the thinner end");
  add("--top-girth", taped.top_girth, "Girth at the thinner end");
}

void add_scan_options(CLI::App* command, ScanOptions& options, ScanFlags& flags) {
  command
      ->add_option(
          "scan", options.file,
          "Scan (PLY, PCD, LAS, OBJ, STL, GLB, glTF, or text with x y z) or a shape file (.json)")
      ->required();
  command->add_option("--unit", flags.unit, "Unit of the scan; guessed from its size if not given")
      ->check(CLI::IsMember({"m", "cm", "mm"}));
  add_tape_options(command, options.to_shape.find.taped);
  command->add_option(
      "--near", flags.near,
      "X,Y,Z: of several logs the one nearest to this point of the scan, in its own "
      "axes and unit; the longest if not given");
  command->add_option("--cleaned", options.cleaned_out,
                      "Also write the scan to this PLY file with a label and a colour for each "
                      "point: what is the log and what was taken away");
  command->add_option("--up", flags.up, "Which way of the scan is up; from the ground if not given")
      ->check(CLI::IsMember({"x", "y", "z", "+x", "+y", "+z", "-x", "-y", "-z"}));
  command->add_option("--marks", options.marks,
                      "What was seen in the log: pith, rot, metal, splits, knots, figure (TOML)");
  command->add_flag("--take-knots", options.take_knots,
                    "Take the stubs and bumps that the surface shows for knots");
  command->add_option("--bark", flags.bark, "Thickness of the bark in mm")
      ->check(CLI::Range(0.0, 150.0));
  command->add_option("--species", options.species,
                      "Species, for the bark where --bark is not given, the mass and the "
                      "shrinkage");
}

/// "X,Y,Z" as three numbers and nothing else.
Eigen::Vector3d point(const std::string& text) {
  Eigen::Vector3d place;
  std::istringstream stream(text);
  stream.imbue(std::locale::classic());
  char comma = ',';
  for (int k = 0; k < 3; ++k) {
    if (k > 0) stream >> comma;
    if (!(stream >> place[k]) || comma != ',')
      throw UserError(Fault::usage,
                      "--near takes three numbers with commas between, X,Y,Z in the "
                      "scan's axes and unit, not '" +
                          text + "'.");
  }
  if (!stream.eof() || !place.allFinite())
    throw UserError(Fault::usage,
                    "--near takes three numbers and nothing after them, not '" + text + "'.");
  return place;
}

void finish(ScanOptions& options, const ScanFlags& flags) {
  ScanToShape& to_shape = options.to_shape;
  if (flags.unit == "m") to_shape.read.unit = LengthUnit::metre;
  if (flags.unit == "cm") to_shape.read.unit = LengthUnit::centimetre;
  if (flags.unit == "mm") to_shape.read.unit = LengthUnit::millimetre;
  if (!flags.up.empty()) to_shape.find.up = direction(flags.up);
  if (!flags.near.empty()) to_shape.find.near = point(flags.near);
  options.bark_given = flags.bark.has_value();
  if (flags.bark) to_shape.shape.bark = {*flags.bark, 0.0, 0.0};
  if (options.species.empty()) return;
  const Species& species = find_species(options.species);
  if (!flags.bark) to_shape.shape.bark = bark_rule(species);
}

/// The options of a command and the words that are still to be understood.
template <class Options>
struct Asked {
  Options options;
  ScanFlags scan;
  std::vector<std::string> patterns;
};

std::vector<Pattern> patterns_named(const std::vector<std::string>& names) {
  std::vector<Pattern> patterns;
  for (const std::string& name : names) patterns.push_back(pattern_named(name));
  return patterns;
}

/// How widely and among what a plan is sought.
void add_search_options(CLI::App* command, PlanSettings& settings,
                        std::vector<std::string>& patterns) {
  command->add_option("--turn-step", settings.turn_step, "Degrees between the turns that are tried")
      ->check(CLI::Range(0.25, 45.0))
      ->capture_default_str();
  command->add_option("--lifts", settings.lifts, "Lifts that are tried at each turn, an odd number")
      ->check(CLI::Range(1, 21))
      ->capture_default_str();
  command
      ->add_option("--margin", settings.margin_sigmas,
                   "How many of its own standard deviations the surface is taken further in")
      ->check(CLI::Range(0.0, 5.0))
      ->capture_default_str();
  command->add_option("--threads", settings.threads, "Threads; 0 = all. The plan is the same")
      ->check(CLI::Range(0, 1024))
      ->capture_default_str();

  std::string names;
  for (const std::string_view name : pattern_names) {
    names.append(names.empty() ? "" : ", ").append(name);
  }
  command
      ->add_option("--pattern", patterns,
                   "A way of sawing to allow, several times for several; all that suit the order "
                   "if not given: " +
                       names)
      ->type_name("NAME")
      ->take_all();
}

void add_json(CLI::App* command, bool& json) {
  command->add_flag("--json", json, "Print JSON for a program instead of words");
}

void add_measure(CLI::App& app, Action& action) {
  const auto asked = std::make_shared<Asked<MeasureOptions>>();
  MeasureOptions& measure = asked->options;
  auto* command = app.add_subcommand(
      "measure", "Print what a log scaler wants to know.\nExample: kerfwright measure cherry.ply");
  add_scan_options(command, measure.scan, asked->scan);
  command->add_option("--shape", measure.shape_out, "Also write the shape to this file");
  command->add_option("--mill", measure.mill,
                      "What the mill can do (TOML): is the log too heavy for it?");
  command->add_option("--propose-marks", measure.proposed_out,
                      "Write what stands out of the surface to this file of marks, to be "
                      "checked by hand");
  add_json(command, measure.json);
  command->callback([asked, &action] {
    action = [asked] {
      finish(asked->options.scan, asked->scan);
      return run_measure(asked->options);
    };
  });
}

void add_plan(CLI::App& app, Action& action) {
  const auto asked = std::make_shared<Asked<PlanOptions>>();
  PlanOptions& plan = asked->options;
  auto* command = app.add_subcommand(
      "plan",
      "Find how to saw the log and draw it.\n"
      "Example: kerfwright plan cherry.ply --order cherry.order.toml --mill mill.toml --out plan");
  add_scan_options(command, plan.scan, asked->scan);
  command->add_option("--order", plan.order, "What is wanted (TOML)")->required();
  command->add_option("--mill", plan.mill,
                      "What the mill can do (TOML); a chain-saw mill if not given");
  command->add_option("--out", plan.out, "Folder for the plan, its shape and its drawings")
      ->required();
  add_json(command, plan.json);
  add_search_options(command, plan.settings, asked->patterns);
  command->callback([asked, &action] {
    action = [asked] {
      finish(asked->options.scan, asked->scan);
      asked->options.settings.patterns = patterns_named(asked->patterns);
      return run_plan(asked->options);
    };
  });
}

void add_compare(CLI::App& app, Action& action) {
  const auto asked = std::make_shared<Asked<CompareOptions>>();
  CompareOptions& compare = asked->options;
  auto* command = app.add_subcommand(
      "compare",
      "Plan every way of sawing and show them side by side, before the first cut.\n"
      "Example: kerfwright compare cherry.ply --order cherry.order.toml --mill mill.toml "
      "--out ways");
  add_scan_options(command, compare.scan, asked->scan);
  command->add_option("--order", compare.orders, "What is wanted (TOML); several times for several")
      ->required()
      ->take_all();
  command
      ->add_option("--mill", compare.mills,
                   "What the mill can do (TOML), as with another kerf; several times for several")
      ->take_all();
  command->add_option("--out", compare.out, "Folder for the comparison and the plans")->required();
  add_json(command, compare.json);
  add_search_options(command, compare.settings, asked->patterns);
  command->callback([asked, &action] {
    action = [asked] {
      finish(asked->options.scan, asked->scan);
      asked->options.settings.patterns = patterns_named(asked->patterns);
      return run_compare(asked->options);
    };
  });
}

void add_replay(CLI::App& app, Action& action) {
  const auto options = std::make_shared<ReplayOptions>();
  auto* command =
      app.add_subcommand("replay",
                         "Saw a plan on paper; exit code 0 only if every board is there.\n"
                         "Example: kerfwright replay plan/plan.json --shape plan/shape.json");
  command->add_option("plan", options->plan, "Plan file (.json)")->required();
  command->add_option("--shape", options->shape, "Shape file (.json)")->required();
  command->callback([options, &action] { action = [options] { return run_replay(*options); }; });
}

void add_draw(CLI::App& app, Action& action) {
  const auto options = std::make_shared<DrawOptions>();
  auto* command = app.add_subcommand(
      "draw", "Draw a plan again.\nExample: kerfwright draw plan/plan.json --out plan");
  command->add_option("plan", options->plan, "Plan file (.json)")->required();
  command->add_option("--shape", options->shape,
                      "Shape file (.json); shape.json beside the plan if not given");
  command->add_option("--out", options->out, "Folder for the drawings")->required();
  command->callback([options, &action] { action = [options] { return run_draw(*options); }; });
}

}  // namespace

const char* const about =
    "kerfwright: how to turn, set and saw a log so that its boards are worth the most.\n"
    "Example: kerfwright plan cherry.ply --order cherry.order.toml --mill mill.toml --out plan";

void add_commands(CLI::App& app, Action& action) {
  add_measure(app, action);
  add_plan(app, action);
  add_compare(app, action);
  add_replay(app, action);
  add_draw(app, action);
}

}  // namespace kerfwright::cli
