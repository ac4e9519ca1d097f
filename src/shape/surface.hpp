#pragma once

#include <Eigen/Core>
#include <vector>

#include "block_band.hpp"
#include "cells.hpp"
#include "spline.hpp"

namespace kerfwright {

/// How a harmonic is expected to behave along the log: the precision (1 / mm2) of its coefficients,
/// of their first and of their second differences from knot to knot.
struct HarmonicPrior {
  double level = 0, slope = 0, curvature = 0;
};

/// radius(x, theta) = sum over harmonics k of a_k(x) cos(k theta) + b_k(x) sin(k theta), with a_k
/// and b_k cubic splines: a tensor product, periodic in the angle. The coefficients are normal
/// variables; what the points say and what the prior expects make one linear system, whose solution
/// is the surface and whose inverse says how sure it is. Where there are no points the prior
/// decides: harmonics as large as they are where the log was seen, and as smooth along it.
struct SurfaceModel {
  EvenSpline basis;
  int harmonics = 0;                 ///< the highest k
  std::vector<HarmonicPrior> prior;  ///< of each k, shared by cosine and sine
  std::vector<double> bend;          ///< by which the curvature's precision of the mean radius is
                                     ///< multiplied, by second difference: less than 1 at the butt
  Eigen::MatrixX2d axis;  ///< (y, z) by knot of what radii are measured from, mm: the stem's bend
                          ///< is that of this axis and of the first harmonic together
  Eigen::VectorXd coefficients;  ///< knot by knot: 1, cos, sin, cos 2, sin 2, ...
  BlockBand covariance{0, 0};

  int functions() const { return 2 * harmonics + 1; }
};

/// A model that has seen no points yet, with harmonics up to `harmonics`.
SurfaceModel empty_model(const EvenSpline& basis, double mean_radius, int harmonics);

/// What is known of the outline at one x: by column (even angles from 0) a radius and how sure it
/// is.
struct RowEvidence {
  double x = 0;
  Eigen::VectorXd precision;  ///< 1 / mm2, 0 where nothing is known
  Eigen::VectorXd radius;     ///< mm
};

/// The rows of the grid as evidence. The mean of a cell with robust weight w is taken to be as sure
/// as `noise`^2 / w + `roughness`^2, and counts by its share (0 to 1) where shares are given; rows
/// without points are left out.
std::vector<RowEvidence> evidence_of(const CellGrid& grid, const CellMeans& means, double noise,
                                     double roughness, const CellValues& shares = {});

/// Lets the mean radius bend freely over the first `reach` mm: butts swell.
void loosen_butt(SurfaceModel& model, double reach);

/// What a stem without burls, stubs and buttresses is like at the stiffest that occurs: it tapers,
/// bends and twists slowly. Used to tell what stands off it.
void set_stiff_prior(SurfaceModel& model, double mean_radius);

/// Solves for the coefficients and their covariance.
void solve_surface(SurfaceModel& model, const std::vector<RowEvidence>& evidence);

/// Prior of a field that is the same everywhere and forgets itself over `range` mm in every
/// direction: Whittle-Matern, (1 / reach^2 - Laplace)^2 (Lindgren, Rue and Lindstrom, JRSS B 73,
/// 2011), with standard deviation `size` mm on a cylinder of `radius` mm.
void set_local_prior(SurfaceModel& model, double radius, double range, double size);

/// The size that makes the points most likely, one step (the same rule as learn_prior for a single
/// scale).
double learn_size(const SurfaceModel& model, double size);

/// One step towards the priors that make the points most likely (Wood and Fasiolo, Biometrics 73,
/// 2017: generalised Fellner-Schall), held by a weak expectation of what logs are like.
void learn_prior(SurfaceModel& model, double mean_radius);

/// Radii at the centres of the grid's cells.
CellValues surface_on(const SurfaceModel& model, const CellGrid& grid);

/// Radii at x and `angles` even angles from 0.
Eigen::VectorXd section_radii(const SurfaceModel& model, double x, int angles);

/// Standard deviations of the same.
Eigen::VectorXd section_sigmas(const SurfaceModel& model, double x, int angles);

/// Coefficients of all functions at x.
Eigen::VectorXd section_coefficients(const SurfaceModel& model, double x);

}  // namespace kerfwright
