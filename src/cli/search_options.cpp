#include "search_options.hpp"

namespace kerfwright::cli {

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
      ->add_option(
          "--time", seconds,
          "Seconds that the search may take; the best plan by then is kept. Ctrl-C does the "
          "same at once")
      ->check(CLI::Range(0.0, 1e6));
}

void add_gap(CLI::App* command, std::optional<double>& gap) {
  // Written so that what is no number is refused too.
  const auto check = [](const std::string& text) {
    double value = -1.0;
    const bool read = CLI::detail::lexical_cast(text, value);
    if (read && value >= 0.0 && value <= 100.0) return std::string();
    return "--gap takes a number from 0 to 100, not '" + text + "'";
  };
  command
      ->add_option("--gap", gap,
                   "Per cent: with --pattern live go on until the plan is proven to be within so "
                   "much of the best with lanes that lie level; --time and Ctrl-C end it sooner")
      ->check(check);
}

CLI::Option* add_exact_setting(CLI::App* command, PlanSettings& settings) {
  settings.draws = usual_draws;
  return command->add_flag_callback(
      "--exact-setting", [&settings] { settings.draws = 0; },
      "Take the plan that gives most when all is set exactly; else it is the one that pays best "
      "when turn, lifts and blade are a little off as usual, and what it gives then is told");
}

void add_step_options(CLI::App* command, PlanSettings& settings) {
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
}

void add_search_options(CLI::App* command, PlanSettings& settings,
                        std::vector<std::string>& patterns) {
  add_step_options(command, settings);
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

}  // namespace kerfwright::cli
