#include "kerfwright/sheet/cut_map.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <numbers>
#include <random>
#include <regex>
#include <set>

#include "samples.hpp"
#include "svg_reader.hpp"

namespace kerfwright {
namespace {

using svg_reader::Drawing;
using svg_reader::Text;

struct Case {
  std::string name;
  SawPlan plan;
  LogShape shape;
};

std::vector<Case> cases() {
  return {{"live", samples::live_plan(), samples::live_log()},
          {"cant", samples::cant_plan(), samples::cant_log()},
          {"many flitches", samples::thin_plan(16), samples::thin_log()},
          {"turned back", samples::live_plan_at(250), samples::live_log_at(250)}};
}

/// The number after "Sections 1:" or "Lengths 1:".
double scale_of(const Drawing& drawing, const std::string& name) {
  for (const Text& text : drawing.texts) {
    if (text.words.rfind(name + " 1:", 0) == 0)
      return std::stod(text.words.substr(name.size() + 3));
  }
  return 0.0;
}

bool is_number(const Text& text) {
  return text.words.find_first_not_of("0123456789") == std::string::npos;
}

bool in_section(const Text& text) { return text.group.rfind("section-", 0) == 0; }

/// Board numbers stand centred and bold in the sections; those of cuts start beside or hang below
/// them.
std::vector<Text> board_numbers(const Drawing& drawing, const std::string& group,
                                const SawPlan& plan) {
  std::vector<Text> numbers;
  for (const Text& text : drawing.texts) {
    if (text.group != group || !text.bold || text.anchor != "middle" || !is_number(text)) continue;
    const int id = std::stoi(text.words);
    for (const Board& board : plan.boards) {
      if (board.id == id) numbers.push_back(text);
    }
  }
  return numbers;
}

TEST(CutMap, IsWellFormedAndFillsOneSheetOfA4) {
  for (const auto& [name, plan, shape] : cases()) {
    const Drawing drawing = svg_reader::read(cut_map_svg(plan, shape));
    ASSERT_TRUE(drawing.well_formed) << name;
    EXPECT_EQ(drawing.width, "210mm");
    EXPECT_EQ(drawing.height, "297mm");
    EXPECT_EQ(drawing.view_box, "0 0 210 297");
  }
}

TEST(CutMap, IsTheSameToTheByteEachTime) {
  for (const auto& [name, plan, shape] : cases()) {
    EXPECT_EQ(cut_map_svg(plan, shape), cut_map_svg(plan, shape)) << name;
  }
}

TEST(CutMap, TellsProductSizeAndValueOfEveryBoard) {
  const Drawing drawing = svg_reader::read(cut_map_svg(samples::live_plan(), samples::live_log()));
  for (const std::string title :
       {"1: plank, 50 × 200 × 2400 mm, 18.50 EUR", "2: rail, 50 × 120 × 3000 mm, 12.25 EUR",
        "3: rail, 50 × 120 × 3000 mm, 12.25 EUR", "4: plank, 50 × 200 × 1200 mm, 7.00 EUR"}) {
    EXPECT_NE(std::find(drawing.titles.begin(), drawing.titles.end(), title), drawing.titles.end())
        << title;
  }
}

TEST(CutMap, KeepsAllTextOnThePage) {
  for (const auto& [name, plan, shape] : cases()) {
    for (const Text& text : svg_reader::read(cut_map_svg(plan, shape)).texts) {
      const auto [left, top, right, bottom] = svg_reader::box(text);
      EXPECT_GT(left, 5.0) << name << ": " << text.words;
      EXPECT_GT(top, 5.0) << name << ": " << text.words;
      EXPECT_LT(right, 205.0) << name << ": " << text.words;
      EXPECT_LT(bottom, 292.0) << name << ": " << text.words;
    }
  }
}

TEST(CutMap, LetsNoTextCoverAnother) {
  for (const auto& [name, plan, shape] : cases()) {
    const auto texts = svg_reader::read(cut_map_svg(plan, shape)).texts;
    for (std::size_t i = 0; i < texts.size(); ++i) {
      for (std::size_t j = 0; j < i; ++j) {
        EXPECT_FALSE(svg_reader::overlap(texts[i], texts[j]))
            << name << ": " << texts[i].words << " (" << texts[i].group << ") and "
            << texts[j].words << " (" << texts[j].group << ")";
      }
    }
  }
}

TEST(CutMap, WritesNothingTooSmallAndDrawsNothingTooThin) {
  for (const auto& [name, plan, shape] : cases()) {
    const std::string svg = cut_map_svg(plan, shape);
    const Drawing drawing = svg_reader::read(svg);
    for (const Text& text : drawing.texts) EXPECT_GE(text.size, 2.6) << text.words;
    for (const auto& shape_drawn : drawing.shapes) {
      if (shape_drawn.stroke > 0.0) {
        EXPECT_GE(shape_drawn.stroke, 0.15);
      }
    }
  }
}

TEST(CutMap, NumbersEveryBoardInASectionAndInItsFlitch) {
  for (const auto& [name, plan, shape] : cases()) {
    const Drawing drawing = svg_reader::read(cut_map_svg(plan, shape));
    std::set<std::string> in_sections;
    std::set<std::string> in_flitches;
    for (const Text& text : drawing.texts) {
      if (!text.bold || !is_number(text)) continue;
      if (in_section(text)) in_sections.insert(text.words);
      if (text.group.rfind("flitch-", 0) == 0) in_flitches.insert(text.words);
    }
    for (const Board& board : plan.boards) {
      EXPECT_TRUE(in_sections.contains(std::to_string(board.id))) << name << board.id;
      EXPECT_TRUE(in_flitches.contains(std::to_string(board.id))) << name << board.id;
    }
  }
}

TEST(CutMap, KeepsBoardNumbersApartInTheSections) {
  for (const auto& [name, plan, shape] : cases()) {
    const Drawing drawing = svg_reader::read(cut_map_svg(plan, shape));
    for (const std::string group : {"section-butt", "section-middle", "section-top"}) {
      const auto numbers = board_numbers(drawing, group, plan);
      EXPECT_GE(numbers.size(), 2U) << name;
      for (std::size_t i = 0; i < numbers.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j)
          EXPECT_FALSE(svg_reader::overlap(numbers[i], numbers[j]));
      }
    }
  }
}

/// Whether a point lies in the box about what is drawn of a board in a group.
bool on_board(const Drawing& drawing, const std::string& group, const std::string& id, double x,
              double y) {
  for (const auto& drawn : drawing.shapes) {
    if (drawn.group != group || drawn.title.rfind(id + ": ", 0) != 0) continue;
    const auto p = svg_reader::points(drawn.path);
    std::array<double, 4> box = {1e9, 1e9, -1e9, -1e9};
    for (std::size_t i = 0; i + 1 < p.size(); i += 2) {
      box = {std::min(box[0], p[i]), std::min(box[1], p[i + 1]), std::max(box[2], p[i]),
             std::max(box[3], p[i + 1])};
    }
    if (x >= box[0] && x <= box[2] && y >= box[1] && y <= box[3]) return true;
  }
  return false;
}

TEST(CutMap, JoinsNumbersThatStandOutsideOfAViewToTheirBoards) {
  int outside = 0;
  for (const auto& [name, plan, shape] : cases()) {
    const Drawing drawing = svg_reader::read(cut_map_svg(plan, shape));
    for (const std::string group : {"view-side", "view-above"}) {
      const auto numbers = board_numbers(drawing, group, plan);
      EXPECT_GE(numbers.size(), 1U) << name << group;
      for (const Text& text : numbers) {
        const double middle = text.y - 0.365 * text.size;
        if (on_board(drawing, group, text.words, text.x, middle)) continue;
        ++outside;
        bool joined = false;
        for (const auto& drawn : drawing.shapes) {
          const auto p = svg_reader::points(drawn.path);
          if (drawn.group != group || p.size() != 4 || std::abs(p[0] - text.x) > 0.02) continue;
          joined = joined || on_board(drawing, group, text.words, p[2], p[3]);
        }
        EXPECT_TRUE(joined) << name << ", " << group << ": " << text.words;
      }
    }
  }
  EXPECT_GE(outside, 16);  // the sixteen thin flitches, seen on edge
}

TEST(CutMap, DrawsBoardsInTrueProportion) {
  const SawPlan plan = samples::live_plan();
  const Drawing drawing = svg_reader::read(cut_map_svg(plan, samples::live_log()));
  const std::map<std::string, std::pair<std::string, std::array<double, 2>>> wanted = {
      {"section-middle", {"Sections", {50, 200}}},
      {"flitch-A", {"Lengths", {200, 2400}}},
      {"view-above", {"Lengths", {200, 2400}}},
      {"view-side", {"Lengths", {50, 2400}}}};
  for (const auto& [group, what] : wanted) {
    const double scale = scale_of(drawing, what.first);
    ASSERT_GT(scale, 0.0);
    int found = 0;
    for (const auto& drawn : drawing.shapes) {
      if (drawn.group != group || drawn.title.rfind("1: plank", 0) != 0) continue;
      const auto p = svg_reader::points(drawn.path);
      ASSERT_EQ(p.size(), 8U);
      std::array<double, 2> sides = {std::hypot(p[2] - p[0], p[3] - p[1]),
                                     std::hypot(p[4] - p[2], p[5] - p[3])};
      std::sort(sides.begin(), sides.end());
      // Two ends of a side, each rounded to 0.01 mm in both directions.
      EXPECT_NEAR(sides[0], what.second[0] / scale, 0.015) << group;
      EXPECT_NEAR(sides[1], what.second[1] / scale, 0.015) << group;
      ++found;
    }
    EXPECT_EQ(found, 1) << group;
  }
}

/// Where a text stands from the middle of the log's outline in a section, degrees clockwise from
/// the top.
double bearing(const Drawing& drawing, const std::string& group, const Text& text) {
  for (const auto& drawn : drawing.shapes) {
    if (drawn.group != group || drawn.style.rfind("#d8cab4", 0) != 0) continue;
    const auto p = svg_reader::points(drawn.path);
    double x = 0;
    double y = 0;
    for (std::size_t i = 0; i + 1 < p.size(); i += 2) {
      x += p[i];
      y += p[i + 1];
    }
    const double count = static_cast<double>(p.size()) / 2;
    const double right = text.x - x / count;
    const double up = y / count - (text.y - 0.365 * text.size);
    return std::fmod(std::atan2(right, up) * 180.0 / std::numbers::pi + 360.0, 360.0);
  }
  return -1.0;
}

TEST(CutMap, TurnsTheScansTopClockwiseByTheRoll) {
  for (const double roll : {0.0, 35.0, 90.0, 135.0, 200.0, 250.0, 300.0}) {
    const Drawing drawing =
        svg_reader::read(cut_map_svg(samples::live_plan_at(roll), samples::live_log_at(roll)));
    int found = 0;
    for (const Text& text : drawing.texts) {
      if (text.words != "T" || text.group != "section-butt") continue;
      EXPECT_NEAR(std::remainder(bearing(drawing, text.group, text) - roll, 360.0), 0.0, 2.0);
      ++found;
    }
    EXPECT_EQ(found, 1);
  }
}

TEST(CutMap, LaysTheCutsOfTheMainSetupLevelAndInOrder) {
  const Drawing drawing = svg_reader::read(cut_map_svg(samples::live_plan(), samples::live_log()));
  std::vector<double> heights(5, 0.0);
  for (const Text& text : drawing.texts) {
    if (text.group != "section-butt" || !is_number(text) || text.anchor == "middle") continue;
    heights.at(static_cast<std::size_t>(std::stoi(text.words))) = text.y;
  }
  for (std::size_t n = 2; n <= 4; ++n) EXPECT_GT(heights[n], heights[n - 1]) << n;
}

TEST(CutMap, SaysHowToTurnAndRaiseTheLog) {
  const Drawing drawing = svg_reader::read(cut_map_svg(samples::cant_plan(), samples::cant_log()));
  std::set<std::string> words;
  for (const Text& text : drawing.texts) {
    if (text.group == "heading") words.insert(text.words);
  }
  for (const std::string expected :
       {"20° clockwise", "160° anticlockwise", "110° clockwise", "12:40", "6:40", "3:40",
        "top 8 mm", "butt 8 mm", "neither end", "1–2", "3–4", "5–9"}) {
    EXPECT_TRUE(words.contains(expected)) << expected;
  }
}

TEST(CutMap, MeasuresAFlitchFromItsEdgeAndItsEnd) {
  const Drawing drawing = svg_reader::read(cut_map_svg(samples::live_plan(), samples::live_log()));
  std::multiset<std::string> words;
  for (const Text& text : drawing.texts) {
    if (text.group == "flitch-A" && !text.bold) words.insert(text.words);
  }
  // The flitch's wide face is 31 mm above the axis of a log of 152 mm radius whose bow at 300 mm
  // from either end is 14.4 mm: its edge lies sqrt(152^2 - 31^2) + 14.4 = 163.2 mm to the left, the
  // board 127.
  EXPECT_EQ(words.count("36"), 2U);
  EXPECT_EQ(words.count("0"), 1U);
  EXPECT_EQ(words.count("300"), 1U);
  EXPECT_EQ(words.count("2700"), 1U);
}

TEST(CutMap, SaysWhatHasNoRoom) {
  const Drawing drawing =
      svg_reader::read(cut_map_svg(samples::thin_plan(30), samples::thin_log()));
  const auto said = std::find_if(drawing.texts.begin(), drawing.texts.end(), [](const Text& text) {
    return text.words.find("more flitches have no room here") != std::string::npos;
  });
  ASSERT_NE(said, drawing.texts.end());
  std::set<std::string> flitches;
  for (const Text& text : drawing.texts) {
    if (text.group.rfind("flitch-", 0) == 0) flitches.insert(text.group);
    if (&text != &*said) {
      EXPECT_FALSE(svg_reader::overlap(text, *said)) << text.words;
    }
  }
  EXPECT_EQ(static_cast<std::size_t>(std::stoi(said->words)) + flitches.size(), 30U);
}

TEST(CutMap, RoundsEveryCoordinateToAHundredth) {
  for (const auto& [name, plan, shape] : cases()) {
    const std::string svg = cut_map_svg(plan, shape);
    EXPECT_FALSE(std::regex_search(svg, std::regex("[0-9]\\.[0-9]{3}[^<]*\""))) << name;
    EXPECT_EQ(svg.find("nan"), std::string::npos) << name;
    EXPECT_EQ(svg.find("inf"), std::string::npos) << name;
  }
}

TEST(CutMap, TakesNamesWithAnythingInThem) {
  SawPlan plan = samples::live_plan();
  const std::string odd =
      "<b>&\"' \x01\xFF\xC3 \xED\xA0\x80 ]]> Bohle \xC3\xA9\xE6\x9D\xBF " + std::string(200, 'W');
  plan.order.products[0].name = odd;
  plan.order.currency = "<&>" + std::string(60, 'X');
  plan.pattern = odd;
  for (Board& board : plan.boards) {
    if (board.product == "plank") board.product = odd;
  }
  LogShape shape = samples::live_log();
  shape.source.file = odd;
  const Drawing drawing = svg_reader::read(cut_map_svg(plan, shape));
  ASSERT_TRUE(drawing.well_formed);
  for (const Text& text : drawing.texts) {
    EXPECT_LT(svg_reader::box(text)[2], 206.0) << text.words;
    EXPECT_GT(svg_reader::box(text)[0], 4.0) << text.words;
  }
}

TEST(CutMap, DrawsALogWithoutBoardsOrCuts) {
  const Drawing drawing = svg_reader::read(cut_map_svg(SawPlan{}, samples::live_log()));
  EXPECT_TRUE(drawing.well_formed);
}

TEST(CutMap, SurvivesPlansThatContradictThemselves) {
  std::mt19937 random(3);
  for (int round = 0; round < 40; ++round) {
    SawPlan plan = round % 2 == 0 ? samples::live_plan() : samples::cant_plan();
    const auto cut = [&]() -> Cut& { return plan.cuts[random() % plan.cuts.size()]; };
    for (int k = 0; k < 4; ++k) {
      switch (random() % 6) {
        case 0:
          cut().piece = cut().above;
          break;
        case 1:
          cut().above = cut().piece;
          break;
        case 2:
          cut().setup = 99;
          break;
        case 3:
          cut().normal = Eigen::Vector3d::UnitX();
          break;
        case 4:
          cut().point *= 100;
          break;
        default:
          plan.boards[random() % plan.boards.size()].piece = cut().below;
      }
    }
    EXPECT_TRUE(svg_reader::read(cut_map_svg(plan, samples::live_log())).well_formed) << round;
  }
}

}  // namespace
}  // namespace kerfwright
