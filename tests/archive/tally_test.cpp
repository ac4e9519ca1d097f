#include "kerfwright/archive/tally.hpp"

#include <cmath>

#include "error_of.hpp"
#include "kerfwright/sheet/boards_csv.hpp"
#include "sheet/samples.hpp"

namespace kerfwright {
namespace {

Tally parsed(const std::string& csv) { return parse_tally(csv, "tally.csv"); }

TEST(Tally, ReadsCommasSemicolonsAndQuotedNotes) {
  const Tally commas = parsed(
      "board,thickness,width,length,value,note\r\n1,49.5,150,2400,18.5,\"split, \"\"a\"\" bit\"\r\n"
      "2,,,,,\r\n\r\n,25,80,900,2,\"from the slab\"\r\nminutes,95\r\n");
  ASSERT_EQ(commas.pieces.size(), 3U);
  EXPECT_EQ(commas.pieces[0].board, 1);
  EXPECT_DOUBLE_EQ(*commas.pieces[0].thickness, 49.5);
  EXPECT_EQ(commas.pieces[0].note, "split, \"a\" bit");
  EXPECT_FALSE(commas.pieces[1].thickness);
  EXPECT_EQ(commas.pieces[2].board, 0);
  EXPECT_DOUBLE_EQ(*commas.minutes, 95);
  const Tally semicolons = parsed("note;width;board;thickness\nx;150;1;49,5\nminutes;7,5\n");
  EXPECT_DOUBLE_EQ(*semicolons.pieces[0].thickness, 49.5);
  EXPECT_DOUBLE_EQ(*semicolons.pieces[0].width, 150);
  EXPECT_DOUBLE_EQ(*semicolons.minutes, 7.5);
}

TEST(Tally, ReadsInches) {
  const Tally tally =
      parsed("board,thickness (in),width (mm),length (in)\n1,1.5,150,96 1/2\n2,1 1/16,,\n");
  ASSERT_EQ(tally.pieces.size(), 2U);
  EXPECT_NEAR(*tally.pieces[0].thickness, 38.1, 1e-9);
  EXPECT_NEAR(*tally.pieces[0].width, 150, 1e-9);
  EXPECT_NEAR(*tally.pieces[0].length, 96.5 * 25.4, 1e-9);
  EXPECT_NEAR(*tally.pieces[1].thickness, 25.4 + 25.4 / 16, 1e-9);
  EXPECT_FALSE(tally.pieces[1].length);
}

TEST(Tally, OfAPlansOwnBoardsInInchesIsThePlan) {
  SawPlan plan = samples::live_plan();
  plan.mill = in_inches(plan.mill);
  const Tally tally = parsed(boards_csv(plan, samples::live_log()));
  const TallyResult result = compare_tally(plan, tally, "boards.csv");
  EXPECT_EQ(result.came, static_cast<int>(plan.boards.size()));
  // A thousandth of an inch is 0.025 mm.
  for (const SizeError& error : result.errors) {
    EXPECT_NEAR(*error.thickness, 0, 0.013);
    EXPECT_NEAR(*error.width, 0, 0.013);
    EXPECT_NEAR(*error.length, 0, 0.013);
  }
}

TEST(Tally, RefusesWhatMakesNoSenseAndSaysTheLine) {
  const auto refused = [](const std::string& csv, const std::string& line) {
    const UserError error = error_of([&] { parsed(csv); });
    EXPECT_EQ(error.fault(), Fault::bad_tally);
    EXPECT_NE(std::string(error.what()).find("line " + line), std::string::npos) << error.what();
  };
  refused("", "1");
  refused("thickness,width\n", "1");
  refused("board,bark\n", "1");
  refused("board,board\n", "1");
  refused("board,thickness\n1,thick\n", "2");
  refused("board,thickness\n1,-5\n", "2");
  refused("board,thickness\n1,nan\n", "2");
  refused("board,thickness\n1.5,20\n", "2");
  refused("board,thickness (in)\n1,1 3/0\n", "2");
  refused("board,thickness (in)\n1,2000\n", "2");
  refused("board,thickness\n1,20\n,20\n", "3");
  refused("board\n1\nminutes,x\n", "3");
  refused("board\nminutes,5\nminutes,6\n", "3");
  refused("board,note\n1,\"open\n", "2");
}

TEST(Tally, OfAPlansOwnBoardsIsThePlan) {
  const SawPlan plan = samples::live_plan();
  const Tally tally = parsed(boards_csv(plan, samples::live_log()));
  const TallyResult result = compare_tally(plan, tally, "boards.csv");
  EXPECT_EQ(result.came, static_cast<int>(plan.boards.size()));
  EXPECT_EQ(result.beside, 0);
  EXPECT_NEAR(result.value, plan.totals.value, 1e-6);
  double m3 = 0;
  for (const Board& board : plan.boards) m3 += board.thickness * board.width * board.length * 1e-9;
  EXPECT_NEAR(result.m3, m3, 1e-9);
  EXPECT_FALSE(result.hours);
  for (const SizeError& error : result.errors) EXPECT_DOUBLE_EQ(*error.thickness, 0);
}

TEST(Tally, CountsWhatIsMissingAndWhatCameBeside) {
  const SawPlan plan = samples::live_plan();
  const Board& board = plan.boards[0];
  const Tally tally = parsed("board,thickness,width,length,value\n" + std::to_string(board.id) +
                             "," + std::to_string(board.thickness - 2) +
                             ",,,\n,20,100,1000,3\n"
                             "minutes,90\n");
  const TallyResult result = compare_tally(plan, tally, "tally");
  EXPECT_EQ(result.came, 1);
  EXPECT_EQ(result.beside, 1);
  EXPECT_DOUBLE_EQ(*result.hours, 1.5);
  EXPECT_NEAR(result.value, board.value + 3, 1e-9);
  EXPECT_NEAR(result.m3, (board.thickness - 2) * board.width * board.length * 1e-9 + 0.002, 1e-12);
  ASSERT_EQ(result.errors.size(), 1U);
  EXPECT_NEAR(*result.errors[0].thickness, -2, 1e-9);
  EXPECT_FALSE(result.errors[0].width);
  EXPECT_EQ(error_of([&] { compare_tally(plan, parsed("board\n999\n"), "t"); }).fault(),
            Fault::bad_tally);
  EXPECT_EQ(error_of([&] { compare_tally(plan, parsed("board\n1\n1\n"), "t"); }).fault(),
            Fault::bad_tally);
}

/// Logs whose boards are off by `off`, by an error of the whole log and by one of each board, both
/// evenly distributed with these standard deviations; one board in ten is nonsense.
std::vector<TallyResult> many(double off, double between, double within, double kerf) {
  std::vector<TallyResult> results;
  unsigned state = 3;
  const auto error = [&](double sigma) {
    state = state * 1664525U + 1013904223U;
    return sigma * std::sqrt(12.0) * (state / 4294967296.0 - 0.5);
  };
  for (int log = 0; log < 200; ++log) {
    TallyResult result;
    result.kerf = kerf;
    result.planned = result.came = 20;
    result.planned_value = 100;
    result.value = 90;
    result.planned_hours = 2;
    result.hours = 3;
    const double of_log = error(between);
    for (int board = 0; board < 20; ++board) {
      const double wrong = board % 10 == 9 ? 40.0 : 0.0;
      result.errors.push_back({off + of_log + error(within) + wrong, std::nullopt, std::nullopt});
    }
    results.push_back(result);
  }
  return results;
}

TEST(Learned, FindsWhatWasPutIn) {
  const Learned learned = learn(many(-0.8, 0.6, 1.2, 6));
  EXPECT_TRUE(learned.enough);
  EXPECT_EQ(learned.thicknesses, 4000);
  // Even distributions have a median absolute deviation of 0.866 of their standard deviation, that
  // is 1.284 of it after the factor for normal ones; the nonsense adds to both. Hence wide limits.
  EXPECT_NEAR(learned.thickness_off, -0.8, 0.4);
  EXPECT_NEAR(learned.kerf, 6.8, 0.4);
  EXPECT_NEAR(learned.variation, 1.2 * 1.284, 0.4);
  EXPECT_NEAR(learned.setting_error, 0.6 * 1.284, 0.3);
  EXPECT_DOUBLE_EQ(*learned.hours_factor, 1.5);
  EXPECT_DOUBLE_EQ(learned.value_factor, 0.9);
  const std::string text = describe(learned);
  EXPECT_NE(text.find("set 'kerf' in the mill to"), std::string::npos) << text;
  EXPECT_NE(text.find("1.50 times as long"), std::string::npos) << text;
  // What it says in inches can be written into the mill's file as it stands.
  const std::string inches = describe(learned, true);
  const std::string told = "set 'kerf' in the mill to \"";
  const std::size_t at = inches.find(told);
  ASSERT_NE(at, std::string::npos) << inches;
  EXPECT_EQ(inches.find(" mm"), std::string::npos) << inches;
  const std::size_t from = at + told.size();
  const std::string kerf = inches.substr(from, inches.find('"', from) - from);
  EXPECT_NEAR(parse_mill("kerf = \"" + kerf + "\"", "mill.toml").kerf, learned.kerf, 0.013);
  EXPECT_NEAR(learned_mill({}, learned).kerf, learned.kerf, 1e-12);
}

TEST(Learned, TellsErrorsOfLogsFromErrorsOfBoards) {
  EXPECT_LT(learn(many(0, 0, 1.5, 6)).setting_error, 0.3);
  EXPECT_LT(learn(many(0, 1.5, 0.1, 6)).variation, 0.3);
}

TEST(Learned, ChangesNothingByAFewBoards) {
  auto few = many(-3, 0, 0.1, 6);
  few.resize(2);
  const Learned learned = learn(few);
  EXPECT_FALSE(learned.enough);
  EXPECT_EQ(learned_mill({}, learned).kerf, Mill{}.kerf);
  EXPECT_NE(describe(learned).find("Too few"), std::string::npos);
  EXPECT_FALSE(learn({}).enough);
}

}  // namespace
}  // namespace kerfwright
