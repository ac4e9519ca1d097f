#include "kerfwright/scan/find_log.hpp"

#include <gtest/gtest.h>
#include <omp.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <filesystem>
#include <numbers>
#include <set>

#include "kerfwright/error.hpp"
#include "scratch.hpp"
#include "small_yard.hpp"

namespace kerfwright {
namespace {

using Coordinates = std::array<float, 3>;

Coordinates coordinates(const Eigen::Vector3f& p) { return {p.x(), p.y(), p.z()}; }

struct Shares {
  double kept = 0.0;     ///< of the log's own points, those in the result
  double strange = 0.0;  ///< of the result's points, those that are not the log's
  double worst = 0.0;    ///< mm from the log's true bark, the farthest of those
};

/// mm from the bark of a straight log along x whose lowest line is `height` m up.
double off_bark(const Eigen::Vector3f& p, double radius, double height) {
  return std::abs(std::hypot(p.y() / 1000.0, p.z() / 1000.0 - height - radius) - radius) * 1000.0;
}

Shares shares(const SmallYard& yard, const Scan& scan, const Scan& log, double radius = 0.16,
              double height = 0.12) {
  std::set<Coordinates> wood;
  for (std::size_t i = 0; i < yard.wood; ++i) wood.insert(coordinates(scan.points[i]));
  std::size_t own = 0;
  Shares found;
  for (const Eigen::Vector3f& p : log.points) {
    const bool is_wood = wood.contains(coordinates(p));
    own += is_wood ? 1 : 0;
    if (!is_wood) found.worst = std::max(found.worst, off_bark(p, radius, height));
  }
  found.kept = static_cast<double>(own) / static_cast<double>(yard.wood);
  found.strange = 1.0 - static_cast<double>(own) / static_cast<double>(log.points.size());
  return found;
}

bool has_note(const Scan& scan, const std::string& words) {
  return std::any_of(scan.notes.begin(), scan.notes.end(), [&](const std::string& note) {
    return note.find(words) != std::string::npos;
  });
}

SmallYard log_on_bunks(Draws& draws, const RoundLog& log = {.lowest_seen = -0.75}) {
  SmallYard yard;
  add_log(yard, draws, 25000, log, 0.12);
  add_ground(yard, draws, 15000);
  add_bunk(yard, draws, 1500, 0.45, 0.12);
  add_bunk(yard, draws, 1500, 1.95, 0.12);
  return yard;
}

TEST(FindLog, TakesTheLogOffItsRestsAndTheGround) {
  Draws draws;
  const SmallYard yard = log_on_bunks(draws);
  const Scan scan = to_scan(yard);
  const Scan log = find_log(scan, {});
  const Shares found = shares(yard, scan, log);
  EXPECT_GT(found.kept, 0.995);
  // Where a timber touches the bark its points are as good as bark.
  EXPECT_LT(found.strange, 0.02);
  EXPECT_LT(found.worst, 20.0);
  ASSERT_TRUE(log.up);
  EXPECT_GT(log.up->z(), 0.999);
  EXPECT_TRUE(has_note(log, "of the ground"));
  EXPECT_TRUE(has_note(log, "Up is square to the ground"));
}

TEST(FindLog, LetsNoPointOfARestFarBelowTheBark) {
  Draws draws;
  const SmallYard yard = log_on_bunks(draws);
  const Scan log = find_log(to_scan(yard), {});
  double lowest = 1e9;
  for (const Eigen::Vector3f& p : log.points) lowest = std::min(lowest, static_cast<double>(p.z()));
  EXPECT_GT(lowest, 120.0 - 25.0);
}

TEST(FindLog, LeavesASecondLogThatTouchesTheFirst) {
  Draws draws;
  SmallYard yard = log_on_bunks(draws);
  add(yard, 9000, [&] {
    return (log_point(draws, {.length = 2.0, .radius = 0.1, .lowest_seen = -0.7}) +
            Eigen::Vector3d(0.2, 0.262, 0.12))
        .eval();
  });
  const Scan scan = to_scan(yard);
  const Scan log = find_log(scan, {});
  const Shares found = shares(yard, scan, log);
  EXPECT_GT(found.kept, 0.99);
  EXPECT_LT(found.strange, 0.04);
  EXPECT_LT(found.worst, 20.0);
  EXPECT_TRUE(has_note(log, "1 other round thing"));
}

TEST(FindLog, KeepsTheLowerBarkOfALogThatLiesInTheGrass) {
  Draws draws;
  SmallYard yard;
  add_log(yard, draws, 25000, {.lowest_seen = -0.6});
  add_ground(yard, draws, 15000);
  const Scan scan = to_scan(yard);
  const Scan log = find_log(scan, {});
  const Shares found = shares(yard, scan, log);
  EXPECT_GT(found.kept, 0.985);
  EXPECT_LT(found.strange, 0.01);
}

TEST(FindLog, KeepsBurlsAndHollows) {
  Draws draws;
  const RoundLog log{.lowest_seen = -0.75, .bump = [](double x, double turn) {
                       const auto bell = [](double d) { return std::exp(-0.5 * d * d); };
                       return 0.06 * bell((x - 0.8) / 0.08) * bell((turn - 1.0) / 0.4) -
                              0.03 * bell((x - 1.5) / 0.1) * bell((turn - 5.6) / 0.3);
                     }};
  const SmallYard yard = log_on_bunks(draws, log);
  const Scan scan = to_scan(yard);
  EXPECT_GT(shares(yard, scan, find_log(scan, {})).kept, 0.995);
}

/// A scan of nothing but the log, as a person cleans it.
Scan bare(const RoundLog& log, int points, double mm_per_unit = 1000.0) {
  Draws draws;
  SmallYard yard;
  add_log(yard, draws, points, log);
  return to_scan(yard, mm_per_unit);
}

TEST(FindLog, KeepsWholeWhatHoldsNothingButALog) {
  for (const RoundLog& log :
       {RoundLog{}, RoundLog{.faces = false}, RoundLog{.sag = 0.36},
        RoundLog{.length = 0.34, .radius = 0.2}, RoundLog{.lowest_seen = 0.0}}) {
    const Scan scan = bare(log, 20000);
    const Scan found = find_log(scan, {});
    EXPECT_GT(static_cast<double>(found.points.size()),
              0.998 * static_cast<double>(scan.points.size()))
        << log.length << " m, sag " << log.sag << (log.faces ? "" : ", no faces");
    EXPECT_FALSE(found.up);
    EXPECT_EQ(has_note(found, "No end face"), !log.faces);
  }
}

TEST(FindLog, TakesAnUprightStemOffTheGround) {
  Draws draws;
  SmallYard yard;
  add(yard, 20000, [&] {
    const Eigen::Vector3d p = log_point(draws, {.faces = false});
    return Eigen::Vector3d(p.y() + 1.0, p.z(), p.x());
  });
  yard.wood = yard.points.size();
  add_ground(yard, draws, 15000);
  const Scan scan = to_scan(yard);
  const Scan log = find_log(scan, {});
  EXPECT_GT(shares(yard, scan, log).kept, 0.97);  // the lowest centimetres stand in the grass
  ASSERT_TRUE(log.up);
  EXPECT_GT(log.up->z(), 0.999);
}

TEST(FindLog, PrefersTheLogToThePolesItLiesOn) {
  Draws draws;
  SmallYard yard;
  const RoundLog block{.length = 0.8, .radius = 0.13};
  add_log(yard, draws, 12000, block, 0.12);
  for (const double x : {0.15, 0.65})
    add(yard, 9000, [&, x] {
      const Eigen::Vector3d p = log_point(draws, {.length = 1.6, .radius = 0.06, .noise = 0.002});
      return Eigen::Vector3d(x + p.y(), p.x() - 0.8, p.z());
    });
  const Scan scan = to_scan(yard);
  const Shares found = shares(yard, scan, find_log(scan, {}));
  EXPECT_GT(found.kept, 0.97);
  EXPECT_LT(found.strange, 0.05);
}

TEST(FindLog, CarriesTheFilesCoordinatesThroughEveryScale) {
  for (const double unit : {0.0054, 0.4, 7.0, 2900.0}) {
    // The log of 2.4 m is `2.4 unit` long in the file, and the reader took some scale for it.
    Scan scan = bare({}, 15000);
    const double first_scale = unit < 0.1 ? 120.0 / unit : unit > 100.0 ? 1.0 : 1000.0;
    for (Eigen::Vector3f& p : scan.points) p *= static_cast<float>(unit * first_scale / 1000.0);
    scan.file_to_scan.setIdentity();
    scan.file_to_scan.topLeftCorner<3, 3>() *= first_scale;
    scan.unit_guessed = true;
    FindSettings settings;
    settings.taped.length = 2400.0;
    const Scan log = find_log(scan, settings);
    EXPECT_NEAR(log.file_to_scan(0, 0), 1000.0 / unit, 0.01 * 1000.0 / unit);
    float longest = 0.0f;
    for (const Eigen::Vector3f& p : log.points) longest = std::max(longest, p.x());
    EXPECT_NEAR(longest, 2400.0, 30.0);
    // A point of the result is the file's point, carried over.
    const Eigen::Vector3d first =
        log.file_to_scan.topLeftCorner<3, 3>() * (scan.points[0].cast<double>() / first_scale);
    EXPECT_LT((first - log.points[0].cast<double>()).norm(), 0.01);
  }
}

TEST(FindLog, LetsTheLogOverruleAGuessedUnit) {
  // A block of 36 cm written in centimetres looks like 36 m at first.
  Scan scan = bare({.length = 0.36, .radius = 0.14}, 15000, 100000.0);
  scan.file_to_scan = Eigen::Matrix4d::Identity();
  scan.file_to_scan.topLeftCorner<3, 3>() *= 1000.0;
  scan.notes = {"Taken to be in metres (extent 36 x 28 x 28): --unit says otherwise."};
  scan.unit_guessed = true;
  const Scan log = find_log(scan, {});
  EXPECT_NEAR(log.file_to_scan(0, 0), 10.0, 1e-9);
  EXPECT_TRUE(has_note(log, "Taken to be in centimetres"));
  EXPECT_FALSE(has_note(log, "Taken to be in metres"));
  scan.unit_guessed = false;
  EXPECT_EQ(error_of([&] { find_log(scan, {}); }).fault(), Fault::log_out_of_range);
}

TEST(FindLog, BelievesTheWayUpThatAPersonGives) {
  FindSettings settings;
  settings.up = Eigen::Vector3d(0, 3, 0);
  const Scan log = find_log(bare({}, 15000), settings);
  EXPECT_EQ(log.up, Eigen::Vector3d(0, 1, 0));
  EXPECT_FALSE(has_note(log, "up"));
}

TEST(FindLog, RefusesALogOfThreeCentimetresAndOneOfThirtyMetres) {
  for (const auto& [log, words] :
       {std::pair{RoundLog{.length = 0.03, .radius = 0.005, .noise = 0.0001}, "0.03 m long"},
        std::pair{RoundLog{.length = 30.0, .radius = 0.2}, "30 m long"}}) {
    const Scan scan = bare(log, 30000);
    const UserError error = error_of([&] { find_log(scan, {}); });
    EXPECT_EQ(error.fault(), Fault::log_out_of_range);
    EXPECT_NE(std::string(error.what()).find(words), std::string::npos) << error.what();
    EXPECT_NE(std::string(error.what()).find("--unit"), std::string::npos) << error.what();
  }
}

/// What is found where no log is; the sentence must name it.
void expect_no_log(const std::string& words, const std::function<Eigen::Vector3d(Draws&)>& draw,
                   int points = 20000) {
  Draws draws;
  SmallYard yard;
  add(yard, points, [&] { return draw(draws); });
  const Scan scan = to_scan(yard);
  const UserError error = error_of([&] { find_log(scan, {}); });
  EXPECT_EQ(error.fault(), Fault::no_log);
  EXPECT_NE(std::string(error.what()).find(words), std::string::npos)
      << error.what() << "\n  lacks " << words;
}

Eigen::Vector3d box_point(Draws& draws, const Eigen::Vector3d& size) {
  Eigen::Vector3d p{draws.uniform(), draws.uniform(), draws.uniform()};
  const Eigen::Vector3d areas(size.y() * size.z(), size.x() * size.z(), size.x() * size.y());
  const double at = draws.uniform(0.0, areas.sum());
  const int axis = at < areas.x() ? 0 : at < areas.x() + areas.y() ? 1 : 2;
  p[axis] = p[axis] < 0.5 ? 0.0 : 1.0;
  return p.cwiseProduct(size) + draws.noise(0.003);
}

TEST(FindLog, SaysWhatItFoundWhereNoLogIs) {
  expect_no_log("a flat surface of 3.1 by 2.2 m", [](Draws& d) {
    return Eigen::Vector3d(d.uniform(0, 3.1), d.uniform(0, 2.2), d.normal(0.005));
  });
  expect_no_log("3.0 by", [](Draws& d) { return box_point(d, {3.0, 0.3, 0.3}); });
  expect_no_log("3.0 by", [](Draws& d) { return box_point(d, {3.0, 0.25, 0.04}); });
  expect_no_log("not round", [](Draws& d) {
    return (d.noise(1.0).normalized() * (0.5 + d.normal(0.004))).eval();
  });
  expect_no_log("not round", [](Draws& d) {
    return Eigen::Vector3d(d.uniform(0, 3), d.uniform(0, 2), d.uniform(0, 1));
  });
  expect_no_log(
      "loose points", [](Draws& d) { return d.noise(1.0); }, 30);
  expect_no_log(
      "loose points", [](Draws& d) { return d.noise(1.0); }, 3);
}

TEST(FindLog, WritesNothingToTheConsole) {
  SmallYard yard;
  Draws draws;
  add(yard, 300, [&] { return Eigen::Vector3d(draws.uniform(), 0.0, 0.0); });
  add(yard, 300, [&] { return (1000.0 * draws.noise(1.0)).eval(); });
  testing::internal::CaptureStderr();
  testing::internal::CaptureStdout();
  error_of([&] { find_log(to_scan(yard), {}); });
  EXPECT_EQ(testing::internal::GetCapturedStdout(), "");
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
}

TEST(FindLog, GivesTheSamePointsOnOneThreadAndOnMany) {
  Draws draws;
  const Scan scan = to_scan(log_on_bunks(draws));
  const int threads = omp_get_max_threads();
  omp_set_num_threads(1);
  const Scan one = find_log(scan, {});
  omp_set_num_threads(4);
  const Scan many = find_log(scan, {});
  omp_set_num_threads(threads);
  EXPECT_EQ(one.points, many.points);
  EXPECT_EQ(one.notes, many.notes);
}

TEST(FindLog, ThinsWhatIsMoreThanEnoughAndSaysSo) {
  const Scan scan = bare({.noise = 0.002}, 1600000);
  const Scan log = find_log(scan, {});
  EXPECT_EQ(log.points.size(), 1500000U);
  EXPECT_TRUE(has_note(log, "1500000 were used"));
  EXPECT_EQ(log.source.points, scan.source.points);
}

TEST(FindLog, KeepsRealStems) {
  const auto folder = std::filesystem::path(KERFWRIGHT_SOURCE_DIR) / "../shared/real-stems";
  if (!std::filesystem::exists(folder))
    GTEST_SKIP() << "the scans of real stems are not here: " << folder;
  for (const std::string name : {"crooked-pole", "flared-butt", "plain-stem"}) {
    const Scan scan = read_scan((folder / (name + ".xyz")).string(), {});
    const Scan log = find_log(scan, {});
    EXPECT_GT(static_cast<double>(log.points.size()),
              0.98 * static_cast<double>(scan.points.size()))
        << name;
  }
}

TEST(FindLog, TakesNoSliceOfABowedPoleForGround) {
  const auto file =
      std::filesystem::path(KERFWRIGHT_SOURCE_DIR) / "../shared/real-stems/crooked-pole.xyz";
  if (!std::filesystem::exists(file))
    GTEST_SKIP() << "the scans of real stems are not here: " << file;
  const Scan scan = read_scan(file.string(), {});
  for (const double degrees : {3.0, 20.0, 77.0, 200.0, 300.0}) {
    const Eigen::AngleAxisf turn(static_cast<float>(degrees * std::numbers::pi / 180.0),
                                 Eigen::Vector3f::UnitZ());
    Scan turned = scan;
    for (Eigen::Vector3f& point : turned.points) point = turn * point;
    const Scan log = find_log(turned, {});
    EXPECT_FALSE(log.up) << degrees;
    // At the top a few points a decimetre are left; where they end is not the matter here.
    EXPECT_GT(static_cast<double>(log.points.size()),
              0.9 * static_cast<double>(scan.points.size()))
        << degrees;
  }
}

TEST(FindLog, FindsTheDemoLogs) {
  const auto folder = std::filesystem::path(KERFWRIGHT_SOURCE_DIR) / "scans";
  // Length and mean diameter as scans/README.md and the recipes give them, over bark, mm.
  struct Demo {
    std::string name;
    double length;
  };
  for (const Demo& demo :
       {Demo{"crooked-cherry", 2600}, Demo{"burled-walnut", 2200}, Demo{"straight-larch", 4000},
        Demo{"short-plum", 900}, Demo{"fluted-oak", 3000}}) {
    const auto path = folder / (demo.name + ".ply");
    if (!std::filesystem::exists(path)) GTEST_SKIP() << "not here: " << path;
    const Scan scan = read_scan(path.string(), {});
    const Scan log = find_log(scan, {});
    const double share =
        static_cast<double>(log.points.size()) / static_cast<double>(scan.points.size());
    EXPECT_NEAR(share, 0.602, 0.01)
        << demo.name;  // the scan maker gives the log 60.2 % of the points
    ASSERT_TRUE(log.up) << demo.name;
    FindSettings settings;
    settings.taped.length = demo.length;
    const double scale = find_log(scan, settings).file_to_scan.topLeftCorner<3, 1>().norm();
    EXPECT_NEAR(scale, 1000.0, 4.0)
        << demo.name << ": by its own unit the log is not as long as made";
  }
}

}  // namespace
}  // namespace kerfwright
