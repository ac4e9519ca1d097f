// How well the log is found in each kind of surroundings: random logs, scans of them as a phone
// sees them, and what comes out against the truth. Nothing here is asserted; the table is for
// DEVELOPERS.md.

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "invented/against_truth.hpp"
#include "invented/dice.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "invented/yard.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"

namespace {

using namespace kerfwright;

struct Kind {
  std::string name;
  std::function<void(PhoneSettings&, InventedLog&, Dice&)> change;
};

void alone(PhoneSettings& s) { s.second_log = s.clutter = false; }

void oblique(InventedLog& log, Dice& dice) {
  for (Eigen::Vector2d* slope : {&log.butt_slope, &log.top_slope}) {
    const double angle = dice.uniform(5, 25) * std::numbers::pi / 180;
    const double turn = dice.uniform(0, 2 * std::numbers::pi);
    *slope = std::tan(angle) * Eigen::Vector2d(std::cos(turn), std::sin(turn));
  }
}

std::vector<Kind> kinds() {
  return {
      {"usual", [](PhoneSettings&, InventedLog&, Dice&) {}},
      {"frame", [](PhoneSettings& s, InventedLog&, Dice&) { s.about.frame = true; }},
      {"chocks",
       [](PhoneSettings& s, InventedLog&, Dice&) {
         s.about.chocks = true;
         s.bunks = false;
       }},
      {"boot", [](PhoneSettings& s, InventedLog&, Dice&) { s.about.boot = true; }},
      {"posts", [](PhoneSettings& s, InventedLog&, Dice&) { s.about.posts = true; }},
      {"wall",
       [](PhoneSettings& s, InventedLog&, Dice&) {
         alone(s);
         s.about.wall = true;
         s.clutter_share = 0.06;
         s.hidden = 0.1;
       }},
      {"branches",
       [](PhoneSettings& s, InventedLog&, Dice& dice) { s.about.branches = 1 + dice.below(4); }},
      {"alongside", [](PhoneSettings& s, InventedLog&,
                       Dice&) { s.about.second_log = SecondLogPlace::alongside; }},
      {"across",
       [](PhoneSettings& s, InventedLog&, Dice&) { s.about.second_log = SecondLogPlace::across; }},
      {"in-line",
       [](PhoneSettings& s, InventedLog&, Dice& dice) {
         s.about.second_log = SecondLogPlace::in_line;
         s.about.in_line_gap = dice.uniform(10, 60);
       }},
      {"standing",
       [](PhoneSettings& s, InventedLog&, Dice&) {
         alone(s);
         s.hidden = 0;
         s.about.pose = LogPose::standing;
       }},
      {"hanging",
       [](PhoneSettings& s, InventedLog&, Dice&) {
         alone(s);
         s.hidden = 0;
         s.about.pose = LogPose::hanging;
       }},
      {"uneven",
       [](PhoneSettings& s, InventedLog&, Dice&) {
         s.about.relief = 3.0;
         s.about.grass = 30.0;
         s.bunks = false;
       }},
      {"cropped",
       [](PhoneSettings& s, InventedLog&, Dice& dice) {
         s.about.crop_at = dice.uniform(0.6, 0.85);
         s.about.crop_angle = dice.uniform(-45, 45);
       }},
      {"fork",
       [](PhoneSettings& s, InventedLog& log, Dice& dice) {
         s.about.fork_at = dice.uniform(0.35, 0.75);
         s.about.fork_angle = dice.uniform(18, 45);
         s.about.fork_size = dice.uniform(0.5, 0.9);
         s.about.fork_length = dice.uniform(0.25, 0.5) * log.length;
       }},
      {"oblique", [](PhoneSettings&, InventedLog& log, Dice& dice) { oblique(log, dice); }},
  };
}

struct Row {
  ShapeErrors errors;
  Kept kept;
};

Row run(const Kind& kind, int seed, int points, bool notes) {
  InventedLog log = random_log(static_cast<std::uint64_t>(seed));
  PhoneSettings phone;
  phone.seed = static_cast<std::uint64_t>(seed);
  phone.points = points;
  Dice dice(static_cast<std::uint64_t>(seed) + 999);
  kind.change(phone, log, dice);
  const PhoneScan seen = scan_like_a_phone(log, phone);
  const LogInScan found = look_for_log(as_read(seen), {});
  Row row;
  row.kept = kept_points(seen, found.labels);
  const LogShape shape = fit_shape(found.log, {});
  TrueEnd top = top_of(log);
  if (phone.about.crop_at > 0) {
    const ScanBorder border = scan_border(log, phone);
    top = {border.normal, border.distance};
  }
  row.errors = against_truth(shape, log, seen.scan_to_log, butt_of(log), top);
  if (notes)
    for (const auto* list : {&found.log.notes, &shape.notes})
      for (const std::string& note : *list) std::printf("      %s\n", note.c_str());
  return row;
}

double worst(const std::vector<Row>& rows, double (*figure)(const Row&)) {
  double most = 0;
  for (const Row& row : rows) most = std::max(most, std::abs(figure(row)));
  return most;
}

double middle(const std::vector<Row>& rows, double (*figure)(const Row&)) {
  std::vector<double> sizes;
  for (const Row& row : rows) sizes.push_back(std::abs(figure(row)));
  std::sort(sizes.begin(), sizes.end());
  return sizes[sizes.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
  int logs = 10, first = 1, points = 100000;
  std::vector<std::string> only;
  bool each = false, notes = false;
  CLI::App app{"Finds random logs in all kinds of surroundings and compares them with the truth"};
  app.add_option("--logs", logs, "how many of each kind");
  app.add_option("--first", first, "seed of the first log");
  app.add_option("--points", points, "in the scan");
  app.add_option("--only", only, "these kinds");
  app.add_flag("--each", each, "a line for each log");
  app.add_flag("--notes", notes, "what the program says of each log");
  CLI11_PARSE(app, argc, argv);
  std::printf(
      "kind       found | length butt top | seen rmse bias | inferred rmse bias | bulge | "
      "kept strange, %% (median / worst)\n");
  for (const Kind& kind : kinds()) {
    if (!only.empty() && std::find(only.begin(), only.end(), kind.name) == only.end()) continue;
    std::vector<Row> rows;
    for (int seed = first; seed < first + logs; ++seed) {
      try {
        rows.push_back(run(kind, seed, points, notes));
        const auto& [e, kept] = rows.back();
        if (each || notes)
          std::printf(
              "  %3d  length %+6.1f butt %+6.1f top %+6.1f  seen %5.2f %+5.2f  inferred %5.2f "
              "%+5.2f  bulge %4.1f  kept %.2f strange %.2f%s\n",
              seed, e.length, e.butt, e.top, e.seen_rmse, e.seen_bias, e.inferred_rmse,
              e.inferred_bias, e.worst_bulge, 100 * kept.own, 100 * kept.strange,
              e.turned ? " turned" : "");
      } catch (const UserError& error) {
        std::printf("  %3d  %s\n", seed, error.what());
      }
      std::fflush(stdout);
    }
    if (rows.empty()) continue;
    const auto both = [&](double (*figure)(const Row&)) {
      std::printf(" %6.2f/%-6.2f", middle(rows, figure), worst(rows, figure));
    };
    std::printf("%-10s %2zu/%-2d |", kind.name.c_str(), rows.size(), logs);
    both([](const Row& r) { return r.errors.length; });
    both([](const Row& r) { return r.errors.butt; });
    both([](const Row& r) { return r.errors.top; });
    std::printf("|");
    both([](const Row& r) { return r.errors.seen_rmse; });
    both([](const Row& r) { return r.errors.seen_bias; });
    std::printf("|");
    both([](const Row& r) { return r.errors.inferred_rmse; });
    both([](const Row& r) { return r.errors.inferred_bias; });
    std::printf("|");
    both([](const Row& r) { return r.errors.worst_bulge; });
    std::printf("|");
    both([](const Row& r) { return 100 * (1 - r.kept.own); });
    both([](const Row& r) { return 100 * r.kept.strange; });
    std::printf("\n");
    std::fflush(stdout);
  }
  return 0;
}
