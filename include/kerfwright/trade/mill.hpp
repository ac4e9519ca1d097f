#pragma once

#include <string>
#include <vector>

namespace kerfwright {

/// The saw and what it can do. The defaults suit a chain-saw mill (common practice, no source).
struct Mill {
  double kerf = 6.0;                        ///< mm, width of the saw cut
  double max_diameter = 600;                ///< mm
  double max_log_mass = 500;                ///< kg
  double max_cut_width = 620;               ///< mm
  std::vector<double> bunks = {400, 2600};  ///< mm from the butt, where the log rests
  double lowest_cut = 25;                   ///< mm, how near to the bed the blade can come
  double height_step = 1.0;                 ///< mm, what the height scale can be set to
  double hourly_rate = 0.0;                 ///< order's currency per hour; 0 = sawing is free
  double feed_rate = 0.25;              ///< m2 of sawn area a minute while the saw is in the wood
  double minutes_per_cut = 1.0;         ///< setting, return, taking the board off
  double minutes_per_turn = 4.0;        ///< turning and clamping the log
  double minutes_per_edging = 0.5;      ///< setting a flitch for a rip cut
  double minutes_per_cross_cut = 0.25;  ///< likewise for a cut to length
  double sawing_variation = 1.0;  ///< mm, standard deviation of a sawn size; only counts where an
                                  ///< order names finished sizes ("a few millimetres" of spread)
  // How far off a person sets and the mill saws, one standard deviation each (common practice, no
  // source): a turn by a template and a plumb line, a lift by a tape under the log.
  double turn_error = 2.0;   ///< degrees
  double lift_error = 3.0;   ///< mm, of each end
  double blade_error = 1.0;  ///< mm, from cut to cut, and again along a cut

  bool inches = false;  ///< whether its height scale and the tape beside it show inches

  /// mm, what the tape is read to: whole millimetres or sixteenths of an inch.
  double tape_step() const;
};

// Errors beyond these are a slip of unit or digit.
inline constexpr double most_turn_error = 45;   ///< degrees
inline constexpr double most_lift_error = 200;  ///< mm
inline constexpr double most_blade_error = 20;  ///< mm

/// The same mill with its scale and the tape in inches: its step is then a whole number of
/// thirty-seconds, 1/16 in where it was 1 mm.
Mill in_inches(Mill mill);

/// Reads a mill from a TOML file; a key that is left out keeps its default.
/// @throws UserError no_file, empty_file, bad_toml, unknown_key, bad_mill
Mill read_mill(const std::string& path);

/// The same from text; `name` stands for the file in messages.
Mill parse_mill(const std::string& toml, const std::string& name);

}  // namespace kerfwright
