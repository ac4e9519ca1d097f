// Odd logs from scan to sheet: invented logs beyond what a woodlot gives, scanned as a phone would,
// with orders and mills drawn at random. Each is found, fitted, measured, planned, sawn on paper
// from the plan's own file and drawn; what the plan's boards fetch in the known solid is held
// against the plan that the same search makes of that solid.

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cstdio>
#include <ctime>
#include <map>
#include <numeric>
#include <optional>
#include <string>
#include <vector>

#include "commands.hpp"
#include "invented/against_truth.hpp"
#include "invented/dice.hpp"
#include "invented/judge.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "invented/truth.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/fit_shape.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"

namespace {

using namespace kerfwright;

/// Twice as crooked, tapered, oval, fluted and burled as random_log draws them, and of more sizes.
const LogRanges odd = {.length = {500, 6000},
                       .diameter = {100, 590},
                       .taper = {0, 30},
                       .sweep = {0, 80},
                       .crook = {0, 20},
                       .ovality = {0, 0.25},
                       .flare = {0, 0.25},
                       .flutes = {0, 8},
                       .flute_depth = {0.02, 0.3},
                       .burls = {0, 5},
                       .burl_height = {0.1, 0.8},
                       .stubs = {0, 8},
                       .bark = {0, 25},
                       .waviness = {0, 3}};

template <class Value>
Value any_of(Dice& dice, const std::vector<Value>& values) {
  return values[static_cast<std::size_t>(dice.below(static_cast<int>(values.size())))];
}

Order any_order(Dice& dice) {
  Order order;
  const int count = 1 + dice.below(6);
  for (int i = 0; i < count; ++i) {
    Product product;
    product.name = "size " + std::to_string(i + 1);
    product.thickness = any_of<double>(dice, {19, 22.5, 27, 32, 40, 52, 63.5, 100, 150});
    product.width = product.thickness * dice.uniform(1.0, 5.0);
    const int lengths = 1 + dice.below(4);
    for (int k = 0; k < lengths; ++k) {
      product.lengths.push_back(dice.uniform(200, 1500) + 600.0 * k * dice.uniform());
    }
    product.price_per_m3 = dice.uniform(200, 1500);
    if (dice.below(3) == 0) product.wane = Wane(dice.uniform(0.0, 0.4));
    if (dice.below(4) == 0) {
      product.wanted = dice.below(6);
      product.beyond = any_of<double>(dice, {0, 0.5});
    }
    const int kind = dice.below(10);
    if (kind == 0) {
      product.live_edge = true;
      product.width = dice.uniform(80, 300);
    }
    product.boxed_heart = kind == 1;
    product.blank = kind == 2;
    order.products.push_back(std::move(product));
  }
  return order;
}

Mill any_mill(Dice& dice) {
  Mill mill;
  mill.kerf = any_of<double>(dice, {1.5, 2.5, 6, 8, 10});
  mill.height_step = any_of<double>(dice, {0.5, 1, 2});
  mill.hourly_rate = any_of<double>(dice, {0, 15, 40});
  mill.lowest_cut = any_of<double>(dice, {10, 25, 60});
  mill.max_diameter = 900;
  mill.max_log_mass = 2000;
  if (dice.below(4) == 0) mill = in_inches(mill);
  return mill;
}

/// The order as a file of its own, so that the program can be asked for the same.
std::string to_toml(const Order& order) {
  std::string text = "currency = \"EUR\"\n";
  const auto key = [&](const std::string& name, const std::string& value) {
    text += name + " = " + value + "\n";
  };
  for (const Product& product : order.products) {
    text += "\n[[product]]\n";
    key("name", '"' + product.name + '"');
    key("thickness", std::to_string(product.thickness));
    key(product.live_edge ? "min_width" : "width", std::to_string(product.width));
    std::string lengths;
    for (const double length : product.lengths) lengths += std::to_string(length) + ", ";
    key("lengths", '[' + lengths + ']');
    key("price_per_m3", std::to_string(*product.price_per_m3));
    if (!product.wane.none()) key("wane", std::to_string(product.wane.width));
    if (product.wanted) key("wanted", std::to_string(*product.wanted));
    if (product.beyond > 0.0) key("beyond", std::to_string(product.beyond));
    if (product.live_edge) key("live_edge", "true");
    if (product.boxed_heart) key("heart", "\"boxed\"");
    if (product.blank) key("blank", "true");
  }
  return text;
}

std::string to_toml(const Mill& mill) {
  std::string text;
  const auto key = [&](const std::string& name, double value) {
    text += name + " = " + std::to_string(value) + "\n";
  };
  key("kerf", mill.kerf);
  if (!mill.inches) key("height_step", mill.height_step);
  key("hourly_rate", mill.hourly_rate);
  key("lowest_cut", mill.lowest_cut);
  key("max_diameter", mill.max_diameter);
  key("max_log_mass", mill.max_log_mass);
  return text;
}

enum class End { whole, no_plan, refused, wrong };

struct Outcome {
  End end = End::wrong;
  std::string words;
  double claimed = 0, there = 0, known = 0;
};

/// So that a log that crashes or hangs can be told.
void print_task(int seed, const InventedLog& log, const Order& order, const Mill& mill) {
  std::printf("%4d %.0f to %.0f by %.0f mm, kerf %g, step %g, %g an hour:", seed,
              2.0 * log.butt_radius, 2.0 * log.top_radius, log.length, mill.kerf, mill.height_step,
              mill.hourly_rate);
  for (const Product& product : order.products) {
    std::printf(" %g x %.1f (%zu)%s%s%s", product.thickness, product.width, product.lengths.size(),
                product.wane.none() ? "" : " wane", product.wanted ? " wanted" : "",
                product.live_edge     ? " slab"
                : product.boxed_heart ? " boxed"
                : product.blank       ? " blank"
                                      : "");
  }
  std::printf("\n");
  std::fflush(stdout);
}

std::string lacking(const SawPlan& plan, const LogShape& shape) {
  const std::string plan_text = plan_to_json(plan);
  const std::string shape_text = shape_to_json(shape);
  const SawPlan read = plan_from_json(plan_text, "plan");
  if (!replay(read, shape_from_json(shape_text, "shape")).complete) return "does not replay";
  for (const cli::NamedText& file : cli::files_of(read, shape, shape_text)) {
    if (file.text.empty()) return file.name + " is empty";
    if (file.text.find("nan") != std::string::npos && file.name.ends_with("svg")) {
      return file.name + " has what is no number";
    }
  }
  return "";
}

/// As `settings`, but the search has only so many seconds of the processor, shared among its ways.
PlanSettings hurried(const PlanSettings& settings, double seconds) {
  PlanSettings now = settings;
  now.watch.gone = [seconds, start = std::clock()] {
    return static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC / seconds;
  };
  now.watch.stop = [gone = now.watch.gone] { return gone() >= 1.0; };
  return now;
}

/// How far the fitted shape is from the known log.
void print_errors(const InventedLog& log, const PhoneSettings& phone, const PhoneScan& scan,
                  const LogShape& shape) {
  const ShapeErrors errors = against_truth(shape, log, scan.scan_to_log, butt_of(log), top_of(log));
  std::printf(
      "     %.0f of 100 hidden, noise %.1f, %d points; %s%.0f mm too long; ends %.0f and "
      "%.0f out; seen %.1f (bias %.1f), inferred %.1f (bias %.1f), bulge %.0f\n",
      100.0 * phone.hidden, phone.noise, phone.points, errors.turned ? "turned, " : "",
      errors.length, errors.butt, errors.top, errors.seen_rmse, errors.seen_bias,
      errors.inferred_rmse, errors.inferred_bias, errors.worst_bulge);
}

void print_missing(const JudgedPlan& judged) {
  for (const JudgedBoard& board : judged.boards) {
    if (board.there) continue;
    std::printf("     board %d, %s, %.2f: %.1f mm out at %.0f %.0f %.0f\n", board.id,
                board.product.c_str(), board.value, board.protrusion, board.worst_point.x(),
                board.worst_point.y(), board.worst_point.z());
  }
}

struct Task {
  int first = 1, logs = 500;
  double seconds = 3600.0;  ///< of the processor for a search, 0 = no search
  bool tell = false;        ///< how far the shapes are off and which boards are missing
  std::string keep;  ///< folder for each scan, its shape, the known solid, order and mill; empty =
                     ///< none is kept
  PlanSettings settings;
};

Outcome saw(int seed, const Task& task) {
  Dice dice(static_cast<std::uint64_t>(seed) * 7919);
  const InventedLog log = random_log(static_cast<std::uint64_t>(seed), odd);
  PhoneSettings phone;
  phone.seed = static_cast<std::uint64_t>(seed);
  phone.points = 20000 + dice.below(130000);
  phone.noise = dice.uniform(1, 8);
  phone.hidden = dice.uniform(0, 0.36);
  phone.bunks = dice.below(4) > 0;
  const Order order = any_order(dice);
  const Mill mill = any_mill(dice);
  print_task(seed, log, order, mill);
  const PhoneScan scan = scan_like_a_phone(log, phone);
  if (!task.keep.empty()) {
    const std::string name = task.keep + "/" + std::to_string(seed);
    write_file(name + ".ply", to_ply(scan, false));
    write_file(name + ".order.toml", to_toml(order));
    write_file(name + ".mill.toml", to_toml(mill));
    write_file(name + ".truth.json", shape_to_json(true_shape(log, scan.scan_to_log)));
  }
  const auto known_value = [&] {
    try {
      return plan_log(true_shape(log, scan.scan_to_log), order, mill,
                      hurried(task.settings, task.seconds))
          .totals.value;
    } catch (const UserError&) {
      return 0.0;
    }
  };
  LogShape shape;
  SawPlan plan;
  try {
    shape = fit_shape(look_for_log(as_read(scan), {}).log, {});
    put_bark(shape, {log.bark, 0, 0});
    measure(shape);
    if (!task.keep.empty()) {
      write_file(task.keep + "/" + std::to_string(seed) + ".shape.json", shape_to_json(shape));
    }
    if (task.tell) print_errors(log, phone, scan, shape);
    if (task.seconds <= 0.0) return {End::whole, "not planned"};
    plan = plan_log(shape, order, mill, hurried(task.settings, task.seconds));
  } catch (const UserError& error) {
    if (error.fault() != Fault::no_product_fits) return {End::refused, error.what()};
    return {.end = End::no_plan, .words = error.what(), .known = known_value()};
  }
  Outcome outcome;
  outcome.words = lacking(plan, shape);
  if (!outcome.words.empty()) return outcome;
  const JudgedPlan judged = judge(plan, log, scan.scan_to_log, 1.0);
  if (task.tell) print_missing(judged);
  outcome.end = End::whole;
  outcome.claimed = judged.value_claimed;
  outcome.there = judged.value_there;
  outcome.known = known_value();
  return outcome;
}

void print_shares(const char* what, std::vector<double> shares) {
  if (shares.empty()) return;
  std::sort(shares.begin(), shares.end());
  const double mean =
      std::accumulate(shares.begin(), shares.end(), 0.0) / static_cast<double>(shares.size());
  std::printf("| %s | %zu | %.3f | %.3f | %.3f |\n", what, shares.size(), mean,
              shares[shares.size() / 20], shares.front());
}

}  // namespace

