#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "spline.hpp"
#include "thin.hpp"

namespace kerfwright {

/// Centre (y, z) and mean radius of the sections over x, in some frame whose x runs along the log.
using Spine = SplineCurve<3>;

struct Section {
  double x = 0;
  Eigen::RowVector3d form{0, 0, 0};  ///< centre (y, z), radius
  double weight = 1.0;               ///< how much it counts
};

/// Circles in slices square to x between `from` and `to`; `before` straightens the log within each
/// slice. Of a log far from round ellipses, all as wide and turned alike, as circles of their area.
std::vector<Section> slice_circles(const Cloud& points, const Spine& before, double from,
                                   double to);

/// A smooth curve through the sections, whatever a few of them say; second
/// differences of its coefficients are held small, so that it runs straight where there are no
/// sections.
Spine smooth_through(const std::vector<Section>& sections, const EvenSpline& basis);

/// The curve itself, without smoothing, as splines on `basis` through dense samples in order of x.
Spine resample(const std::vector<Section>& samples, const EvenSpline& basis);

/// The spine as a curve of few pieces: no more bend than a bow and a crook, unless it would leave
/// the middle third of the log. What a burl did to the spine it does not keep.
Spine stiffened(const Spine& spine);

/// The spine as seen from another frame: `move` takes old coordinates to new ones.
Spine moved(const Spine& spine, const Eigen::Isometry3d& move);

/// The centre of the section at x, in the spine's frame.
Eigen::Vector3d on_spine(const Spine& spine, double x);

}  // namespace kerfwright
