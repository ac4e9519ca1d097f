#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>

#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/saw/replay.hpp"

// A good plan is spoilt in one place, at random; sawing it on paper has to notice.

namespace kerfwright {
namespace {

LogShape bowed_log() {
  LogShape shape;
  shape.angles = 64;
  for (double x = 0; x <= 2450; x += 50) {
    const double share = x / 2450;
    shape.stations.push_back(x);
    shape.axis.emplace_back(80.0 * share * (1.0 - share), 0.0);
    shape.radius.emplace_back(64, static_cast<float>(150.0 - 20.0 * share));
    shape.sigma.emplace_back(64, 0.5F);
    shape.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  return shape;
}

SawPlan good_plan(const LogShape& shape) {
  Order order;
  for (const double thickness : {27.0, 50.0}) {
    for (const double width : {80.0, 120.0}) {
      Product product;
      product.name = "board " + std::to_string(order.products.size());
      product.thickness = thickness;
      product.width = width;
      product.lengths = {600, 1200};
      product.price_per_m3 = 500 + thickness;
      order.products.push_back(product);
    }
  }
  PlanSettings settings;
  settings.turn_step = 45;
  settings.lifts = 1;
  return plan_log(shape, order, Mill{}, settings);
}

class Attack : public testing::Test {
 protected:
  static void SetUpTestSuite() { plan_ = good_plan(bowed_log()); }

  static bool complete(const SawPlan& plan) {
    static const LogShape shape = bowed_log();
    return replay(plan, shape).complete;
  }

  std::size_t any(std::size_t count) { return random_() % count; }
  Board& any_board(SawPlan& plan) { return plan.boards[any(plan.boards.size())]; }
  Cut& any_cut(SawPlan& plan) { return plan.cuts[any(plan.cuts.size())]; }
  double between(double low, double high) {
    return low + (high - low) * static_cast<double>(random_()) / 4294967295.0;
  }
  double sign() { return any(2) == 0 ? -1.0 : 1.0; }
  Eigen::Vector3d any_axis(const Board& board) {
    return std::array{board.along, board.across, board.up}[any(3)];
  }

  /// Spoils the plan twelve times over, each time from the good one.
  void expect_found(const std::function<void(SawPlan&)>& spoil) {
    for (int trial = 0; trial < 12; ++trial) {
      SawPlan plan = plan_;
      spoil(plan);
      EXPECT_FALSE(complete(plan)) << "trial " << trial;
    }
  }

  std::mt19937 random_{5};
  static inline SawPlan plan_;
};

TEST_F(Attack, LeavesTheGoodPlanAloneAndSoDoesNamingACutFromItsOtherSide) {
  ASSERT_GE(plan_.boards.size(), 8U);
  EXPECT_TRUE(complete(plan_));
  SawPlan other = plan_;
  for (Cut& cut : other.cuts) {
    cut.normal = -cut.normal;
    std::swap(cut.above, cut.below);
  }
  EXPECT_TRUE(complete(other));
}

TEST_F(Attack, SwapsThePiecesOfTwoBoards) {
  expect_found([&](SawPlan& plan) {
    const std::size_t first = any(plan.boards.size());
    const std::size_t second = (first + 1 + any(plan.boards.size() - 1)) % plan.boards.size();
    std::swap(plan.boards[first].piece, plan.boards[second].piece);
  });
}

TEST_F(Attack, SwapsWhatACutLeavesAboveAndBelow) {
  expect_found([&](SawPlan& plan) {
    Cut& cut = any_cut(plan);
    std::swap(cut.above, cut.below);
  });
}

TEST_F(Attack, FlipsTheNormalOfACut) {
  expect_found([&](SawPlan& plan) {
    Cut& cut = any_cut(plan);
    cut.normal = -cut.normal;
  });
}

TEST_F(Attack, LeansACut) {
  expect_found([&](SawPlan& plan) {
    Cut& cut = any_cut(plan);
    const Eigen::Vector3d axis = cut.normal.unitOrthogonal();
    cut.normal = Eigen::AngleAxisd(sign() * 0.01, axis) * cut.normal;
  });
}

TEST_F(Attack, ShiftsACut) {
  expect_found([&](SawPlan& plan) {
    Cut& cut = any_cut(plan);
    cut.point += sign() * 0.5 * cut.normal;
  });
}

TEST_F(Attack, MakesAKerfWider) {
  expect_found([&](SawPlan& plan) { any_cut(plan).kerf += 1.0; });
}

TEST_F(Attack, LeavesACutOut) {
  expect_found([&](SawPlan& plan) {
    plan.cuts.erase(plan.cuts.begin() + static_cast<std::ptrdiff_t>(any(plan.cuts.size())));
  });
}

TEST_F(Attack, SawsAPieceBeforeItIsThere) {
  expect_found([&](SawPlan& plan) {
    const std::size_t late = 1 + any(plan.cuts.size() - 1);
    std::rotate(plan.cuts.begin(), plan.cuts.begin() + static_cast<std::ptrdiff_t>(late),
                plan.cuts.begin() + static_cast<std::ptrdiff_t>(late) + 1);
  });
}

TEST_F(Attack, SawsThePieceOfABoardOnceMore) {
  expect_found([&](SawPlan& plan) {
    Cut cut = any_cut(plan);
    cut.piece = any_board(plan).piece;
    cut.above = "one more above";
    cut.below = "one more below";
    plan.cuts.push_back(cut);
  });
}

TEST_F(Attack, ShiftsABoard) {
  expect_found([&](SawPlan& plan) {
    Board& board = any_board(plan);
    board.corner += sign() * between(0.3, 40.0) * any_axis(board);
  });
}

TEST_F(Attack, TurnsABoard) {
  expect_found([&](SawPlan& plan) {
    Board& board = any_board(plan);
    const Eigen::Matrix3d turn =
        Eigen::AngleAxisd(sign() * 0.02, any_axis(board)).toRotationMatrix();
    board.along = turn * board.along;
    board.across = turn * board.across;
    board.up = turn * board.up;
  });
}

TEST_F(Attack, MakesABoardLeftHanded) {
  expect_found([&](SawPlan& plan) {
    Board& board = any_board(plan);
    board.corner += board.thickness * board.up;
    board.up = -board.up;
  });
}

TEST_F(Attack, UsesANumberTwice) {
  expect_found([&](SawPlan& plan) {
    const std::size_t first = any(plan.boards.size());
    plan.boards[first].id = plan.boards[(first + 1) % plan.boards.size()].id;
  });
}

TEST_F(Attack, SellsABoardTwice) {
  expect_found([&](SawPlan& plan) {
    Board twin = any_board(plan);
    twin.id = 1000;
    plan.boards.push_back(twin);
  });
}

TEST_F(Attack, AsksAnotherPrice) {
  expect_found([&](SawPlan& plan) { any_board(plan).value += sign() * 0.01; });
}

TEST_F(Attack, CallsABoardAnotherProduct) {
  expect_found([&](SawPlan& plan) {
    Board& board = any_board(plan);
    const auto& products = plan.order.products;
    std::size_t other = any(products.size());
    if (products[other].name == board.product) other = (other + 1) % products.size();
    board.product = products[other].name;
  });
}

TEST_F(Attack, TakesALengthThatNobodyOrdered) {
  expect_found([&](SawPlan& plan) { any_board(plan).length -= 1.0; });
}

TEST_F(Attack, TakesTheOtherLengthAtItsPrice) {
  expect_found([&](SawPlan& plan) {
    Board& board = any_board(plan);
    board.length = board.length == 600.0 ? 1200.0 : 600.0;
    board.value = board.thickness * board.width * board.length * 1e-9 * (500 + board.thickness);
  });
}

TEST_F(Attack, TurnsTheLogOtherwiseThanTheCutsSay) {
  expect_found([&](SawPlan& plan) {
    auto& setup = plan.setups[any(plan.setups.size())];
    if (setup.kind == SetupKind::cross_cut) setup.lift_top += 20.0;
    setup.roll += sign() * 0.5;
  });
}

}  // namespace
}  // namespace kerfwright
