// How good the fit is: random logs, scans of them as a phone sees them, and the fitted shape
// against the truth, with medians and the worst. Nothing here is asserted; the tables are for
// DEVELOPERS.md.

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <functional>
#include <optional>
#include <vector>

#include "kerfwright/error.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/measure.hpp"
#include "report/errors.hpp"
#include "report/real_stems.hpp"
#include "report/rivals.hpp"
#include "report/trial.hpp"

namespace {

using namespace kerfwright;

struct Judged {
  SplitErrors radii;
  double volume = 0, length = 0, sweep = 0;  ///< percent, mm, mm
};

struct Result {
  int seed = 0;
  Judged model, cells, circles;
  double smalian = 0, frustum = 0;  ///< percent of the volume
};

struct Group {
  const char* name;
  TrialSettings settings;
  bool rivals = true;
  std::vector<Result> results = {};
  int lost = 0;
};

Judged judge_shape(const LogShape& shape, const Trial& trial) {
  Judged judged;
  judged.radii = compare_radii(shape, trial.log, trial.file_to_truth);
  const LogMeasures measures = measure(shape);
  judged.volume = 100.0 * (measures.volume_over_bark / volume_m3(trial.log, false) - 1.0);
  judged.length = measures.length - trial.log.length;
  judged.sweep = measures.sweep - true_sweep(trial.log);
  return judged;
}

Result judge_log(const TrialSettings& settings, int seed, bool rivals) {
  const Trial trial = make_trial(settings, seed);
  const Scan found = settings.whole ? find_log(trial.scan, {}) : trial.scan;
  const LogShape shape = fit_shape(found, {});
  if (!rivals) return {seed, judge_shape(shape, trial), {}, {}};
  const TapedVolumes tape = taped(trial.log);
  const double volume = volume_m3(trial.log, false);
  return {seed,
          judge_shape(shape, trial),
          judge_shape(cell_medians(found, shape), trial),
          judge_shape(circles_by_slice(found, shape), trial),
          100.0 * (tape.smalian / volume - 1.0),
          100.0 * (tape.frustum / volume - 1.0)};
}

void print_errors(const Errors& e) {
  std::printf(" | %5.2f %+6.2f %5.2f %5.1f", e.rmse(), e.bias(), e.mean_sigma(),
              e.within_percent());
}

void print_log(const Result& r) {
  std::printf("log %-6d", r.seed);
  print_errors(r.model.radii.seen);
  print_errors(r.model.radii.inferred);
  print_errors(r.model.radii.featured);
  std::printf(" | %+6.2f %+6.1f %+6.1f\n", r.model.volume, r.model.length, r.model.sweep);
}

/// Logs side by side on all threads; each fit then runs on one.
void run(Group& group, int first, int logs, bool each) {
  std::vector<std::optional<Result>> results(static_cast<std::size_t>(logs));
  std::vector<std::string> failures(static_cast<std::size_t>(logs));
#pragma omp parallel for schedule(dynamic)
  for (int i = 0; i < logs; ++i) {
    const auto place = static_cast<std::size_t>(i);
    try {
      results[place] = judge_log(group.settings, first + i, group.rivals);
    } catch (const UserError& error) {
      failures[place] = error.what();
    }
  }
  if (each) {
    std::printf(
        "\n%s: seen: rmse, bias, sigma, %% in 2 sigma | inferred | hidden features | "
        "volume %% length sweep\n",
        group.name);
  }
  for (std::size_t i = 0; i < results.size(); ++i) {
    if (results[i] && each) print_log(*results[i]);
    if (results[i]) group.results.push_back(*results[i]);
    if (!results[i])
      std::printf("log %zu: %s\n", i + static_cast<std::size_t>(first), failures[i].c_str());
  }
  group.lost = logs - static_cast<int>(group.results.size());
}

using Figure = std::function<double(const Result&)>;

std::vector<double> sorted(const Group& group, const Figure& figure) {
  std::vector<double> sizes;
  for (const Result& r : group.results) sizes.push_back(figure(r));
  std::sort(sizes.begin(), sizes.end());
  return sizes;
}

/// One row of a table: median, what nine in ten stay below, and the worst.
void print_row(const char* name, const Group& group, const Figure& figure) {
  const auto sizes = sorted(group, [&](const Result& r) { return std::abs(figure(r)); });
  std::printf("| %-48s | %6.2f | %6.2f | %6.2f |\n", name, sizes[sizes.size() / 2],
              sizes[sizes.size() * 9 / 10], sizes.back());
}

/// Share of the radii within two sigmas: of all logs together, and how the logs differ.
void print_share(const char* name, const Group& group, Errors SplitErrors::*part) {
  Errors all;
  std::vector<double> shares;
  for (const Result& r : group.results) {
    const Errors& errors = r.model.radii.*part;
    all.add(errors);
    if (errors.count >= 100) shares.push_back(errors.within_percent());
  }
  std::sort(shares.begin(), shares.end());
  if (shares.empty()) return;
  std::printf("| %-48s | %6.1f | %6.1f | %6.1f | %6.1f | %6.1f |\n", name, all.within_percent(),
              shares.front(), shares[shares.size() / 10], shares[shares.size() / 2],
              shares[shares.size() * 9 / 10]);
}

/// The model beside what one would do instead, on the same points: medians, nine in ten below.
void print_rivals(const Group& group) {
  std::printf(
      "\n| beside | seen, RMSE, mm | inferred, RMSE, mm | volume, %% |\n| --- | --- | --- | --- "
      "|\n");
  const auto two = [&](const Figure& figure) {
    const auto sizes = sorted(group, [&](const Result& r) { return std::abs(figure(r)); });
    std::printf(" %6.2f (%6.2f) |", sizes[sizes.size() / 2], sizes[sizes.size() * 9 / 10]);
  };
  const auto fitted = [&](const char* name, Judged Result::*rival) {
    std::printf("| %-36s |", name);
    two([=](const Result& r) { return (r.*rival).radii.seen.rmse(); });
    two([=](const Result& r) { return (r.*rival).radii.inferred.rmse(); });
    two([=](const Result& r) { return (r.*rival).volume; });
    std::printf("\n");
  };
  fitted("the model", &Result::model);
  fitted("cell medians, second differences", &Result::cells);
  fitted("circles by slice", &Result::circles);
  for (const auto& [name, of] : {std::pair{"two taped ends, Smalian", &Result::smalian},
                                 std::pair{"two taped ends, frustum", &Result::frustum}}) {
    std::printf("| %-36s | - | - |", name);
    two([of = of](const Result& r) { return r.*of; });
    std::printf("\n");
  }
}

void print_group(const Group& group) {
  std::printf("\n%s (%zu logs found, %d not)\n\n", group.name, group.results.size(), group.lost);
  if (group.results.empty()) return;
  std::printf("| what | median | nine in ten below | worst |\n| --- | --- | --- | --- |\n");
  const auto radii = [&](const char* name, Errors SplitErrors::*part,
                         double (Errors::*of)() const) {
    print_row(name, group, [=](const Result& r) { return (r.model.radii.*part.*of)(); });
  };
  radii("radius seen, RMSE, mm", &SplitErrors::seen, &Errors::rmse);
  radii("radius seen, bias, mm", &SplitErrors::seen, &Errors::bias);
  radii("radius inferred, RMSE, mm", &SplitErrors::inferred, &Errors::rmse);
  radii("radius inferred, bias, mm", &SplitErrors::inferred, &Errors::bias);
  radii("hidden burls, stubs, flutes, RMSE, mm", &SplitErrors::featured, &Errors::rmse);
  print_row("volume, %", group, [](const Result& r) { return r.model.volume; });
  print_row("length, mm", group, [](const Result& r) { return r.model.length; });
  print_row("sweep, mm", group, [](const Result& r) { return r.model.sweep; });
  if (group.rivals) print_rivals(group);
  std::printf(
      "\n| within two sigmas, %% | all | lowest log | one in ten below | median log | "
      "one in ten above |\n| --- | --- | --- | --- | --- | --- |\n");
  print_share("seen", group, &SplitErrors::seen);
  print_share("inferred", group, &SplitErrors::inferred);
  print_share("hidden burls, stubs, flutes", group, &SplitErrors::featured);
}

}  // namespace