int main(int argc, char** argv) {
  Task task;
  task.settings.turn_step = 30;
  task.settings.lifts = 1;
  CLI::App app("Odd logs from scan to sheet.");
  app.add_option("--logs", task.logs, "how many")->check(CLI::Range(1, 100000));
  app.add_option("--first", task.first, "seed of the first");
  app.add_option("--turn-step", task.settings.turn_step, "degrees between turns");
  app.add_option("--lifts", task.settings.lifts, "lifts at each turn");
  app.add_option("--seconds", task.seconds, "of the processor for a search, 0 = only the shape");
  app.add_option("--keep", task.keep,
                 "folder for each scan, its shape, the known solid, order and mill");
  app.add_flag("--tell", task.tell, "how far the shapes are off, and what is missing");
  CLI11_PARSE(app, argc, argv);
  std::map<End, int> ends;
  int missed = 0;
  std::vector<double> of_claimed, of_known;
  for (int seed = task.first; seed < task.first + task.logs; ++seed) {
    Outcome outcome;
    try {
      outcome = saw(seed, task);
    } catch (const std::exception& error) {
      outcome.words = error.what();
    }
    ++ends[outcome.end];
    missed += outcome.end == End::no_plan && outcome.known > 0.0;
    std::printf("     %d claimed %.2f there %.2f known %.2f %s\n", static_cast<int>(outcome.end),
                outcome.claimed, outcome.there, outcome.known, outcome.words.c_str());
    std::fflush(stdout);
    if (outcome.end != End::whole || outcome.claimed <= 0.0) continue;
    of_claimed.push_back(outcome.there / outcome.claimed);
    if (outcome.known > 0.0) of_known.push_back(outcome.there / outcome.known);
  }
  std::printf(
      "whole %d, no product fits %d (in the known solid %d of them), refused %d, wrong %d\n",
      ends[End::whole], ends[End::no_plan], missed, ends[End::refused], ends[End::wrong]);
  std::printf("| value really there, over | logs | mean | one in twenty below | worst |\n");
  std::printf("| --- | --- | --- | --- | --- |\n");
  print_shares("what the plan claims", of_claimed);
  print_shares("what the same search gives, knowing the solid", of_known);
  return ends[End::wrong] == 0 ? 0 : 1;
}
