#pragma once

#include <optional>

/// What a log is called: its volume by the forester's formulas and its board feet by the log rules.
/// Log rules are trade conventions, not volumes; board feet by one rule are never added to board
/// feet by another.
namespace kerfwright {

// Unit factors, exact by definition.
constexpr double mm_per_inch = 25.4;
constexpr double mm_per_foot = 304.8;
constexpr double m3_per_cubic_foot = 0.3048 * 0.3048 * 0.3048;
constexpr double m3_per_board_foot = m3_per_cubic_foot / 12;  ///< 144 cubic inches

/// Area of a round section, in the square of the diameter's unit.
double circle_area(double diameter);

// Volumes from section areas (small end, mid-length, large end), under bark unless said otherwise.
// Any units that go together: m2 and m give m3. Huber, Smalian, Newton from memory of Husch, Beers,
// Kershaw, Forest Mensuration; Smalian, cone and neiloid as printed on the University of Missouri
// forestry teaching page "Cubic Log Volume".

/// Exact for a cylinder and a paraboloid; too small for a cone or neiloid.
double huber_volume(double mid_area, double length);
/// Exact for a cylinder and a paraboloid; too large for a cone or neiloid, by twice what Huber
/// lacks.
double smalian_volume(double small_area, double large_area, double length);
/// Exact for a cylinder, paraboloid, cone and neiloid.
double newton_volume(double small_area, double mid_area, double large_area, double length);
/// Exact for a frustum of a cone.
double cone_frustum_volume(double small_area, double large_area, double length);
/// Exact for a frustum of a neiloid.
double neiloid_frustum_volume(double small_area, double large_area, double length);

/// The whole inch that a printed rule is entered with: the 10 in class runs from 9.5 to just
/// under 10.5 (Idaho Board of Scaling Practices). `inches` is the small-end diameter inside bark,
/// mean of two readings at right angles.
int scaling_diameter(double inches);

// Log rules. `diameter` is the small-end diameter inside bark in inches, `length` the nominal
// length in feet; the result is in board feet and never negative.

/// Doyle, (D - 4)^2 L / 16; 0 up to 4 in. Takes no account of taper, and is seriously short on
/// small logs (Purdue University Extension FNR-191).
double doyle(double diameter, double length);
/// The same as the printed tables have it: to the nearest board foot, halves up.
int doyle_table(int diameter, int length);

/// International 1/8-inch rule: 0.22 D^2 - 0.71 D for each 4 ft, D growing by 1/2 in per 4 ft
/// towards the butt (University of Missouri forestry teaching page). A last part-section counts in
/// proportion to its length (from memory; it reproduces the printed 10 and 14 ft columns).
double international_eighth(double diameter, double length);
/// International 1/4-inch rule before rounding: 0.905 of the 1/8-inch rule. A statute, MCL 290.401,
/// says 0.904762; only 0.905 gives the printed 21 in x 8 ft.
double international_quarter(double diameter, double length);
/// The same to the nearest 5 board feet. Of the printed table (extension table of E. M. Wengert, 6
/// to 26 in) two cells stand one step higher: 15 in x 16 ft and 17 in x 14 ft.
int international_quarter_table(int diameter, int length);

/// Scribner by the formula that was fitted to the old diagram rule, (0.79 D^2 - 2 D - 4) L / 16
/// (extension summary of the log rules).
double scribner(double diameter, double length);
/// Scribner Decimal C in tens of board feet, a published table that no rounding of the formula
/// gives. 6 to 20 in as in the extension table of E. M. Wengert, 21 to 30 in from memory of the
/// National Forest Log Scaling Handbook FSH 2409.11, Appendix 2. Empty for any diameter but 6 to 30
/// in and any length but 8, 10, 12, 14 and 16 ft.
std::optional<double> scribner_decimal_c(int diameter, int length);

/// Board feet of a board: nominal thickness and width in inches, length in feet. Under 1 in of
/// thickness counts as 1 in (CCC Forestry, US Forest Service, ch. VIII).
double board_feet(double thickness, double width, double length);

/// Percent by which the lumber tally exceeds the log scale, both in board feet (USDA Forest
/// Service, Lumber recovery from ponderosa pine in the Black Hills).
double overrun_percent(double tally, double scale);
/// Tally in percent of the scale: 150 is an overrun of 50 (same source).
double recovery_percent(double tally, double scale);
/// Board feet of lumber per cubic foot of gross log volume; 12 is the most at full nominal size
/// (same source).
double lumber_recovery_factor(double tally, double log_cubic_feet);

/// The share of the scale, 0 to 1, that sweep costs: (sweep - allowance) / D, allowance 2 in for 16
/// ft and 1 in for 8 ft, in proportion between, the nearer of the two beyond. Sweep and diameter in
/// inches, length in feet. From memory of L. R. Grosenbaugh, Shortcuts for Cruisers and Scalers,
/// Southern Forest Experiment Station Occasional Paper 126, 1952; USDA Forest Service NE-172
/// likewise ignores sweep under 2 in.
double sweep_deduction(double sweep, double diameter, double length);
/// The share that a crook costs, 0 to 1: (departure / D) x (length of the crooked part / L);
/// departure and diameter in one unit, the lengths in one unit. From memory, same paper.
double crook_deduction(double departure, double diameter, double crooked_length, double length);

// Hardwood boards by cutting units, as the NHLA grade chart has them (the chart as reprinted).

/// Surface measure: width in inches, with fractions, times the length in whole feet, over 12, to
/// the nearest whole number (extension article on hardwood grading).
int surface_measure(double width, double length);

/// What a grade asks of a board.
enum class HardwoodGrade { fas, common_1, common_2a };
struct CuttingUnits {
  int cuttings = 0;        ///< as many clear pieces may be cut out
  int units = 0;           ///< 1 in x 1 ft each, that they must have together
  int extra_cuttings = 0;  ///< with one cutting more, 0 where that is not allowed
  int extra_units = 0;
};

/// @param measure surface measure, 0 or more
CuttingUnits cutting_units(HardwoodGrade grade, int measure);

/// Whether a board without any defect is large enough for a grade; inches and feet.
bool large_enough(HardwoodGrade grade, double width, double length);

}  // namespace kerfwright
