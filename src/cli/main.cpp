#include <CLI/CLI.hpp>
#include <cctype>
#include <iostream>
#include <locale>
#include <map>
#include <new>
#include <optional>
#include <sstream>

#include "commands.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/trade/species.hpp"

namespace {

using namespace kerfwright;
using namespace kerfwright::cli;

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

int run(int argc, char** argv) {
  CLI::App app{
      "kerfwright: how to turn, set and saw a log so that its boards are worth the most.\n"
      "Example: kerfwright plan cherry.ply --order cherry.order.toml --mill mill.toml --out plan"};
  app.require_subcommand(1);
  app.set_version_flag("--version", KERFWRIGHT_VERSION);

  MeasureOptions measure;
  ScanFlags measure_flags;
  auto* measure_command = app.add_subcommand(
      "measure", "Print what a log scaler wants to know. Example: kerfwright measure cherry.ply");
  add_scan_options(measure_command, measure.scan, measure_flags);
  measure_command->add_option("--shape", measure.shape_out, "Also write the shape to this file");
  measure_command->add_option("--mill", measure.mill,
                              "What the mill can do (TOML): is the log too heavy for it?");
  measure_command->add_option("--propose-marks", measure.proposed_out,
                              "Write what stands out of the surface to this file of marks, to be "
                              "checked by hand");

  PlanOptions plan;
  ScanFlags plan_flags;
  auto* plan_command = app.add_subcommand(
      "plan",
      "Find how to saw the log and draw it.\n"
      "Example: kerfwright plan cherry.ply --order cherry.order.toml --mill mill.toml --out plan");
  add_scan_options(plan_command, plan.scan, plan_flags);
  plan_command->add_option("--order", plan.order, "What is wanted (TOML)")->required();
  plan_command->add_option("--mill", plan.mill,
                           "What the mill can do (TOML); a chain-saw mill if not given");
  plan_command->add_option("--out", plan.out, "Folder for the plan, its shape and its drawings")
      ->required();
  plan_command
      ->add_option("--turn-step", plan.settings.turn_step,
                   "Degrees between the turns that are tried")
      ->check(CLI::Range(0.25, 45.0))
      ->capture_default_str();
  plan_command
      ->add_option("--lifts", plan.settings.lifts,
                   "Lifts that are tried at each turn, an odd number")
      ->check(CLI::Range(1, 21))
      ->capture_default_str();
  plan_command
      ->add_option("--margin", plan.settings.margin_sigmas,
                   "How many of its own standard deviations the surface is taken further in")
      ->check(CLI::Range(0.0, 5.0))
      ->capture_default_str();
  plan_command
      ->add_option("--threads", plan.settings.threads, "Threads; 0 = all. The plan is the same")
      ->check(CLI::Range(0, 1024))
      ->capture_default_str();

  std::string names;
  for (const std::string_view name : pattern_names) {
    names.append(names.empty() ? "" : ", ").append(name);
  }
  std::vector<std::string> patterns;
  plan_command
      ->add_option("--pattern", patterns,
                   "A way of sawing to allow, several times for several; all that suit the order "
                   "if not given: " +
                       names)
      ->type_name("NAME")
      ->take_all();

  ReplayOptions replay;
  auto* replay_command =
      app.add_subcommand("replay",
                         "Saw a plan on paper; exit code 0 only if every board is there.\n"
                         "Example: kerfwright replay plan/plan.json --shape plan/shape.json");
  replay_command->add_option("plan", replay.plan, "Plan file (.json)")->required();
  replay_command->add_option("--shape", replay.shape, "Shape file (.json)")->required();

  DrawOptions draw;
  auto* draw_command = app.add_subcommand(
      "draw", "Draw a plan again.\nExample: kerfwright draw plan/plan.json --out plan");
  draw_command->add_option("plan", draw.plan, "Plan file (.json)")->required();
  draw_command->add_option("--shape", draw.shape,
                           "Shape file (.json); shape.json beside the plan if not given");
  draw_command->add_option("--out", draw.out, "Folder for the drawings")->required();

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);
    throw UserError(Fault::usage, std::string(error.what()) + " (kerfwright --help shows the way)");
  }
  finish(measure.scan, measure_flags);
  finish(plan.scan, plan_flags);
  if (measure_command->parsed()) return run_measure(measure);
  for (const std::string& name : patterns) {
    plan.settings.patterns.push_back(pattern_named(name));
  }
  if (plan_command->parsed()) return run_plan(plan);
  if (draw_command->parsed()) return run_draw(draw);
  return run_replay(replay);
}

}  // namespace

int main(int argc, char** argv) {
  Fault fault = Fault::internal;
  try {
    return run(argc, argv);
  } catch (const UserError& error) {
    std::cerr << "kerfwright: " << error.what() << '\n';
    fault = error.fault();
  } catch (const std::bad_alloc&) {
    std::cerr << "kerfwright: Not enough memory for this; thin the scan or close other programs.\n";
  } catch (const std::exception& error) {
    std::cerr << "kerfwright: A fault of the program itself: " << error.what() << '\n';
  }
  return static_cast<int>(fault);
}
