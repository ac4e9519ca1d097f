#pragma once

#include <Eigen/Core>
#include <vector>

namespace kerfwright {

/// A symmetric positive definite matrix of `count` by `count` blocks of `size` rows, zero beyond
/// three blocks from the diagonal: what cubic splines along x with `size` functions round the girth
/// give. Only the lower half is kept.
class BlockBand {
 public:
  static constexpr int reach = 3;

  BlockBand(int count, int size);

  int count() const { return count_; }
  int size() const { return size_; }
  /// Block of row `row` and column `row - back`, 0 <= back <= reach.
  Eigen::MatrixXd& at(int row, int back) { return blocks_[index(row, back)]; }
  const Eigen::MatrixXd& at(int row, int back) const { return blocks_[index(row, back)]; }

 private:
  std::size_t index(int row, int back) const {
    return static_cast<std::size_t>(row * (reach + 1) + back);
  }
  int count_, size_;
  std::vector<Eigen::MatrixXd> blocks_;
};

/// Replaces the matrix by its lower Cholesky factor, block by block.
/// @throws UserError internal where it is not positive definite
void factorise(BlockBand& matrix);

/// Solves (L L') x = right, given L.
Eigen::VectorXd solve(const BlockBand& factor, Eigen::VectorXd right);

/// Those blocks of (L L')^-1 that lie in the band (Takahashi, Fagan and Chen 1973; Erisman and
/// Tinney, CACM 18, 1975): the covariances of neighbouring coefficients, without the full inverse.
BlockBand band_of_inverse(const BlockBand& factor);

}  // namespace kerfwright