int main(int argc, char** argv) {
  int logs = 40, first = 1;
  bool each = false, alone = false, model_only = false;
  double share = 1.0;
  std::string keep;
  CLI::App app{"Fits scans of random logs and compares them with the truth"};
  app.add_option("--logs", logs, "how many of each kind")->check(CLI::Range(1, 10000));
  app.add_option("--first", first, "seed of the first log");
  app.add_option("--keep", keep, "folder that keeps the scans for the next run")
      ->check(CLI::ExistingDirectory);
  app.add_option("--share", share, "of the points only, for a quick look")
      ->check(CLI::Range(0.02, 1.0));
  app.add_flag("--model-only", model_only, "without what one would do instead");
  app.add_flag("--each", each, "a line for every log");
  app.add_flag("--alone", alone, "the logs alone, without ground, rests and clutter");
  std::string stems, drawings;
  std::vector<int> only{1, 2, 3};
  app.add_option("--only", only,
                 "which kinds: 1 all seen, 2 a third hidden, 3 a third hidden with 4 mm and 250000")
      ->delimiter(',')
      ->check(CLI::Range(1, 3));
  app.add_option("--real", stems, "folder of real stems (.xyz) to fit instead of invented logs")
      ->check(CLI::ExistingDirectory);
  app.add_option("--draw", drawings, "folder for drawings of sections of the real stems")
      ->check(CLI::ExistingDirectory);
  CLI11_PARSE(app, argc, argv);
  if (!stems.empty()) return report_real_stems(stems, drawings) == 0 ? 0 : 1;
  const bool whole = !alone;
  std::vector<Group> groups{
      {"All seen, noise 2 to 8 mm, 40 to 400 thousand points",
       {.hidden = 0.0, .whole = whole, .keep = keep}},
      {"A third of the girth hidden, noise 2 to 8 mm, 40 to 400 thousand points",
       {.hidden = 1.0 / 3.0, .whole = whole, .keep = keep}},
      {"A third hidden, 4 mm noise, 250 thousand points",
       {.hidden = 1.0 / 3.0, .draw = false, .whole = whole, .keep = keep}}};
  for (Group& group : groups) {
    group.settings.share = share;
    group.rivals = !model_only;
  }
  int lost = 0;
  for (const int kind : only) {
    Group& group = groups[static_cast<std::size_t>(kind) - 1];
    run(group, first, logs, each);
    print_group(group);
    std::fflush(stdout);
    lost += group.lost;
  }
  return lost == 0 ? 0 : 1;
}
