// Invented woodlots planned for one list: all logs together against each log alone and against the
// best log first. Prints a table; with --write DIR only writes the logs, the list and the mill.

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <ctime>
#include <filesystem>
#include <string>
#include <vector>

#include "invented/truth.hpp"
#include "invented/woodlot.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/keep_memory.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "kerfwright/yard/yard_plan.hpp"

namespace {

using namespace kerfwright;
using Clock = std::chrono::steady_clock;

struct Options {
  std::string kind = "framing", write;
  int logs = 10;
  std::uint64_t seed = 1;
  double share = 1.0, seconds = 0.0;
  bool all = false, steps = false, live = false;
  YardSettings settings;
};

/// s, of all threads
double processor_time() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

struct Start {
  Clock::time_point clock = Clock::now();
  double processor = processor_time();
};

std::vector<YardLog> logs_of(const Woodlot& lot) {
  std::vector<YardLog> logs;
  for (std::size_t i = 0; i < lot.logs.size(); ++i) {
    char name[32];
    std::snprintf(name, sizeof name, "log-%03zu", i + 1);
    logs.push_back({name, true_shape(lot.logs[i], Eigen::Matrix4d::Identity(), 25.0, 128)});
  }
  return logs;
}

void write(const Woodlot& lot, const std::string& folder) {
  const std::filesystem::path out(folder);
  std::filesystem::create_directories(out);
  for (const YardLog& log : logs_of(lot)) {
    write_file((out / (log.name + ".json")).string(), shape_to_json(log.shape));
  }
  write_file((out / "order.toml").string(), lot.order);
  write_file((out / "mill.toml").string(), lot.mill);
}

/// What a way of planning gives for the list.
struct Result {
  double value = 0, cost = 0, used_m3 = 0;
  double seconds = 0, processor = 0;  ///< s, by the clock and of all threads
  int pieces = 0, wanted = 0, logs = 0;
  std::vector<std::vector<double>> values;  ///< [product] of each piece that was made
  int made(std::size_t product) const { return static_cast<int>(values[product].size()); }
};

void count(Result& result, const SawPlan& plan, const Order& order, double wood_m3) {
  for (std::size_t p = 0; p < order.products.size(); ++p) {
    for (const Board& board : plan.boards) {
      if (board.product == order.products[p].name) result.values[p].push_back(board.value);
    }
  }
  result.cost += plan.totals.value - plan.totals.net;
  result.used_m3 += wood_m3;
  ++result.logs;
}

/// Of all logs together the dearest pieces count for the list, whichever log they come from, as in
/// the programme; the others fetch what the list says of pieces beyond it.
void finish(Result& result, const Order& order, const Start& start) {
  for (std::size_t p = 0; p < order.products.size(); ++p) {
    const Product& product = order.products[p];
    std::vector<double>& values = result.values[p];
    std::sort(values.rbegin(), values.rend());
    for (std::size_t i = 0; i < values.size(); ++i) {
      const bool paid = !product.wanted || static_cast<int>(i) < *product.wanted;
      result.value += paid ? values[i] : product.beyond * values[i];
    }
    if (!product.wanted) continue;
    result.wanted += *product.wanted;
    result.pieces += std::min(result.made(p), *product.wanted);
  }
  result.seconds = std::chrono::duration<double>(Clock::now() - start.clock).count();
  result.processor = processor_time() - start.processor;
}

bool full(const Result& result, const Order& order) {
  for (std::size_t p = 0; p < order.products.size(); ++p) {
    if (result.made(p) < order.products[p].wanted.value_or(0)) return false;
  }
  return true;
}

Result none_yet(const Order& order) {
  Result result;
  result.values.resize(order.products.size());
  return result;
}

/// Log after log in the order given, each planned for what is still wanted, or (blindly) for the
/// whole list, until the list is full.
Result one_by_one(const std::vector<YardLog>& logs, const std::vector<std::size_t>& sequence,
                  const YardPlan& base, const PlanSettings& settings, bool blindly) {
  const Start start;
  const Order& order = base.order;
  Result result = none_yet(order);
  for (const std::size_t l : sequence) {
    const bool unlimited = std::any_of(order.products.begin(), order.products.end(),
                                       [](const Product& product) { return !product.wanted; });
    if (full(result, order) && !unlimited) break;
    Order left = order;
    for (std::size_t p = 0; p < left.products.size(); ++p) {
      auto& wanted = left.products[p].wanted;
      if (!blindly && wanted) wanted = std::max(0, *wanted - result.made(p));
    }
    try {
      count(result, plan_log(logs[l].shape, left, base.mill, settings), order, base.wood_m3[l]);
    } catch (const UserError& error) {
      if (error.fault() != Fault::no_product_fits) throw;
    }
  }
  finish(result, order, start);
  return result;
}

void print(const char* name, const Result& r, double wood_price) {
  std::printf("| %-22s | %8.2f | %7.2f | %8.2f | %6.2f | %3d | %5d of %5d | %7.0f | %7.0f |\n",
              name, r.value, r.cost, r.value - r.cost - wood_price * r.used_m3, r.used_m3, r.logs,
              r.pieces, r.wanted, r.seconds, r.processor);
  std::fflush(stdout);
}

int report(const Options& o) {
  const Woodlot lot = woodlot(o.kind, o.logs, o.seed, o.share);
  const Order order = parse_order(lot.order, "order.toml");
  const Mill mill = parse_mill(lot.mill, "mill.toml");
  const std::vector<YardLog> logs = logs_of(lot);
  const Start start;
  YardSettings settings = o.settings;
  settings.plan.watch.progress = [&](const std::string& what, double share) {
    if (!o.steps) return;
    std::fprintf(stderr, "%7.1f s, %7.1f of the processor: %s, %.0f %%\n",
                 std::chrono::duration<double>(Clock::now() - start.clock).count(),
                 processor_time(), what.c_str(), 100.0 * share);
  };
  if (o.seconds > 0.0) {
    settings.plan.watch.gone = [&] {
      return std::chrono::duration<double>(Clock::now() - start.clock).count() / o.seconds;
    };
    settings.plan.watch.stop = [gone = settings.plan.watch.gone] { return gone() >= 1.0; };
  }
  const YardPlan plan = plan_yard(logs, order, mill, settings);
  Result together = none_yet(order);
  int replayed = 0;
  for (const std::size_t l : plan.sawing) {
    count(together, *plan.plans[l], plan.order, plan.wood_m3[l]);
    replayed += replay(*plan.plans[l], logs[l].shape).complete ? 1 : 0;
  }
  finish(together, plan.order, start);
  std::printf(
      "%s, %d logs of %.2f m3, seed %llu; %s; wood at %.2f a m3; %d plans looked at, %d of "
      "%zu replay; result %.2f, bound %.2f\n",
      o.kind.c_str(), o.logs, plan.all_m3, static_cast<unsigned long long>(o.seed),
      plan.aim == Aim::fill ? "filled" : "most net", plan.wood_price, plan.plans_looked_at,
      replayed, plan.sawing.size(), plan.result(), plan.bound.value_or(0.0));
  std::printf(
      "| way | value | sawing | result | m3 | logs | list filled | s | of the processor |\n"
      "| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
  print("all together", together, plan.wood_price);
  if (!o.all) return 0;
  PlanSettings alone = o.settings.plan;  // the same ways of sawing as the list's own
  if (alone.patterns.empty()) alone.patterns = {Pattern::live, Pattern::cant, Pattern::cross_cut};
  std::vector<std::size_t> given(logs.size());
  for (std::size_t l = 0; l < logs.size(); ++l) given[l] = l;
  print("each alone", one_by_one(logs, given, plan, alone, true), plan.wood_price);
  std::vector<std::size_t> best = given;
  std::stable_sort(best.begin(), best.end(),
                   [&](std::size_t a, std::size_t b) { return plan.wood_m3[a] > plan.wood_m3[b]; });
  print("best log first", one_by_one(logs, best, plan, alone, false), plan.wood_price);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  Options options;
  CLI::App app{"Plans invented woodlots for one list and compares."};
  app.add_option("--kind", options.kind, "framing, sleepers or mixed")->capture_default_str();
  app.add_option("--logs", options.logs)->check(CLI::Range(1, 1000))->capture_default_str();
  app.add_option("--seed", options.seed)->capture_default_str();
  app.add_option("--share", options.share, "Of the list's usual length")->capture_default_str();
  app.add_flag("--compare", options.all, "Also plan each log alone and the best log first");
  app.add_flag("--steps", options.steps, "Say what is being done");
  app.add_option("--write", options.write, "Only write the woodlot to this folder");
  app.add_option("--rounds", options.settings.rounds)->capture_default_str();
  app.add_option("--turn-step", options.settings.plan.turn_step)->capture_default_str();
  app.add_option("--lifts", options.settings.plan.lifts)->capture_default_str();
  app.add_option("--threads", options.settings.plan.threads)->capture_default_str();
  app.add_option("--seconds", options.seconds, "After which the search is ended; 0 = never");
  app.add_flag("--live", options.live, "Only through and through: quick");
  app.add_flag("--list-first", options.settings.list_first);
  CLI11_PARSE(app, argc, argv);
  keep_memory();
  if (options.live) options.settings.plan.patterns = {Pattern::live};
  try {
    if (options.write.empty()) return report(options);
    write(woodlot(options.kind, options.logs, options.seed, options.share), options.write);
    return 0;
  } catch (const UserError& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return static_cast<int>(error.fault());
  }
}
