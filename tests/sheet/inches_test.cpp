#include <gtest/gtest.h>

#include <map>
#include <regex>
#include <string>

#include "error_of.hpp"
#include "kerfwright/sheet/boards_csv.hpp"
#include "kerfwright/sheet/comparison.hpp"
#include "kerfwright/sheet/cut_map.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/saw_sheet.hpp"
#include "kerfwright/sheet/setup_maps.hpp"
#include "kerfwright/sheet/template_sheet.hpp"
#include "lengths.hpp"
#include "samples.hpp"

namespace kerfwright {
namespace {

using sheet::Lengths;

SawPlan in_inches(SawPlan plan) {
  plan.mill = in_inches(plan.mill);
  return plan;
}

TEST(Lengths, AreWholeMillimetresOrSixteenths) {
  Mill mill;
  mill.height_step = 0.5;
  const Lengths mm(mill);
  EXPECT_EQ(mm.text(213.4), "213 mm");
  EXPECT_EQ(mm.height(212.8), "213");
  EXPECT_EQ(mm.height(212.6), "212.5");
  EXPECT_EQ(mm.number(39.6875, 0.1), "39.7");
  EXPECT_EQ(mm.list({27, 25, 5.2}, 0.5), "27 / 25 / 5");
  EXPECT_EQ(mm.pair(34, 52), "34/52");
  EXPECT_EQ(mm.size(50, 200, 2400), "50 × 200 × 2400");
  mill.height_step = 1.0;
  const Lengths inches(in_inches(mill));
  EXPECT_EQ(inches.text(213.4), "8\u00a03/8\u00a0in");  // 8.4016: 134.4 sixteenths
  EXPECT_EQ(inches.number(19.84375, 0.5), "25/32");
  EXPECT_EQ(inches.number(19.84375), "13/16");  // 12.5 sixteenths, away from 0
  EXPECT_EQ(inches.height(212.8), "8\u00a03/8");
  EXPECT_EQ(inches.decimal(39.6875), "1.563");
  EXPECT_EQ(inches.list({27, 25, 5.2}, 0.5), "1\u00a01/16; 31/32; 7/32");
  EXPECT_EQ(inches.pair(34, 52), "1\u00a05/16 to 2\u00a01/16");
  EXPECT_EQ(inches.size(27, 120, 2438.4), "1\u00a01/16 × 4\u00a03/4 × 96");  // 120 mm is 4.724 in
  mill.height_step = 25.4 / 32;
  EXPECT_EQ(Lengths(in_inches(mill)).height(212.8), "8\u00a03/8");
  EXPECT_EQ(Lengths(in_inches(mill)).height(213.6), "8\u00a013/32");
}

TEST(PlanInInches, ItsFileSaysSoAndIsReadBack) {
  const SawPlan plan = in_inches(samples::live_plan());
  const std::string text = plan_to_json(plan);
  EXPECT_NE(text.find("\"scale\": \"inch\""), std::string::npos);
  const SawPlan back = plan_from_json(text, "plan.json");
  EXPECT_TRUE(back.mill.inches);
  EXPECT_EQ(plan_to_json(back), text);
  EXPECT_EQ(plan_to_json(samples::live_plan()).find("scale"), std::string::npos);
  std::string other = text;
  other.replace(other.find("\"inch\""), 6, "\"yard\"");
  EXPECT_NE(std::string(error_of([&] { plan_from_json(other, "plan.json"); }).what()).find("scale"),
            std::string::npos);
}

/// A length in mm anywhere would be read for inches; volumes and masses are none in m3 and kg.
TEST(PlanInInches, NoOutputForAPersonTellsMillimetres) {
  const std::regex millimetres("[0-9] ?mm[^\"a-z]|[> ,(]mm[ <,.)]|[0-9] (m3|m³|kg)");
  for (const auto& [plan, shape] :
       {std::pair(in_inches(samples::live_plan()), samples::live_log()),
        std::pair(in_inches(samples::cant_plan()), samples::cant_log())}) {
    std::vector<std::string> texts = {cut_map_svg(plan, shape), boards_csv(plan, shape)};
    for (const SetupMap& map : setup_maps(plan, shape)) texts.push_back(map.svg);
    const std::string html = saw_sheet_html(plan, shape);
    texts.push_back(html.substr(html.find("<body>"), html.find("<script") - html.find("<body>")));
    for (const std::string& text : texts) {
      std::smatch match;
      const bool found = std::regex_search(text, match, millimetres);
      EXPECT_FALSE(found) << match.prefix().str().substr(
                                 match.prefix().length() > 60
                                     ? static_cast<std::size_t>(match.prefix().length()) - 60
                                     : 0)
                          << match.str();
    }
    EXPECT_NE(html.find("\u00a0in</b>"), std::string::npos);
    EXPECT_NE(texts[0].find("Size, in"), std::string::npos);
    EXPECT_NE(texts[0].find(" cubic feet<"), std::string::npos);
    EXPECT_NE(texts[0].find(" board feet, "), std::string::npos);
  }
}

TEST(PlanInInches, BoardsStandInDecimalInches) {
  const std::string csv = boards_csv(in_inches(samples::live_plan()), samples::live_log());
  EXPECT_NE(csv.find("thickness (in),width (in),length (in)"), std::string::npos);
  const Board board = samples::live_plan().boards.front();
  const auto begins = csv.find("\r\n") + 2;
  const std::string row = csv.substr(begins, csv.find("\r\n", begins) - begins);
  std::smatch match;
  ASSERT_TRUE(std::regex_search(row, match, std::regex("\",([0-9.]+),([0-9.]+),([0-9.]+),")));
  EXPECT_NEAR(std::stod(match[1]), board.thickness / 25.4, 5.1e-4);
  EXPECT_NEAR(std::stod(match[2]), board.width / 25.4, 5.1e-4);
  EXPECT_NEAR(std::stod(match[3]), board.length / 25.4, 5.1e-4);
}

TEST(PlanInInches, TheTemplateHasABarInInchesBesideTheOther) {
  const std::string html = template_html(in_inches(samples::live_plan()), samples::live_log());
  const std::regex bar("class=\"(bar|inches)\">\\s*<rect[^>]*width=\"([0-9.]+)\"");
  std::map<std::string, double> widths;
  for (std::sregex_iterator it(html.begin(), html.end(), bar), end; it != end; ++it) {
    widths[(*it)[1]] = std::stod((*it)[2]);
  }
  EXPECT_DOUBLE_EQ(widths["bar"], 100.0);
  EXPECT_DOUBLE_EQ(widths["inches"], 101.6);
  EXPECT_NE(html.find("4\u00a0in below"), std::string::npos);
  const std::string metric = template_html(samples::live_plan(), samples::live_log());
  EXPECT_EQ(metric.find("class=\"inches\""), std::string::npos);
}

TEST(PlanInInches, AreComparedInInches) {
  const SawPlan plan = in_inches(samples::live_plan());
  const std::vector<Way> ways = {{"live", plan, "", "1-live"}};
  double longest = 0;
  for (const Board& board : plan.boards) longest = std::max(longest, board.length);
  EXPECT_NE(comparison_table(ways).find(Lengths(plan.mill).number(longest)), std::string::npos);
  EXPECT_NE(comparison_html(ways, samples::live_log()).find("Lengths in inches"),
            std::string::npos);
}

/// What is said of a bound and of errors of setting has its lengths in inches too; a lift that is
/// told is never more than was bounded.
TEST(SheetInInches, SaysSoOfTheBoundAndOfErrorsOfSetting) {
  SawPlan plan = samples::live_plan();
  plan.mill = in_inches(plan.mill);
  plan.mill.lift_error = 3;
  plan.mill.blade_error = 1;
  plan.totals.net = 99;
  plan.totals.bound = 100;
  plan.totals.bound_patterns = "live";
  plan.totals.bound_lift = 32;  // 1 4/16 in and 0.25 mm
  plan.totals.expected = 95;
  plan.totals.q10 = 90;
  EXPECT_NE(bound_words(plan)->find("raised by up to 1 1/4 in: "), std::string::npos);
  EXPECT_NE(expectation_words(plan)->find(", 1/8 in, blade 0.04 in)"), std::string::npos);
  plan.totals.bound_lift = 31;  // 1 3/16 in and 0.8 mm
  EXPECT_NE(bound_words(plan)->find("raised by up to 1 3/16 in: "), std::string::npos);
  plan.mill.inches = false;
  EXPECT_NE(bound_words(plan)->find("raised by up to 31 mm: "), std::string::npos);
}

}  // namespace
}  // namespace kerfwright
