#pragma once

#include "invented/invented_log.hpp"
#include "invented/phone_scan.hpp"
#include "kerfwright/scan/find_log.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// A scan as it would be read from its file in metres, in mm.
Scan as_read(const PhoneScan& phone);

/// How far a fitted shape is from the known solid, mm.
struct ShapeErrors {
  double length = 0;         ///< fitted less true
  double butt = 0, top = 0;  ///< how far each end lies off along the log, positive outwards
  double seen_bias = 0, seen_rmse = 0;
  double inferred_bias = 0, inferred_rmse = 0;
  double worst_bulge =
      0;                ///< largest radius too large anywhere over a patch of 50 mm by 20 degrees
  bool turned = false;  ///< butt and top are taken for each other
};

/// An end of what is there to be found: what has normal . p > distance is beyond it (true log's
/// frame, mm).
struct TrueEnd {
  Eigen::Vector3d normal;
  double distance = 0;
};
TrueEnd butt_of(const InventedLog& log);
TrueEnd top_of(const InventedLog& log);

ShapeErrors against_truth(const LogShape& shape, const InventedLog& truth,
                          const Eigen::Matrix4d& scan_to_log, const TrueEnd& butt,
                          const TrueEnd& top);

/// Of the log's own points the share that was kept, of what was kept the share that is not the
/// log's.
struct Kept {
  double own = 0, strange = 0;
};
Kept kept_points(const PhoneScan& phone, const std::vector<PointLabel>& labels);

}  // namespace kerfwright
