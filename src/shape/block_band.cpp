#include "block_band.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>

#include "kerfwright/error.hpp"

namespace kerfwright {

BlockBand::BlockBand(int count, int size)
    : count_(count),
      size_(size),
      blocks_(static_cast<std::size_t>(count * (reach + 1)), Eigen::MatrixXd::Zero(size, size)) {}

void factorise(BlockBand& matrix) {
  for (int i = 0; i < matrix.count(); ++i) {
    for (int j = std::max(0, i - BlockBand::reach); j <= i; ++j) {
      Eigen::MatrixXd& block = matrix.at(i, i - j);
      for (int k = std::max(0, i - BlockBand::reach); k < j; ++k) {
        block.noalias() -= matrix.at(i, i - k) * matrix.at(j, j - k).transpose();
      }
      if (j == i) continue;
      const auto upper = matrix.at(j, 0).transpose().triangularView<Eigen::Upper>();
      upper.solveInPlace<Eigen::OnTheRight>(block);
    }
    Eigen::LLT<Eigen::MatrixXd> cholesky(matrix.at(i, 0));
    if (cholesky.info() != Eigen::Success) {
      throw UserError(
          Fault::internal,
          "The surface cannot be solved for: its equations are not positive definite; please "
          "report this with the scan.");
    }
    matrix.at(i, 0) = cholesky.matrixL();
  }
}

Eigen::VectorXd solve(const BlockBand& factor, Eigen::VectorXd right) {
  const int m = factor.size();
  const auto part = [&](int i) { return right.segment(i * m, m); };
  for (int i = 0; i < factor.count(); ++i) {
    for (int back = 1; back <= std::min(i, BlockBand::reach); ++back) {
      part(i) -= factor.at(i, back) * part(i - back);
    }
    factor.at(i, 0).triangularView<Eigen::Lower>().solveInPlace(part(i));
  }
  for (int i = factor.count() - 1; i >= 0; --i) {
    for (int back = 1; back <= BlockBand::reach && i + back < factor.count(); ++back) {
      part(i) -= factor.at(i + back, back).transpose() * part(i + back);
    }
    factor.at(i, 0).transpose().triangularView<Eigen::Upper>().solveInPlace(part(i));
  }
  return right;
}

BlockBand band_of_inverse(const BlockBand& factor) {
  BlockBand inverse(factor.count(), factor.size());
  const auto covariance = [&](int row, int column) -> Eigen::MatrixXd {
    if (row >= column) return inverse.at(row, row - column);
    return inverse.at(column, column - row).transpose();
  };
  for (int j = factor.count() - 1; j >= 0; --j) {
    const int last = std::min(j + BlockBand::reach, factor.count() - 1);
    const auto lower = factor.at(j, 0).triangularView<Eigen::Lower>();
    std::array<Eigen::MatrixXd, BlockBand::reach + 1> ratio;
    for (int k = j + 1; k <= last; ++k) {
      auto& block = ratio[static_cast<std::size_t>(k - j)];
      block = factor.at(k, k - j);
      lower.solveInPlace<Eigen::OnTheRight>(block);
    }
    for (int i = last; i > j; --i) {
      Eigen::MatrixXd& block = inverse.at(i, i - j);
      for (int k = j + 1; k <= last; ++k) {
        block.noalias() -= covariance(i, k) * ratio[static_cast<std::size_t>(k - j)];
      }
    }
    Eigen::MatrixXd own = Eigen::MatrixXd::Identity(factor.size(), factor.size());
    lower.solveInPlace(own);
    Eigen::MatrixXd& diagonal = inverse.at(j, 0);
    diagonal.noalias() = own.transpose() * own;
    for (int k = j + 1; k <= last; ++k) {
      diagonal.noalias() -=
          inverse.at(k, k - j).transpose() * ratio[static_cast<std::size_t>(k - j)];
    }
    diagonal = (0.5 * (diagonal + diagonal.transpose())).eval();
  }
  return inverse;
}

}  // namespace kerfwright
