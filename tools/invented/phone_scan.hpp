#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "invented/invented_log.hpp"

namespace kerfwright {

/// What a scanned point lies on.
enum class Label : std::uint8_t {
  bark = 0,
  end_face = 1,
  ground = 2,
  bunk = 3,
  second_log = 4,
  clutter = 5,  ///< a chock on a bunk, a box in the grass
  stray = 6,    ///< a pixel between two surfaces, or a point in the air
  fork = 7,     ///< the second stem of a forked log
  branch = 8    ///< what is left of a branch
};

enum class FileUnit { metre, centimetre, millimetre };
enum class FileUp { z, y };

enum class LogPose { lying, standing, hanging };
enum class SecondLogPlace { apart, alongside, across, in_line };

/// What else may be there, or be otherwise; nothing is by default.
struct Surroundings {
  LogPose pose = LogPose::lying;
  SecondLogPlace second_log = SecondLogPlace::apart;  ///< touching the log, but for the first
  double in_line_gap = 15;                            ///< mm between the ends of two logs in line
  bool frame = false;        ///< two rails under the log, touching it, and four stakes beside it
  bool chocks = false;       ///< two on each side
  bool boot = false;         ///< a person's foot, and the leg against the log
  bool posts = false;        ///< a square one and a round one close to the log
  bool wall = false;         ///< beside the log all along
  int branches = 0;          ///< stumps of 150 to 400 mm
  double fork_at = 0;        ///< share of the length where a second stem leaves; 0 = none
  double fork_angle = 25;    ///< degrees between the stems
  double fork_size = 0.75;   ///< thickness of the second stem over that of the log there
  double fork_length = 900;  ///< mm along the second stem
  double relief = 1.0;       ///< of the ground, times what is usual
  double grass = 14.0;       ///< mm, mean length of a blade
  double crop_at = 0;        ///< share of the length where the scan itself stops; 0 = nowhere
  double crop_angle = 0;     ///< degrees of that border from square to the log
};

/// How a person walks round the log, and what stands there.
struct PhoneSettings {
  std::uint64_t seed = 1;
  int points = 150000;     ///< in all
  double noise = 4.0;      ///< mm, one standard deviation along the ray
  double drift = 0.0;      ///< mm, how far the phone's idea of where it is wanders in one walk
  double hidden = 0.25;    ///< share of the girth that is not seen, underneath, 0 to 0.4
  bool ground = true;      ///< uneven, with grass
  bool bunks = true;       ///< two square timbers under the log; without, it lies on the ground
  bool second_log = true;  ///< beside it, on the ground
  bool clutter = true;     ///< a chock that touches the log, a box the size of a boot
  double second_log_gap = 350;  ///< mm between the two logs' bark
  double bunk_size = 120;       ///< mm, square
  double bunk_inset = 0.18;     ///< of the length, from each end
  double ground_share = 0.24;   ///< of the points; likewise below; the log gets the rest
  double bunk_share = 0.03;
  double second_log_share = 0.10;
  double clutter_share = 0.025;
  double fork_share = 0.15;
  double branch_share = 0.008;  ///< each
  double stray_share = 0.003;
  double yaw = 37.0;                         ///< degrees about up
  Eigen::Vector3d offset{0.8, -0.5, -1.35};  ///< m; phones put the origin where the walk began
  FileUnit unit = FileUnit::metre;
  FileUp up = FileUp::z;
  Surroundings about;
  double scale = 1.0;  ///< photogrammetry knows no scale: coordinates are this many times too large
};

struct ScannedPoint {
  Eigen::Vector3f position;  ///< in the file's own frame and unit, to 0.1 mm
  std::array<std::uint8_t, 3> colour{};
  Label label = Label::bark;
};

struct PhoneScan {
  std::vector<ScannedPoint> points;
  Eigen::Matrix4d
      scan_to_log;  ///< from the file's frame and unit to the invented log's own frame, mm
};

/// What a phone sees of `log` from 0.6 to 2 m up (lower where it must look under): only surfaces
/// that face it and that nothing hides, denser where near and square to the ray. The same settings
/// give the same points, whatever standard library computes them (to 0.1 mm, to which they are
/// rounded).
/// @throws UserError usage where a setting makes no sense
PhoneScan scan_like_a_phone(const InventedLog& log, const PhoneSettings& settings = {});

/// The scan as the bytes of a PLY file (binary, little endian, float x y z, uchar red green blue,
/// and with `labels` a uchar label).
std::string to_ply(const PhoneScan& scan, bool labels = false);

}  // namespace kerfwright
