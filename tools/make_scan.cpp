// Writes the scan of an invented log as a phone would have made it, and on request the log itself.

#include <CLI/CLI.hpp>
#include <cmath>
#include <iostream>
#include <map>
#include <numbers>
#include <string>

#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"
#include "invented/truth.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/shape_file.hpp"

namespace {

using namespace kerfwright;

struct Options {
  std::string out, truth, recipe;
  std::uint64_t log_seed = 0;
  bool labels = false;
  double oblique = 0;  ///< degrees
  LogRanges ranges;
  PhoneSettings phone;
};

void add_range(CLI::App& app, const std::string& name, Range& range, const std::string& help) {
  app.add_option_function<std::vector<double>>(
         name,
         [&range](const std::vector<double>& ends) {
           range = {ends.front(), ends.back()};
         },
         help + " [" + CLI::detail::to_string(range.low) + " " +
             CLI::detail::to_string(range.high) + "]")
      ->expected(1, 2)
      ->type_name("LOW HIGH");
}

void add_log_options(CLI::App& app, Options& o) {
  std::string names;
  for (const std::string& name : recipe_names()) names += (names.empty() ? "" : ", ") + name;
  auto* named = app.add_option("--recipe", o.recipe, "One of " + names);
  auto* drawn = app.add_option("--log", o.log_seed, "Number of a log drawn at random, 1 or more");
  named->excludes(drawn);
  add_range(app, "--length", o.ranges.length, "mm");
  add_range(app, "--diameter", o.ranges.diameter, "mm over bark");
  add_range(app, "--taper", o.ranges.taper, "mm of diameter per m");
  add_range(app, "--sweep", o.ranges.sweep, "mm per m");
  add_range(app, "--crook", o.ranges.crook, "mm per m");
  add_range(app, "--ovality", o.ranges.ovality, "1 - smallest / largest diameter");
  add_range(app, "--flare", o.ranges.flare, "share of the butt radius");
  add_range(app, "--flutes", o.ranges.flutes, "how many");
  add_range(app, "--flute-depth", o.ranges.flute_depth, "share of the butt radius");
  add_range(app, "--burls", o.ranges.burls, "how many");
  add_range(app, "--burl-height", o.ranges.burl_height, "share of the radius");
  add_range(app, "--stubs", o.ranges.stubs, "how many");
  add_range(app, "--bark", o.ranges.bark, "mm");
  app.add_option("--oblique", o.oblique, "Degrees by which both faces are off square")
      ->check(CLI::Range(-20.0, 20.0))
      ->capture_default_str();
}

void add_phone_options(CLI::App& app, PhoneSettings& s) {
  const std::map<std::string, FileUnit> units{
      {"m", FileUnit::metre}, {"cm", FileUnit::centimetre}, {"mm", FileUnit::millimetre}};
  const std::map<std::string, FileUp> ups{{"z", FileUp::z}, {"y", FileUp::y}};
  app.add_option("--seed", s.seed, "Of noise and scene")->capture_default_str();
  app.add_option("--points", s.points, "In all")->capture_default_str();
  app.add_option("--noise", s.noise, "mm along the ray")->capture_default_str();
  app.add_option("--drift", s.drift, "mm")->capture_default_str();
  app.add_option("--hidden", s.hidden, "Share of the girth that is not seen")
      ->capture_default_str();
  app.add_flag("--ground,!--no-ground", s.ground, "Soil and grass");
  app.add_flag("--bunks,!--no-bunks", s.bunks, "Two timbers under the log");
  app.add_flag("--second-log,!--no-second-log", s.second_log, "Another log beside it");
  app.add_flag("--clutter,!--no-clutter", s.clutter, "A chock and a box");
  app.add_option("--gap", s.second_log_gap, "mm to the second log")->capture_default_str();
  app.add_option("--strays", s.stray_share, "Share of stray points")->capture_default_str();
  app.add_option("--yaw", s.yaw, "Degrees")->capture_default_str();
  app.add_option("--unit", s.unit, "Of the file: m, cm or mm")
      ->transform(CLI::CheckedTransformer(units));
  app.add_option("--up", s.up, "Axis of the file that is up: z or y")
      ->transform(CLI::CheckedTransformer(ups));
  app.add_option("--scale", s.scale, "Coordinates are this many times too large")
      ->capture_default_str();
}

void add_surroundings_options(CLI::App& app, PhoneSettings& phone) {
  Surroundings& s = phone.about;
  const std::map<std::string, LogPose> poses{
      {"lying", LogPose::lying}, {"standing", LogPose::standing}, {"hanging", LogPose::hanging}};
  const std::map<std::string, SecondLogPlace> places{{"apart", SecondLogPlace::apart},
                                                     {"alongside", SecondLogPlace::alongside},
                                                     {"across", SecondLogPlace::across},
                                                     {"in-line", SecondLogPlace::in_line}};
  app.add_option("--pose", s.pose, "lying, standing or hanging")
      ->transform(CLI::CheckedTransformer(poses));
  app.add_option("--second-log-place", s.second_log,
                 "apart, or touching: alongside, across, in-line")
      ->transform(CLI::CheckedTransformer(places));
  app.add_flag("--frame", s.frame, "Rails under the log and stakes beside it");
  app.add_flag("--chocks", s.chocks, "Two on each side");
  app.add_flag("--boot", s.boot, "A foot, and the leg against the log");
  app.add_flag("--posts", s.posts, "Two posts close to the log");
  app.add_flag("--wall", s.wall, "A wall beside the log");
  app.add_option("--branches", s.branches, "Stumps of branches");
  app.add_option("--fork", s.fork_at, "Where a second stem leaves, share of the length; 0 = none");
  app.add_option("--fork-angle", s.fork_angle, "Degrees")->capture_default_str();
  app.add_option("--fork-size", s.fork_size, "Share of the log's own thickness")
      ->capture_default_str();
  app.add_option("--fork-length", s.fork_length, "mm")->capture_default_str();
  app.add_option("--relief", s.relief, "Of the ground, times what is usual")->capture_default_str();
  app.add_option("--grass", s.grass, "mm, mean length of a blade")->capture_default_str();
  app.add_option("--crop", s.crop_at,
                 "Where the scan itself stops, share of the length; 0 = nowhere");
  app.add_option("--crop-angle", s.crop_angle, "Degrees of that border from square");
}

int make(const Options& o) {
  if (o.recipe.empty() && o.log_seed == 0)
    throw UserError(Fault::usage, "Say which log: --recipe NAME or --log NUMBER.");
  InventedLog log = o.recipe.empty() ? random_log(o.log_seed, o.ranges) : recipe(o.recipe);
  const double slope = std::tan(o.oblique * std::numbers::pi / 180.0);
  log.butt_slope = {0.0, slope};  // leaning over at the butt, to the side at the top
  log.top_slope = {slope, 0.0};
  const PhoneScan scan = scan_like_a_phone(log, o.phone);
  write_file(o.out, to_ply(scan, o.labels));
  if (!o.truth.empty()) write_file(o.truth, shape_to_json(true_shape(log, scan.scan_to_log)));
  std::cout << log.name << ": " << log.length << " mm long, " << scan.points.size() << " points, "
            << volume_m3(log, true) << " m3 under bark\n";
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  Options options;
  CLI::App app{"Makes the scan of an invented log, the way a person's phone would see it."};
  app.add_option("scan", options.out, "The PLY file to write")->required();
  app.add_option("--truth", options.truth, "Also write the log itself as a shape file");
  app.add_flag("--labels", options.labels, "Add what each point lies on to the PLY file");
  add_log_options(app, options);
  add_phone_options(app, options.phone);
  add_surroundings_options(app, options.phone);
  CLI11_PARSE(app, argc, argv);
  try {
    return make(options);
  } catch (const UserError& error) {
    std::cerr << error.what() << "\n";
    return static_cast<int>(error.fault());
  }
}
