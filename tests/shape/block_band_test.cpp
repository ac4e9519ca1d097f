#include "block_band.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <random>

#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

/// A random band matrix and the same as a full one.
struct Pair {
  BlockBand band;
  Eigen::MatrixXd full;
};

Pair random_pair(int count, int size, unsigned seed) {
  std::mt19937 engine(seed);
  Pair pair{BlockBand(count, size), Eigen::MatrixXd::Zero(count * size, count * size)};
  for (int i = 0; i < count; ++i) {
    for (int back = 0; back <= std::min(i, BlockBand::reach); ++back) {
      Eigen::MatrixXd block(size, size);
      for (double& v : block.reshaped()) v = static_cast<double>(engine()) / 4294967296.0 - 0.5;
      if (back == 0) {
        block = (block + block.transpose()).eval();
        block.diagonal().array() += 8.0 * size;
      }
      pair.band.at(i, back) = block;
      pair.full.block(i * size, (i - back) * size, size, size) = block;
      pair.full.block((i - back) * size, i * size, size, size) = block.transpose();
    }
  }
  return pair;
}

TEST(BlockBand, SolvesAndInvertsLikeTheFullMatrix) {
  for (const unsigned seed : {1U, 2U, 3U}) {
    Pair pair = random_pair(9, 4, seed);
    const Eigen::VectorXd right = Eigen::VectorXd::LinSpaced(36, -1.0, 2.0);
    const Eigen::MatrixXd inverse = pair.full.inverse();
    factorise(pair.band);
    EXPECT_LT((solve(pair.band, right) - inverse * right).norm(), 1e-12) << "seed " << seed;
    const BlockBand band = band_of_inverse(pair.band);
    for (int i = 0; i < 9; ++i) {
      for (int back = 0; back <= std::min(i, BlockBand::reach); ++back) {
        EXPECT_LT((band.at(i, back) - inverse.block(4 * i, 4 * (i - back), 4, 4)).norm(), 1e-12)
            << "seed " << seed << " block " << i << " back " << back;
      }
    }
  }
}

TEST(BlockBand, RefusesWhatIsNotPositiveDefinite) {
  BlockBand band(2, 2);
  EXPECT_THROW(factorise(band), UserError);
}

}  // namespace
}  // namespace kerfwright
