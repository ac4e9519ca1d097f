#include "command_line.hpp"

#include <algorithm>
#include <memory>
#include <optional>
#include <string>

#include "archive_commands.hpp"
#include "commands.hpp"
#include "help.hpp"
#include "length_option.hpp"
#include "need_command.hpp"
#include "order_command.hpp"
#include "scan_options.hpp"
#include "search_options.hpp"
#include "tally_command.hpp"
#include "trade/words.hpp"

namespace kerfwright::cli {
namespace {

/// How far off a person sets and the mill saws.
void add_error_options(CLI::App* command, PlanOptions& plan) {
  const auto add = [&](const std::string& name, std::optional<double>& error,
                       const std::string& what, double most) {
    return command->add_option(name, error, what + "; from the mill's file if not given")
        ->transform(with_unit())
        ->check(number_from(0.0, most));
  };
  const std::vector<CLI::Option*> errors = {
      add("--turn-error", plan.turn_error, "By how much a person usually turns the log too far",
          most_turn_error)
          ->type_name("DEGREES"),
      add("--lift-error", plan.lift_error, "By how much each end is usually lifted wrongly",
          most_lift_error)
          ->type_name("MM"),
      add("--blade-error", plan.blade_error,
          "By how much a cut usually is off, as a whole and again along it", most_blade_error)
          ->type_name("MM")};
  add_exact_setting(command, plan.settings)
      ->excludes("--turn-error")
      ->excludes("--lift-error")
      ->excludes("--blade-error");
  put_aside("How exactly it is set", errors);
}

void add_measure(CLI::App& app, Action& action) {
  const auto asked = std::make_shared<Asked<MeasureOptions>>();
  MeasureOptions& measure = asked->options;
  auto* command = app.add_subcommand(
      "measure", "Print what a log scaler wants to know.\nExample: kerfwright measure cherry.ply");
  add_scan_options(command, measure.scan, asked->scan);
  add_archive_option(command, measure.scan.archive);
  command->add_option("--shape", measure.shape_out, "Also write the shape to this file")
      ->type_name("FILE");
  command
      ->add_option("--mill", measure.mill,
                   "What the mill can do (TOML): is the log too heavy for it?")
      ->type_name("FILE");
  command
      ->add_option(
          "--propose-marks", measure.proposed_out,
          "Write what stands out of the surface to this file of marks, to be checked by hand")
      ->type_name("FILE");
  add_inch(command, measure.scan.inches, false);
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
  command->add_option("--order", plan.order, "What is wanted (TOML)")
      ->type_name("FILE")
      ->required();
  command->add_option("--out", plan.out, "For the plan, its shape and its drawings")
      ->type_name("FOLDER")
      ->required();
  command->add_option("--mill", plan.mill, "What the mill can do (TOML); else a chain-saw mill")
      ->type_name("FILE");
  add_scan_options(command, plan.scan, asked->scan);
  add_inch(command, plan.scan.inches);
  add_json(command, plan.json);
  add_archive_option(command, plan.scan.archive);
  command
      ->add_flag("--learned", plan.learned,
                 "Take kerf and sawing variation from the tallies of the archive")
      ->group(archive_group);
  add_time(command, plan.seconds);
  add_search_options(command, plan.settings, asked->patterns);
  add_gap(command, plan.settings.gap);
  add_error_options(command, plan);
  run_searching(command, asked, plan.settings, action, run_plan);
}

void add_compare(CLI::App& app, Action& action) {
  const auto asked = std::make_shared<Asked<CompareOptions>>();
  CompareOptions& compare = asked->options;
  auto* command = app.add_subcommand(
      "compare",
      "Plan every way of sawing and show them side by side, before the first cut.\n"
      "Example: kerfwright compare cherry.ply --order cherry.order.toml --mill mill.toml "
      "--out ways");
  command->add_option("--order", compare.orders, "What is wanted (TOML); several times for several")
      ->type_name("FILE")
      ->required()
      ->take_all();
  command->add_option("--out", compare.out, "For the comparison and the plans")
      ->type_name("FOLDER")
      ->required();
  command
      ->add_option("--mill", compare.mills,
                   "What the mill can do (TOML), as with another kerf; several times for several")
      ->type_name("FILE")
      ->take_all();
  add_scan_options(command, compare.scan, asked->scan);
  add_inch(command, compare.scan.inches);
  add_json(command, compare.json);
  add_archive_option(command, compare.scan.archive);
  add_time(command, compare.seconds);
  add_search_options(command, compare.settings, asked->patterns);
  add_gap(command, compare.settings.gap);
  add_exact_setting(command, compare.settings);
  run_searching(command, asked, compare.settings, action, run_compare);
}

void add_replay(CLI::App& app, Action& action) {
  const auto options = std::make_shared<ReplayOptions>();
  auto* command =
      app.add_subcommand("replay",
                         "Saw a plan on paper; exit code 0 only if every board is there.\n"
                         "Example: kerfwright replay plan/plan.json");
  command->add_option("plan", options->plan, "The plan's file (.json) or its folder")->required();
  command
      ->add_option("--shape", options->shape, "The log's; shape.json beside the plan if not given")
      ->type_name("FILE");
  run_with(command, options, action, run_replay);
}

void add_draw(CLI::App& app, Action& action) {
  const auto options = std::make_shared<DrawOptions>();
  auto* command = app.add_subcommand(
      "draw", "Draw a plan again.\nExample: kerfwright draw plan/plan.json --out plan");
  command->add_option("plan", options->plan, "The plan's file (.json) or its folder")->required();
  command
      ->add_option("--shape", options->shape, "The log's; shape.json beside the plan if not given")
      ->type_name("FILE");
  command->add_option("--out", options->out, "For the drawings")->type_name("FOLDER")->required();
  add_inch(command, options->inches);
  run_with(command, options, action, run_draw);
}

void add_replan(CLI::App& app, Action& action) {
  const auto options = std::make_shared<ReplanOptions>();
  auto* command = app.add_subcommand(
      "replan",
      "Plan what is left once some cuts are made, by what was found inside.\n"
      "Example: kerfwright replan plan/plan.json --done 4 --marks found.toml --out plan-after-4");
  command
      ->add_option("plan", options->plan, "What was sawn from: the plan's file (.json) or folder")
      ->required();
  command
      ->add_option("--shape", options->shape, "The log's; shape.json beside the plan if not given")
      ->type_name("FILE");
  command
      ->add_option("--done", options->done,
                   "The last cut that is made, with all before it; 0 = none")
      ->type_name("N")
      ->required()
      ->check(number_from(0, 1000000));
  command->add_option("--out", options->out, "For the new plan, its shape and its drawings")
      ->type_name("FOLDER")
      ->required();
  command
      ->add_option("--marks", options->marks,
                   "What was found in the log: rot, metal, splits, knots (TOML)")
      ->type_name("FILE");
  command
      ->add_option("--face-widths", options->face_widths,
                   "How wide the last new face is without bark, at butt, middle and top, with "
                   "commas between")
      ->type_name("MM,MM,MM")
      ->delimiter(',')
      ->transform(with_unit())
      ->expected(3)
      ->check(mm_from(0.0, 5000.0));
  add_inch(command, options->inches);
  add_json(command, options->json);
  add_step_options(command, options->settings);
  run_with(command, options, action, run_replan);
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
  add_replan(app, action);
  add_order(app, action);
  add_need(app, action);
  add_archive(app, action);
  add_tally(app, action);
}

std::string of_no_command(const CLI::App& app, const std::string& word) {
  if (word.empty() || word[0] == '-') return "";
  std::vector<std::string> names;
  for (const CLI::App* command : app.get_subcommands([](const CLI::App*) { return true; })) {
    names.push_back(command->get_name());
  }
  if (std::find(names.begin(), names.end(), word) != names.end()) return "";
  const auto near = close_words(word, names, 1);
  return in_quotes(word) + " is no command of kerfwright" +
         (near.empty() ? "" : "; did you mean " + in_quotes(near.front()) + "?");
}

}  // namespace kerfwright::cli
