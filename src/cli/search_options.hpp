#pragma once

#include <CLI/CLI.hpp>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "command_line.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "scan_options.hpp"

/// Options that several commands have, each written once.
namespace kerfwright::cli {

void add_json(CLI::App* command, bool& json);

/// Seconds that a search may take.
void add_time(CLI::App* command, std::optional<double>& seconds);

/// How near to the best a plan is to be proven.
void add_gap(CLI::App* command, std::optional<double>& gap);

/// Whether the plan is chosen as if nothing could be set wrongly; as a rule it is not.
CLI::Option* add_exact_setting(CLI::App* command, PlanSettings& settings);

/// How widely a plan is sought.
void add_step_options(CLI::App* command, PlanSettings& settings);

/// How widely and among what a plan is sought.
void add_search_options(CLI::App* command, PlanSettings& settings,
                        std::vector<std::string>& patterns);

std::vector<Pattern> patterns_named(const std::vector<std::string>& names);

/// The options of a command that reads scans, and the words that are still to be understood.
template <class Options>
struct Asked {
  Options options;
  ScanFlags scan;
  std::vector<std::string> patterns;
};

/// Lets a command that searches run once its words are understood.
/// @param settings within the options
template <class Options>
void run_searching(CLI::App* command, const std::shared_ptr<Asked<Options>>& asked,
                   PlanSettings& settings, Action& action, int (*run)(const Options&)) {
  command->callback([asked, &settings, &action, run] {
    action = [asked, &settings, run] {
      finish(asked->options.scan, asked->scan);
      settings.patterns = patterns_named(asked->patterns);
      return run(asked->options);
    };
  });
}

}  // namespace kerfwright::cli
