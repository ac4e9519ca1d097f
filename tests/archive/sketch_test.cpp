#include "kerfwright/archive/sketch.hpp"

#include <random>

#include "archive/gives.hpp"
#include "kept.hpp"

namespace kerfwright {
namespace {

using kept::log_of;

/// A round bar without bark, known exactly, whose axis bows to +y.
LogShape bar(double length, double radius, double bow) {
  LogShape shape;
  shape.angles = 64;
  constexpr int gaps = 40;
  for (int i = 0; i <= gaps; ++i) {
    const double share = static_cast<double>(i) / gaps;
    shape.stations.push_back(length * share);
    shape.axis.emplace_back(4.0 * bow * share * (1.0 - share), 0.0);
    shape.radius.emplace_back(64, static_cast<float>(radius));
    shape.sigma.emplace_back(64, 0.0F);
    shape.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  return shape;
}

bool gives_piece(const LogShape& shape, double thickness, double width, double length) {
  return gives(sketch_of(shape), {thickness, width, length});
}

TEST(Sketch, OfABarGivesWhatItsCircleHolds) {
  const LogShape straight = bar(3000, 200, 0);
  // The diagonal of 60 x 350 is 355 mm, of 60 x 390 394.6, of 60 x 400 404.5; the bar's is 400.
  EXPECT_TRUE(gives_piece(straight, 60, 350, 3000));
  EXPECT_TRUE(gives_piece(straight, 60, 390, 3000));
  EXPECT_FALSE(gives_piece(straight, 60, 400, 3000));
  EXPECT_FALSE(gives_piece(straight, 60, 350, 3001));
}

TEST(Sketch, OfABowedBarGivesLongPiecesOnlyWhereTheyAreThin) {
  const LogShape bowed = bar(3000, 200, 150);
  // Over the full length the axis leaves a straight line by 75 mm either way: a slab that lies
  // across the bow keeps 2 (200 - 75) = 250 mm, one along it less of its thickness.
  EXPECT_FALSE(gives_piece(bowed, 60, 350, 3000));
  EXPECT_TRUE(gives_piece(bowed, 60, 200, 3000));
  // Over 1000 mm the bow is a ninth: 8.3 mm either way.
  EXPECT_TRUE(gives_piece(bowed, 60, 350, 1000));
}

TEST(Sketch, TakesBarkAndSigmaOff) {
  LogShape shape = bar(2000, 200, 0);
  shape.bark = 20;
  EXPECT_FALSE(gives_piece(shape, 60, 360, 2000));
  EXPECT_TRUE(gives_piece(shape, 60, 350, 2000));
  for (auto& row : shape.sigma) row.assign(64, 10.0F);
  EXPECT_FALSE(gives_piece(shape, 60, 350, 2000));
}

// Logs from thin to thick, straight to crooked, round to lobed, with sigmas of up to 20 mm, asked
// for pieces that most of them barely give or barely do not.
TEST(Sketch, GivesWhatItsGirthsSay) {
  std::mt19937 random(11);
  const auto between = [&](double low, double high) {
    return low + (high - low) * (static_cast<double>(random()) / 4294967296.0);
  };
  int yes = 0, no = 0, unknown = 0;
  for (int k = 0; k < 4000; ++k) {
    LogShape shape = bar(between(400, 6000), between(5, 350), 0);
    const double bow = between(0, 1) < 0.3 ? 0.0 : between(0, 300), lobes = between(0, 0.3);
    const double rough = between(0, 1) < 0.5 ? 0.0 : between(0, 20);
    shape.bark = between(0, 20);
    for (std::size_t i = 0; i < shape.stations.size(); ++i) {
      const double share = shape.stations[i] / shape.length();
      shape.axis[i] = {4.0 * bow * share * (1.0 - share), between(-rough, rough)};
      for (std::size_t j = 0; j < 64; ++j) {
        auto& radius = shape.radius[i][j];
        radius = std::max(
            0.0F, radius * static_cast<float>(1.0 - 0.3 * share) *
                      static_cast<float>(1.0 + lobes * std::cos(0.2 * static_cast<double>(j))));
        shape.sigma[i][j] = static_cast<float>(between(0, rough));
      }
    }
    const std::string bytes = sketch_bytes(sketch_of(shape));
    const double diagonal = 2.0 * shape.radius[20][0] * between(0.2, 1.3),
                 lean = between(0.05, 0.78);
    const PieceSize piece{diagonal * std::sin(lean), diagonal * std::cos(lean),
                          shape.length() * between(0.1, 1.05)};
    const bool given = gives(sketch_from_bytes(bytes), piece);
    switch (gives_by_girths(girths_from_bytes(bytes), piece)) {
      case Given::yes:
        ASSERT_TRUE(given) << k;
        ++yes;
        break;
      case Given::no:
        ASSERT_FALSE(given) << k;
        ++no;
        break;
      case Given::unknown:
        ++unknown;
    }
  }
  EXPECT_GT(yes, 300);
  EXPECT_GT(no, 300);
  EXPECT_GT(unknown, 300);
  std::string longer = sketch_bytes(sketch_of(bar(1000, 100, 0)));
  EXPECT_THROW(girths_from_bytes(std::string_view(longer).substr(0, longer.size() - 1)),
               std::runtime_error);
  longer += '0';
  EXPECT_THROW(girths_from_bytes(longer), std::runtime_error);
}

TEST(Sketch, IsTheSameFromItsBytes) {
  const Sketch sketch = sketch_of(log_of({}));
  const Sketch back = sketch_from_bytes(sketch_bytes(sketch));
  EXPECT_EQ(back.length, sketch.length);
  ASSERT_EQ(back.radius.size(), sketch.radius.size());
  for (std::size_t i = 0; i < back.radius.size(); ++i)
    ASSERT_NEAR(back.radius[i], sketch.radius[i], 0.051);
  for (std::size_t i = 0; i < back.axis_y.size(); ++i)
    ASSERT_NEAR(back.axis_y[i], sketch.axis_y[i], 0.051);
  std::string bytes = sketch_bytes(sketch);
  bytes.pop_back();
  EXPECT_THROW(sketch_from_bytes(bytes), std::runtime_error);
  EXPECT_THROW(sketch_from_bytes(""), std::runtime_error);
}

TEST(Sketch, OfOneLogTurnedOrReversedIsAlike) {
  const Sketch first = sketch_of(log_of({.noise = 1}), 64, 64);
  for (const bool reversed : {false, true})
    for (const double turn : {0.0, 1.0, 3.1, 5.7}) {
      const Sketch again =
          sketch_of(log_of({.turn = turn, .reversed = reversed, .noise = 7}), 64, 64);
      EXPECT_LT(unlikeness(first, again), 1.3) << turn << reversed;
    }
}

// A hidden side may be inferred with a burl that is not there; a fifth of the surface may differ.
TEST(Sketch, IsAlikeWhereOnlyABurlDiffers) {
  const Sketch first = sketch_of(log_of({.noise = 1}), 64, 64);
  EXPECT_LT(unlikeness(first, sketch_of(log_of({.noise = 5, .burl = 60}), 64, 64)), 1.3);
}

TEST(Sketch, OfAnotherLogIsUnlike) {
  const Sketch first = sketch_of(log_of({}), 64, 64);
  EXPECT_GT(unlikeness(first, sketch_of(log_of({.bow = 45}), 64, 64)), 2.0);
  EXPECT_GT(unlikeness(first, sketch_of(log_of({.radius = 168}), 64, 64)), 2.0);
  EXPECT_GT(unlikeness(first, sketch_of(log_of({.length = 2100}), 64, 64)), 1e6);
}

}  // namespace
}  // namespace kerfwright
