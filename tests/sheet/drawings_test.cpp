#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <regex>
#include <set>
#include <sstream>

#include "kerfwright/sheet/boards_csv.hpp"
#include "kerfwright/sheet/saw_steps.hpp"
#include "kerfwright/sheet/setup_maps.hpp"
#include "samples.hpp"
#include "svg_reader.hpp"

namespace kerfwright {
namespace {

TEST(SetupMaps, AreWellFormedSheetsOfA4OneForEachSetupOnTheMill) {
  const auto maps = setup_maps(samples::cant_plan(), samples::cant_log());
  ASSERT_EQ(maps.size(), 3U);
  std::set<std::string> names;
  for (const SetupMap& map : maps) {
    names.insert(map.name);
    const auto drawing = svg_reader::read(map.svg);
    EXPECT_TRUE(drawing.well_formed) << map.name;
    EXPECT_EQ(drawing.width, "210mm");
    EXPECT_EQ(drawing.view_box, "0 0 210 297");
  }
  EXPECT_EQ(names.size(), 3U);
}

TEST(SetupMaps, WriteTheHeightOfEveryCutOfTheirSetup) {
  const SawPlan plan = samples::cant_plan();
  const LogShape shape = samples::cant_log();
  const auto maps = setup_maps(plan, shape);
  const SawSteps steps = saw_steps(plan, shape);
  for (std::size_t i = 0; i < maps.size(); ++i) {
    for (const MillCut& cut : steps.stages[i].cuts) {
      const std::string label =
          std::to_string(cut.n) + " · " + std::to_string(std::lround(cut.height));
      bool found = false;
      for (const auto& text : svg_reader::read(maps[i].svg).texts) found |= text.words == label;
      EXPECT_TRUE(found) << maps[i].name << ": " << label;
    }
  }
}

TEST(SetupMaps, LabelACutAtBothEndsThoughItMeetsTheLogOnlyBetweenThem) {
  // Bowed towards the first cut, which lies 10 mm outside of both ends.
  const SawPlan plan = samples::live_plan();
  const Eigen::Vector3d up = plan.cuts.front().normal;
  samples::LogForm form;
  form.butt_radius = form.top_radius = up.dot(plan.cuts.front().point) - 10.0;
  form.bow = 60;
  form.bow_direction = std::atan2(up.z(), up.y()) * 180.0 / std::numbers::pi;
  const LogShape shape = samples::bowed_log(form);
  const MillCut first = saw_steps(plan, shape).stages.front().cuts.front();
  ASSERT_FALSE(first.face[0].width || first.face[2].width);
  ASSERT_TRUE(first.face[1].width);
  const std::string label =
      std::to_string(first.n) + " · " + std::to_string(std::lround(first.height));
  const auto drawing = svg_reader::read(setup_maps(plan, shape).front().svg);
  for (const std::string end : {"stage-1-butt", "stage-1-top"}) {
    EXPECT_EQ(
        std::count_if(drawing.texts.begin(), drawing.texts.end(),
                      [&](const auto& text) { return text.group == end && text.words == label; }),
        1)
        << end;
    EXPECT_GE(std::count_if(drawing.shapes.begin(), drawing.shapes.end(),
                            [&](const auto& drawn) {
                              return drawn.group == end && drawn.dashed &&
                                     drawn.style == "none #8c2d04";
                            }),
              1)
        << end;
  }
}

TEST(SetupMaps, NoTwoTextsOfASheetLieOnEachOther) {
  for (const SetupMap& map : setup_maps(samples::cant_plan(), samples::cant_log())) {
    const auto drawing = svg_reader::read(map.svg);
    for (std::size_t i = 0; i < drawing.texts.size(); ++i) {
      for (std::size_t j = i + 1; j < drawing.texts.size(); ++j) {
        EXPECT_FALSE(svg_reader::overlap(drawing.texts[i], drawing.texts[j]))
            << map.name << ": " << drawing.texts[i].words << " on " << drawing.texts[j].words;
      }
    }
  }
}

std::vector<std::string> rows_of(const std::string& csv) {
  std::vector<std::string> rows;
  std::istringstream lines(csv);
  for (std::string line; std::getline(lines, line);) rows.push_back(line);
  return rows;
}

TEST(BoardsCsv, HasARowForEveryBoardAndTheirValuesAddUp) {
  const SawPlan plan = samples::live_plan();
  const auto rows = rows_of(boards_csv(plan, samples::live_log()));
  ASSERT_EQ(rows.size(), plan.boards.size() + 1);
  double value = 0.0;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    std::smatch match;
    ASSERT_TRUE(std::regex_match(
        rows[i], match,
        std::regex(R"re((\d+),"([^"]*)",([\d.]+),([\d.]+),([\d.]+),([\d.]+),"EUR",[A-Z],\d+\r)re")))
        << rows[i];
    const Board& board = plan.boards[i - 1];
    EXPECT_EQ(std::stoi(match[1]), board.id);
    EXPECT_EQ(match[2], board.product);
    EXPECT_DOUBLE_EQ(std::stod(match[5]), board.length);
    value += std::stod(match[6]);
  }
  EXPECT_NEAR(value, plan.totals.value, 0.005);
}

TEST(BoardsCsv, NoProductNameBecomesAFormula) {
  for (const std::string name :
       {"=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0", " =1", "a\",\"=1"}) {
    SawPlan plan = samples::live_plan();
    for (Product& product : plan.order.products) product.name = name;
    for (Board& board : plan.boards) board.product = name;
    for (const std::string& row : rows_of(boards_csv(plan, samples::live_log()))) {
      // Fields as a spreadsheet sees them: quotes taken off, doubled ones single.
      std::string field;
      bool quoted = false;
      for (std::size_t i = 0; i <= row.size(); ++i) {
        const char c = i < row.size() ? row[i] : ',';
        if (c == '"') {
          if (quoted && i + 1 < row.size() && row[i + 1] == '"') {
            field += row[++i];
          } else {
            quoted = !quoted;
          }
        } else if (c == ',' && !quoted) {
          const auto first = field.find_first_not_of(" \t");
          EXPECT_TRUE(first == std::string::npos ||
                      std::string("=+-@").find(field[first]) == std::string::npos)
              << field;
          field.clear();
        } else {
          field += c;
        }
      }
    }
  }
}

}  // namespace
}  // namespace kerfwright
