#pragma once

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

namespace kerfwright {

/// A swelling on the bark: `height` mm at (x, theta), falling off as a bell with these reaches.
struct Burl {
  double x = 0;            ///< mm from the butt
  double theta = 0;        ///< rad from +y towards +z
  double height = 0;       ///< mm; negative makes a hollow
  double reach_along = 0;  ///< mm, one standard deviation of the bell
  double reach_round = 0;  ///< mm along the girth, the same
};

/// What is left of a branch: flat-topped, steep-sided.
struct Stub {
  double x = 0;       ///< mm from the butt
  double theta = 0;   ///< rad from +y towards +z
  double height = 0;  ///< mm over the bark around it
  double radius = 0;  ///< mm, where the side is steepest
};

/// A long, low undulation of the bark: amplitude cos(2 pi cycles x / length + lobes theta + phase).
struct Wave {
  double amplitude = 0;  ///< mm
  double cycles = 0;     ///< over the length
  int lobes = 0;         ///< round the girth
  double phase = 0;      ///< rad
};

/// A log that is known exactly, in its own log frame: mm, x along the chord from butt centre to top
/// centre, z up as it lies. Its axis passes through (0, 0) at both ends by construction.
///
/// Over bark a section square to x has, round the axis,
///   radius = (taper + flare) * ovality * flutes + burls + stubs + waves,
/// smooth everywhere; sections are star-shaped round the axis.
struct InventedLog {
  std::string name;
  double length = 2000;                        ///< mm along the chord
  double butt_radius = 150, top_radius = 130;  ///< mm over bark, the flare apart
  double flare = 0, flare_reach = 150;         ///< mm added at the butt, fading by e every reach
  double sweep = 0, sweep_direction = 0;  ///< mm at the middle (a parabola); rad from +y towards +z
  double crook = 0, crook_direction = 0;  ///< mm, one whole sine over the length (a double crook)
  double ovality = 0,
         ovality_direction = 0;  ///< 1 - smallest / largest diameter; rad, the long axis
  int flutes = 0;                ///< hollows round the butt
  double flute_depth = 0, flute_reach = 800;  ///< share of the radius at the butt; mm, fading by e
  double flute_phase = 0;                     ///< rad
  std::vector<Burl> burls;
  std::vector<Stub> stubs;
  std::vector<Wave> waves;
  double bark = 0;                   ///< mm
  std::optional<double> bark_ratio;  ///< radius under / over bark; used instead where given
  Eigen::Vector2d butt_slope{0, 0};  ///< how oblique the faces are: x grows by this per mm of
  Eigen::Vector2d top_slope{0, 0};   ///< (y, z); 0 = square to the chord

  /// Centre (y, z) of the section at x, mm.
  Eigen::Vector2d axis(double x) const;
  /// Centre to surface over bark, mm; any x (the formulas run on beyond the ends), theta in rad.
  double radius(double x, double theta) const;
  /// The same under bark, never negative.
  double radius_under_bark(double x, double theta) const;
  /// The point of the bark at (x, theta).
  Eigen::Vector3d surface(double x, double theta) const;
  /// Unit normal of the bark at (x, theta), outward, and by how much the surface is larger than dx
  /// dtheta.
  Eigen::Vector3d normal(double x, double theta, double* stretch = nullptr) const;
  /// The x of the butt's and of the top's face at (y, z).
  double butt_face(const Eigen::Vector2d& yz) const;
  double top_face(const Eigen::Vector2d& yz) const;
};

/// How deep a point lies inside, mm: along the ray from the axis, positive inside; beyond an end
/// face minus the distance to it along x.
double depth_in(const InventedLog& log, const Eigen::Vector3d& point, bool under_bark);

/// m3, by the midpoint rule (exact round the girth but for harmonics above 256, error along x below
/// 1e-6).
double volume_m3(const InventedLog& log, bool under_bark);

}  // namespace kerfwright
