#pragma once

#include <Eigen/Core>

#include "invented/invented_log.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// Errors of radii, mm, with the sigma that the fit gave for each.
struct Errors {
  double count = 0, sum = 0, squares = 0, within = 0, sigma = 0;

  void add(double error, double its_sigma);
  void add(const Errors& other);
  double bias() const { return count > 0 ? sum / count : 0.0; }
  double rmse() const;
  double within_percent() const { return count > 0 ? 100.0 * within / count : 100.0; }
  double mean_sigma() const { return count > 0 ? sigma / count : 0.0; }
};

/// Errors apart by what a scan can know: where it saw; where it did not and the log is plain; and
/// where it did not and a burl, a stub or a flute moves the bark by more than 5 mm.
struct SplitErrors {
  Errors seen, inferred, featured;
};

/// How far the true bark lies from `from` along the unit vector `ray`, both in the truth's frame;
/// `guess` is about right.
double true_reach(const InventedLog& log, const Eigen::Vector3d& from, const Eigen::Vector3d& ray,
                  double guess);

/// Every radius of the shape against the truth.
SplitErrors compare_radii(const LogShape& shape, const InventedLog& truth,
                          const Eigen::Matrix4d& file_to_truth);

/// Greatest distance of the sections' centres from the chord, mm. The invented axis alone is not
/// the centre: an undulation with one lobe moves whole sections.
double true_sweep(const InventedLog& log);

}  // namespace kerfwright
