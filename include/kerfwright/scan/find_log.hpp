#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "kerfwright/scan/read_scan.hpp"
#include "kerfwright/scan/scan.hpp"

namespace kerfwright {

/// What a person measured on the log, over bark, mm. The butt is the thicker end. A girth is what a
/// tape reads, which spans hollows.
struct TapedSizes {
  std::optional<double> length;  ///< of the shorter side where the ends are oblique
  std::optional<double> butt_diameter, butt_girth, top_diameter, top_girth;

  bool any() const { return length || butt_diameter || butt_girth || top_diameter || top_girth; }
};

struct FindSettings {
  TapedSizes taped;  ///< where any is given, the result is scaled to it, to a percent or so: the
                     ///< length if given, else the butt, else the top
  std::optional<Eigen::Vector3d> up;    ///< given by the person, in the file's axes
  std::optional<Eigen::Vector3d> near;  ///< of several logs the one nearest to this point is taken,
                                        ///< in the file's axes and unit; else the longest
};

/// What a point of a scan was taken for.
enum class PointLabel : std::uint8_t {
  log = 0,
  ground = 1,
  rest = 2,       ///< what the log lies on, and what stands on that under it
  other_log = 3,  ///< round and long as well
  clutter = 4,    ///< anything else that is connected
  stray = 5,      ///< single points in the air or inside the log
  fork = 6,       ///< the second stem of a forked log
  branch = 7      ///< what stands out from the bark, and on nothing else
};
constexpr std::size_t point_labels = 8;

/// One word or two for a person, such as "the ground".
std::string_view label_name(PointLabel label);

/// Where a second stem leaves the main stem: points on its bark, in the frame of the log, mm.
struct Fork {
  Eigen::Vector3d begin;   ///< from here on the second stem stands out
  Eigen::Vector3d crotch;  ///< from here on it stands clear
  double diameter = 0.0;   ///< mm, of the second stem at its foot
};

/// An end without a face: the bark's points just stop.
struct OpenEnd {
  Eigen::Vector3d centre;   ///< in the frame of the log, mm
  bool scan_stops = false;  ///< and so does everything else: the frame or reach of the scan
};

/// A log in its scan.
struct LogInScan {
  Scan log;                                        ///< bark and end faces of one log
  std::vector<PointLabel> labels;                  ///< of each point of the scan that was searched
  std::array<std::size_t, point_labels> counts{};  ///< of labels
  std::optional<Fork> fork;
  std::vector<OpenEnd> open_ends;
};

/// Takes away ground, rests, stray points, other logs, a second stem and branches; what is left is
/// one log, bark and end faces. The log's `up` is set from `settings.up`, else from the ground
/// plane, else left empty; every assumption and everything taken away stands in its `notes`, but
/// for how the scale compares with what was taped, which needs the fitted log.
/// @throws UserError no_log (says what was found instead), log_out_of_range
LogInScan look_for_log(const Scan& scan, const FindSettings& settings);

/// The log alone.
Scan find_log(const Scan& scan, const FindSettings& settings);

/// The scan as the bytes of a PLY file (binary, little endian) in the scan file's own axes and
/// unit: x y z (double where the coordinates are large, as surveyed ones are, else float), red
/// green blue by label, int label. `labels` as in LogInScan.
std::string labelled_ply(const Scan& scan, const std::vector<PointLabel>& labels);

}  // namespace kerfwright
