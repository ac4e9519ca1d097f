#include "search_options.hpp"

#include "help.hpp"

namespace kerfwright::cli {
namespace {

const char* const search_group = "How widely is sought";

}  // namespace

std::vector<Pattern> patterns_named(const std::vector<std::string>& names) {
  std::vector<Pattern> patterns;
  for (const std::string& name : names) patterns.push_back(pattern_named(name));
  return patterns;
}

void add_json(CLI::App* command, bool& json) {
  command->add_flag("--json", json, "Print JSON for a program instead of words");
}

void add_time(CLI::App* command, std::optional<double>& seconds) {
  command
      ->add_option("--time", seconds, "Ends the search, as Ctrl-C does; the best by then is kept")
      ->type_name("SECONDS")
      ->check(number_from(0.0, 1e6));
}

void add_gap(CLI::App* command, std::optional<double>& gap) {
  command
      ->add_option(
          "--gap", gap,
          "Go on until the plan is proven to be within so much of the best that sawing through "
          "and through and cants, where they are allowed, can give with lanes that lie "
          "level; --time and Ctrl-C end it sooner")
      ->type_name("PERCENT")
      ->check(number_from(0.0, 100.0))
      ->group(search_group);
}

CLI::Option* add_exact_setting(CLI::App* command, PlanSettings& settings) {
  settings.draws = usual_draws;
  auto* option = command->add_flag_callback(
      "--exact-setting", [&settings] { settings.draws = 0; },
      "Take the plan that gives most when all is set exactly; else it is the one that pays best "
      "when turn, lifts and blade are a little off as usual, and what it gives then is told");
  return option->group("How exactly it is set");
}

void add_step_options(CLI::App* command, PlanSettings& settings) {
  put_aside(
      search_group,
      {command->add_option("--turn-step", settings.turn_step, "Between the turns that are tried")
           ->type_name("DEGREES")
           ->check(number_from(0.25, 45.0))
           ->capture_default_str(),
       command
           ->add_option("--lifts", settings.lifts,
                        "Lifts that are tried at each turn, an odd number")
           ->type_name("N")
           ->check(number_from(1, 21))
           ->capture_default_str(),
       command
           ->add_option("--margin", settings.margin_sigmas,
                        "How many of its own standard deviations the surface is taken further in")
           ->type_name("N")
           ->check(number_from(0.0, 5.0))
           ->capture_default_str(),
       command->add_option("--threads", settings.threads, "Threads; 0 = all. The plan is the same")
           ->type_name("N")
           ->check(number_from(0, 1024))
           ->capture_default_str()});
}

void add_search_options(CLI::App* command, PlanSettings& settings,
                        std::vector<std::string>& patterns) {
  add_step_options(command, settings);
  std::string names;
  for (const std::string_view name : pattern_names) {
    names.append(names.empty() ? "" : ", ").append(name);
  }
  command
      ->add_option(
          "--pattern", patterns,
          "A way of sawing to allow, several times or with commas for several; all if not given: " +
              names)
      ->type_name("NAME")
      ->delimiter(',')
      ->take_all();
}

}  // namespace kerfwright::cli
