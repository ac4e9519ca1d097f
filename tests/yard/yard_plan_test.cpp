#include "kerfwright/yard/yard_plan.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <set>

#include "error_of.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/yard/yard_sheets.hpp"
#include "saw/shapes.hpp"

// Whole lists over round logs that bow a little; sizes, prices and numbers are invented.

namespace kerfwright {
namespace {

using shapes::bowed;
using shapes::product;

std::vector<YardLog> three_logs() {
  return {{"thin", bowed(2600, 78, 70, 12)},
          {"thick", bowed(2500, 140, 125, 8)},
          {"short", bowed(1500, 120, 115, 4)}};
}

Product wanted(Product made, int count) {
  made.wanted = count;
  return made;
}

Order small_list(int joists, int studs, int boards) {
  Order order;
  order.products = {wanted(product("joist", 50, 150, {2400}, 450), joists),
                    wanted(product("stud", 50, 100, {1200, 2400}, 380), studs),
                    wanted(product("board", 25, 120, {1200}, 400), boards)};
  return order;
}

YardSettings quick() {
  YardSettings settings;
  settings.plan.turn_step = 30;
  settings.plan.lifts = 1;
  settings.rounds = 5;
  settings.spread = 6;
  settings.plan.patterns = {Pattern::live};
  return settings;
}

int made_of(const YardPlan& plan, const std::string& name) {
  int made = 0;
  for (const auto& of_log : plan.plans) {
    if (!of_log) continue;
    for (const Board& board : of_log->boards) made += board.product == name ? 1 : 0;
  }
  return made;
}

void expect_sound(const YardPlan& plan, const std::vector<YardLog>& logs) {
  for (std::size_t l = 0; l < logs.size(); ++l) {
    if (!plan.plans[l]) continue;
    const Replay result = replay(*plan.plans[l], logs[l].shape);
    EXPECT_TRUE(result.complete) << logs[l].name << ": "
                                 << (result.sentences.empty() ? "" : result.sentences.front());
  }
  for (const ListLine& line : plan.list) {
    EXPECT_EQ(line.made, made_of(plan, plan.order.products[line.product].name));
    EXPECT_EQ(line.before + line.made - line.beyond() + line.missing(), line.wanted);
  }
  if (plan.bound) {
    EXPECT_LE(plan.result(), *plan.bound + 1e-6);
  }
}

TEST(YardPlan, FillsAListExactlyAndLeavesALogUncut) {
  const auto logs = three_logs();
  const YardPlan plan = plan_yard(logs, small_list(2, 2, 2), Mill{}, quick());
  expect_sound(plan, logs);
  EXPECT_EQ(plan.aim, Aim::fill);
  EXPECT_TRUE(plan.filled());
  for (const ListLine& line : plan.list) EXPECT_EQ(line.made, line.wanted);
  EXPECT_TRUE(plan.more.empty());
  EXPECT_LT(plan.sawing.size(), logs.size()) << "the thick log gives all of it";
}

TEST(YardPlan, NamesWhatIsMissingAndHowManyMoreLogsWouldDo) {
  const auto logs = three_logs();
  const YardPlan plan = plan_yard(logs, small_list(9, 4, 10), Mill{}, quick());
  expect_sound(plan, logs);
  EXPECT_FALSE(plan.filled());
  ASSERT_FALSE(plan.more.empty());
  // Only the thick log holds a joist.
  for (const MoreLogs& way : plan.more) EXPECT_EQ(logs[way.log].name, "thick");
  EXPECT_GE(plan.more.front().count, 1);
  const auto sentences = more_words(plan, logs);
  ASSERT_FALSE(sentences.empty());
  EXPECT_NE(sentences.front().find("'thick'"), std::string::npos) << sentences.front();
}

TEST(YardPlan, IsWorthNoLessThanEachLogPlannedAlone) {
  const auto logs = three_logs();
  const Order order = small_list(9, 9, 20);
  YardSettings settings = quick();
  const YardPlan plan = plan_yard(logs, order, Mill{}, settings);
  ASSERT_EQ(plan.aim, Aim::most_net);
  std::vector<int> left = {9, 9, 20};
  double alone = 0.0;
  for (const YardLog& log : logs) {
    const SawPlan of_log = plan_log(log.shape, order, Mill{}, settings.plan);
    for (const Board& board : of_log.boards) {
      for (std::size_t p = 0; p < left.size(); ++p) {
        if (order.products[p].name != board.product) continue;
        if (left[p]-- > 0) alone += board.value;
      }
    }
  }
  EXPECT_GE(plan.net(), alone - 1e-6);
}

TEST(YardPlan, IsTheSameOnAnyNumberOfThreads) {
  const auto logs = three_logs();
  YardSettings one = quick(), three = quick();
  one.plan.threads = 1;
  three.plan.threads = 3;
  const std::vector<YardSource> sources = {{"a", "a"}, {"b", "b"}, {"c", "c"}};
  const Order order = small_list(3, 5, 8);
  EXPECT_EQ(yard_json(plan_yard(logs, order, Mill{}, one), logs, sources),
            yard_json(plan_yard(logs, order, Mill{}, three), logs, sources));
}

TEST(YardPlan, LeavesTimeToFitLogsTogetherWhereAskingThemTakesMostOfIt) {
  const auto logs = three_logs();
  YardSettings settings = quick();
  std::atomic<double> gone = 0.0;
  std::atomic<bool> fitted = false, hurried = false;
  settings.plan.watch.progress = [&](const std::string& what, double) {
    if (what.starts_with("asking")) gone = std::min(0.95, gone + 0.1);
    if (what.starts_with("fitting")) fitted = true;
  };
  settings.plan.watch.gone = [&] { return gone.load(); };
  settings.plan.watch.stop = [&] { return gone >= 1.0; };
  settings.plan.watch.hurried = [&] { hurried = true; };
  const YardPlan plan = plan_yard(logs, small_list(3, 5, 8), Mill{}, settings);
  expect_sound(plan, logs);
  EXPECT_TRUE(fitted);
  EXPECT_TRUE(hurried);
  EXPECT_TRUE(plan.stopped);
}

// Time is counted in questions here. Shares of plans fill the list after six of them, whole plans
// only later: that is no list that cannot be filled.
TEST(YardPlan, KeepsTheListFirstWhereTimeEndsBeforeItIsFilled) {
  const auto logs = three_logs();
  const Order list = small_list(2, 3, 11);
  YardSettings settings = quick();
  settings.plan.threads = 1;
  EXPECT_TRUE(plan_yard(logs, list, Mill{}, settings).filled());
  int asked = 0;
  settings.plan.watch.progress = [&](const std::string& what, double) {
    asked += what.starts_with("asking") ? 1 : 0;
  };
  settings.plan.watch.gone = [&] { return asked / 6.0; };
  settings.plan.watch.stop = [&] { return asked >= 6; };
  const YardPlan plan = plan_yard(logs, list, Mill{}, settings);
  expect_sound(plan, logs);
  EXPECT_TRUE(plan.stopped);
  EXPECT_FALSE(plan.filled()) << "or nothing is tested";
  EXPECT_EQ(plan.aim, Aim::fill);
}

TEST(YardPlan, CountsWhatIsMadeAlready) {
  const std::vector<YardLog> logs = {three_logs()[0]};
  const YardPlan plan = plan_yard(logs, small_list(2, 3, 1), Mill{}, quick(), {2, 1, 1});
  expect_sound(plan, logs);
  EXPECT_TRUE(plan.filled());
  EXPECT_EQ(made_of(plan, "stud"), 2);
  EXPECT_EQ(made_of(plan, "joist") + made_of(plan, "board"), 0);
}

TEST(YardPlan, RefusesAListThatCountsNothingOrThatNoLogCanFill) {
  const auto logs = three_logs();
  Order nothing = small_list(1, 1, 1);
  for (Product& each : nothing.products) each.wanted.reset();
  EXPECT_EQ(error_of([&] { plan_yard(logs, nothing, Mill{}, quick()); }).fault(), Fault::bad_order);
  EXPECT_EQ(error_of([&] {
              plan_yard(logs, small_list(2, 2, 2), Mill{}, quick(), {2, 3, 2});
            }).fault(),
            Fault::bad_order);
  Order great;
  great.products = {wanted(product("beam", 300, 300, {2400}, 450), 2)};
  EXPECT_EQ(error_of([&] { plan_yard(logs, great, Mill{}, quick()); }).fault(),
            Fault::no_product_fits);
}

TEST(YardPlan, RefusesALogThatTheMillCannotHoldByItsName) {
  Mill small;
  small.max_diameter = 250;
  const UserError error =
      error_of([&] { plan_yard(three_logs(), small_list(1, 1, 1), small, quick()); });
  EXPECT_EQ(error.fault(), Fault::log_beyond_mill);
  EXPECT_NE(std::string(error.what()).find("'thick'"), std::string::npos) << error.what();
}

TEST(YardPlan, SaysInTheSheetWhatComesFromWhichLogAndWhatIsMissing) {
  const auto logs = three_logs();
  YardPlan plan = plan_yard(logs, small_list(9, 4, 10), Mill{}, quick());
  const std::vector<YardSource> sources = {{"a", "thin"}, {"b", "thick"}, {"c", "short"}};
  const std::string sheet = yard_sheet_html(plan, logs, sources);
  EXPECT_EQ(sheet.find("ended early"), std::string::npos);
  plan.stopped = true;
  EXPECT_NE(yard_sheet_html(plan, logs, sources).find("ended early"), std::string::npos);
  for (const std::size_t l : plan.sawing) {
    EXPECT_NE(sheet.find(logs[l].name + "/saw-sheet.html"), std::string::npos) << logs[l].name;
  }
  for (const ListLine& line : plan.list) {
    if (line.missing() == 0) continue;
    const std::string sentence = "Missing: " + std::to_string(line.missing()) + " x " +
                                 plan.order.products[line.product].name;
    EXPECT_NE(sheet.find(sentence), std::string::npos) << sentence;
  }
  EXPECT_NE(sheet.find("graded by someone entitled"), std::string::npos);
  EXPECT_EQ(sheet.find("http:"), std::string::npos);
}

}  // namespace
}  // namespace kerfwright
