#include "kerfwright/sheet/comparison.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "kerfwright/sheet/figures_json.hpp"
#include "samples.hpp"

namespace kerfwright {
namespace {

Way way(const std::string& name, SawPlan plan, double net) {
  plan.totals.net = net;
  return {name, std::move(plan), "", name};
}

std::vector<Way> three_ways() {
  return {way("live", samples::live_plan(), 90),
          way("cant", samples::cant_plan(), 110),
          {"quarter", std::nullopt, "No quarter <fits>.", ""}};
}

TEST(Comparison, PutsTheBestFirstAndWhatHasNoPlanLast) {
  const auto ways = three_ways();
  EXPECT_EQ(ranking(ways), (std::vector<std::size_t>{1, 0, 2}));
  EXPECT_EQ(verdict(ways).find("Best: cant (sawn with a cant), 110.00 EUR, 20.00 more than the "
                               "next, live"),
            0U)
      << verdict(ways);
}

TEST(Comparison, RanksByWhatIsExpectedWhereAllKnowIt) {
  auto ways = three_ways();
  ways[0].plan->totals.expected = 88;
  EXPECT_EQ(ranking(ways).front(), 1U) << "one that does not know is not compared by it";
  EXPECT_NE(verdict(ways).find("110.00 EUR, 20.00 more than the next"), std::string::npos)
      << "nor is the difference: " << verdict(ways);
  ways[1].plan->totals.expected = 70;
  EXPECT_EQ(ranking(ways).front(), 0U);
  EXPECT_NE(verdict(ways).find("88.00 EUR expected, 18.00 more than the next"), std::string::npos)
      << verdict(ways);
  EXPECT_NE(comparison_html(ways, samples::cant_log()).find("live: 88.00 EUR expected"),
            std::string::npos);
}

TEST(Comparison, SaysWhenTheNextIsSurer) {
  auto ways = three_ways();
  for (Way& each : ways) {
    if (each.plan) each.plan->totals.expected = each.plan->totals.net;
  }
  ways[0].plan->totals.q10 = 84;
  ways[1].plan->totals.q10 = 80;
  EXPECT_NE(verdict(ways).find("Where luck is bad the next gives more: nine times out of ten over "
                               "84.00, the best over 80.00."),
            std::string::npos)
      << verdict(ways);
  ways[1].plan->totals.q10 = 85;
  EXPECT_EQ(verdict(ways).find("luck"), std::string::npos) << verdict(ways);
}

/// A phone shows the first columns only: those that decide.
TEST(Comparison, BeginsWithWhatDecides) {
  auto ways = three_ways();
  const auto before = [&](const std::string& first, const std::string& second) {
    const std::string heads = comparison_table(ways).substr(0, comparison_table(ways).find('\n'));
    return heads.find(first) < heads.find(second) && heads.find(first) != std::string::npos;
  };
  EXPECT_TRUE(before("net", "value"));
  for (Way& each : ways) {
    if (each.plan) each.plan->totals.expected = each.plan->totals.q10 = 80;
  }
  EXPECT_TRUE(before("expected", "9 in 10 over") && before("9 in 10 over", "net"));
}

TEST(Comparison, SaysWhenTheNextIsAsGood) {
  auto ways = three_ways();
  ways[0].plan->totals.net = 109.9;
  EXPECT_NE(verdict(ways).find("worth as good as the same"), std::string::npos) << verdict(ways);
}

TEST(Comparison, CountsWhatThePlanHas) {
  const SawPlan plan = samples::cant_plan();
  const WayFigures figures = figures_of(plan);
  EXPECT_EQ(figures.boards, static_cast<int>(plan.boards.size()));
  EXPECT_EQ(figures.cuts, static_cast<int>(plan.cuts.size()));
  EXPECT_EQ(figures.turns, 3) << "from two sides, then across";
  double longest = 0.0;
  for (const Board& board : plan.boards) longest = std::max(longest, board.length);
  EXPECT_EQ(figures.longest, longest);
}

TEST(Comparison, TableJsonAndPageTellTheSame) {
  const auto ways = three_ways();
  const std::string table = comparison_table(ways);
  EXPECT_NE(table.find("quarter: No quarter <fits>."), std::string::npos) << table;
  const auto json = nlohmann::json::parse(comparison_json(ways));
  EXPECT_EQ(json.at("best"), "cant");
  ASSERT_EQ(json.at("ways").size(), 3U);
  EXPECT_EQ(json.at("ways")[0].at("net"), 110);
  EXPECT_EQ(json.at("ways")[2].at("why_not"), "No quarter <fits>.");
  EXPECT_FALSE(json.at("ways")[0].contains("expected")) << "what is not known is left out";
  const std::string page = comparison_html(ways, samples::cant_log());
  EXPECT_NE(page.find("No quarter &lt;fits&gt;."), std::string::npos);
  EXPECT_EQ(page.find("<fits>"), std::string::npos);
  EXPECT_LT(page.find("cant: 110.00"), page.find("live: 90.00"));
}

TEST(FiguresJson, TellsAProgramWhatAPersonIsTold) {
  const SawPlan plan = samples::cant_plan();
  LogShape shape = samples::cant_log();
  shape.notes = {"A \"note\"."};
  const auto told = nlohmann::json::parse(plan_figures_json(plan, shape, {"a/plan.json"}));
  EXPECT_EQ(told.at("value"), plan.totals.value);
  EXPECT_EQ(told.at("boards"), plan.boards.size());
  EXPECT_EQ(told.at("notes").at(0), "A \"note\".");
  EXPECT_EQ(told.at("written").at(0), "a/plan.json");
  const auto measured = nlohmann::json::parse(measures_json(shape));
  EXPECT_EQ(measured.at("length"), shape.length());
  EXPECT_GT(measured.at("butt").at("mean_over_bark"), measured.at("butt").at("mean_under_bark"));
}

TEST(Comparison, NothingIsBestWhereNothingFits) {
  const std::vector<Way> ways = {{"live", std::nullopt, "Too small.", ""}};
  EXPECT_EQ(verdict(ways), "None of these ways gives a plan.");
  EXPECT_NE(comparison_table(ways).find("no plan"), std::string::npos);
}

}  // namespace
}  // namespace kerfwright
