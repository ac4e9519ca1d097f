#pragma once

#include <string>
#include <vector>

#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// Something that stands out of the surface: a stub, the bulge over a branch that has grown in, a
/// burl.
struct Bump {
  double x = 0;          ///< mm from the butt, of its highest point
  double clock = 0;      ///< hours, seen from the butt, 12 = up as the log lay when scanned
  double diameter = 0;   ///< mm, of the circle as large as what is higher than half of it
  double height = 0;     ///< mm over the smooth surface, where it is highest
  bool is_burl = false;  ///< wider than half the log: a swelling rather than a knot
};

/// The bumps of a shape, from the butt to the top. The smooth surface is the median of the radii
/// along the log at the same angle, and what stands out with all its neighbours round the girth
/// (a butt's flare) or along the log (the ridge between two flutes) is none, nor what lies within
/// 60 mm of an end. Only what was seen counts, and stands out by more than 4 mm and three of its
/// own sigmas. A fit smooths what is narrow: with the points of the bark more is found.
std::vector<Bump> find_bumps(const LogShape& shape);

/// The same from the points too.
/// @param points of the log's surface, in the log frame, mm
std::vector<Bump> find_bumps(const LogShape& shape, const std::vector<Eigen::Vector3f>& points);

/// The points of a scan that lie on the log or on what stands out of it, in the log frame, mm.
/// @param labels of its points; empty where their number is another
std::vector<Eigen::Vector3f> bark_points(const Scan& scan, const std::vector<PointLabel>& labels,
                                         const LogShape& shape);

/// A table of text for a person; empty where there are none.
std::string describe(const std::vector<Bump>& bumps, bool inches = false);

/// A bump as the knot that it may be: a cone from the pith, as wide at the bark as the bump.
Knot knot_under(const LogShape& shape, const Bump& bump);

/// The knots under all bumps that are no burls.
std::vector<Knot> proposed_knots(const LogShape& shape, const std::vector<Bump>& bumps);

/// The bumps as the text of a marks file (see read_marks.hpp), for a person to check and change: a
/// [[knot]] each, burls as comments.
/// @param name of the scan, one line
std::string proposed_marks(const LogShape& shape, const std::vector<Bump>& bumps,
                           const std::string& name);

}  // namespace kerfwright
