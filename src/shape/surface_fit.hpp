#pragma once

#include <Eigen/Core>
#include <vector>

#include "cells.hpp"
#include "rim.hpp"
#include "seen.hpp"
#include "surface.hpp"

namespace kerfwright {

/// The fitted surface: the sum of two models. One model alone would do where the log was seen, but
/// not beyond: to follow a burl it must be free, and what is free turns a systematic error of a
/// tenth of a millimetre into centimetres 60 degrees away from the last point.
struct FittedSurface {
  SurfaceModel form;  ///< the main stem: long and smooth, what is carried to where nothing was seen
  SurfaceModel detail;       ///< what nearby points add to it: burls, stubs, flutes that end
  double detail_size = 3.0;  ///< mm, standard deviation of the detail
  double background = 3.0;   ///< mm, the same where no burl stands on the stem
  CellValues stem;           ///< by cell, 0 to 1: how much it shows the stem and no burl on it
  double noise = 5.0;        ///< mm, standard deviation of a point about the surface
  CellMeans means;           ///< what the points said at the end
  double layered = 0;  ///< share of the surface that lies in two layers, as seen from the axis
};

/// How finely a surface is fitted.
struct SurfaceScale {
  double form_step = 120.0;  ///< mm between the knots of the form
  int form_harmonics = 12;
  double detail_step = 45.0;  ///< mm between the knots of the detail
  int detail_harmonics = 16;
  int rounds = 3;  ///< of robust reweighting, the first from medians
};

FittedSurface fit_surface(const PolarCloud& cloud, const std::vector<RimPoint>& rim,
                          double mean_radius, const SurfaceScale& scale);

/// Radii at x and `angles` even angles from 0, mm.
Eigen::VectorXd radii_at(const FittedSurface& surface, double x, int angles);

/// Standard deviations of the same.
Eigen::VectorXd sigmas_at(const FittedSurface& surface, double x, int angles);

}  // namespace kerfwright
