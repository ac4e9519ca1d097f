#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <set>

#include "json_read.hpp"
#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "order_json.hpp"
#include "setup_kind.hpp"

namespace kerfwright {
namespace {

using json_read::dearest;
using json_read::items;
using json_read::largest_count;
using json_read::longest;
using json_read::member;
using json_read::Node;
using json_read::number;
using json_read::reject;
using json_read::text;
using json_read::whole;

constexpr std::size_t most = 20'000;  // boards, cuts, setups, products
// Another program may write unit vectors with four decimals.
constexpr double skew_tolerance = 1e-3;

double length_of(const Node& node) {
  const double value = number(node, 0.0, longest);
  if (value <= 0.0) reject(*node.reading, "\"" + node.place + "\" is not more than 0");
  return value;
}

Eigen::Vector3d unit_of(const Node& node) {
  const Eigen::Vector3d v = json_read::vector(node, 2.0);
  if (std::abs(v.norm() - 1.0) > skew_tolerance) {
    reject(*node.reading, "\"" + node.place + "\" is not a vector of length 1");
  }
  return v;
}

bool is_in_inches(const Node& mill) {
  if (!json_read::has(mill, "scale")) return false;
  const std::string scale = text(member(mill, "scale"));
  if (scale != "inch" && scale != "mm") {
    reject(*mill.reading, "\"" + mill.place + ".scale\" is neither \"mm\" nor \"inch\"");
  }
  return scale == "inch";
}

Mill read_mill_node(const Node& node) {
  const auto measure = [&](const char* key) { return number(member(node, key), 0.0, dearest); };
  Mill mill;
  mill.kerf = number(member(node, "kerf"), 0.0, 1000.0);
  mill.max_diameter = measure("max_diameter");
  mill.max_log_mass = measure("max_log_mass");
  mill.max_cut_width = measure("max_cut_width");
  mill.bunks = json_read::numbers(member(node, "bunks"), 0, most, -longest, longest);
  mill.lowest_cut = measure("lowest_cut");
  mill.height_step = measure("height_step");
  mill.hourly_rate = measure("hourly_rate");
  mill.feed_rate = measure("feed_rate");
  mill.minutes_per_cut = measure("minutes_per_cut");
  mill.minutes_per_turn = measure("minutes_per_turn");
  // The first plans did not know these.
  const auto maybe = [&](const char* key, double otherwise) {
    return json_read::has(node, key) ? measure(key) : otherwise;
  };
  mill.minutes_per_edging = maybe("minutes_per_edging", mill.minutes_per_cut);
  mill.minutes_per_cross_cut = maybe("minutes_per_cross_cut", mill.minutes_per_cut);
  mill.sawing_variation = maybe("sawing_variation", mill.sawing_variation);
  mill.turn_error = maybe("turn_error", mill.turn_error);
  mill.lift_error = maybe("lift_error", mill.lift_error);
  mill.blade_error = maybe("blade_error", mill.blade_error);
  return is_in_inches(node) ? in_inches(mill) : mill;
}

Board read_board(const Node& node) {
  Board board;
  board.id = whole(member(node, "id"), 0, largest_count);
  board.product = text(member(node, "product"));
  board.thickness = length_of(member(node, "thickness"));
  board.width = length_of(member(node, "width"));
  board.length = length_of(member(node, "length"));
  board.value = number(member(node, "value"), -dearest, dearest);
  board.piece = text(member(node, "piece"));
  if (json_read::has(node, "grade")) board.grade = text(member(node, "grade"));
  if (json_read::has(node, "chance")) board.chance = number(member(node, "chance"), 0.0, 1.0);
  board.corner = json_read::vector(member(node, "corner"), longest);
  board.along = unit_of(member(node, "along"));
  board.across = unit_of(member(node, "across"));
  board.up = unit_of(member(node, "up"));
  if ((board.along.cross(board.across) - board.up).norm() > 2.0 * skew_tolerance) {
    reject(*node.reading, "the three directions of \"" + node.place +
                              "\" are not square to each other and right-handed");
  }
  return board;
}

Cut read_cut(const Node& node) {
  Cut cut;
  cut.n = whole(member(node, "n"), 1, largest_count);
  cut.setup = whole(member(node, "setup"), 1, largest_count);
  cut.piece = text(member(node, "piece"));
  cut.point = json_read::vector(member(node, "point"), longest);
  cut.normal = unit_of(member(node, "normal"));
  cut.kerf = number(member(node, "kerf"), 0.0, 1000.0);
  cut.above = text(member(node, "above"));
  cut.below = text(member(node, "below"));
  return cut;
}

/// A program that knows no other kind than the log on the mill may leave it out.
SetupKind read_kind(const Node& node) {
  if (!json_read::has(node, "kind")) return SetupKind::log;
  const std::string kind = text(member(node, "kind"));
  const auto found = std::find(setup_kind_names.begin(), setup_kind_names.end(), kind);
  if (found == setup_kind_names.end()) {
    reject(*node.reading, "\"" + node.place + ".kind\" is none of log, cant, edging and cross-cut");
  }
  return static_cast<SetupKind>(found - setup_kind_names.begin());
}

Setup read_setup(const Node& node) {
  Setup setup;
  setup.n = whole(member(node, "n"), 1, largest_count);
  setup.roll = number(member(node, "roll"), -3600.0, 3600.0);
  setup.lift_butt = number(member(node, "lift_butt"), -longest, longest);
  setup.lift_top = number(member(node, "lift_top"), -longest, longest);
  setup.kind = read_kind(node);
  if (json_read::has(node, "spacer")) {
    setup.spacer = number(member(node, "spacer"), 0.0, 2000.0);
  }
  if (json_read::has(node, "part")) {
    setup.part =
        LogPart{text(member(node, "part")), json_read::vector(member(node, "part_butt"), longest),
                json_read::vector(member(node, "part_top"), longest)};
  }
  return setup;
}

Totals read_totals(const Node& node) {
  const auto amount = [&](const char* key) { return number(member(node, key), -dearest, dearest); };
  const auto optional = [&](const char* key) {
    return json_read::has(node, key) ? std::optional<double>(amount(key)) : std::nullopt;
  };
  Totals totals;
  totals.value = amount("value");
  totals.net = amount("net");
  totals.bound = optional("bound");
  totals.bound_of_ways = optional("bound_of_ways");
  totals.bound_lift = optional("bound_lift");
  if (totals.bound_lift) {  // plans of before had a bound for one pattern only
    totals.bound_patterns = json_read::has(node, "bound_patterns")
                                ? json_read::text(member(node, "bound_patterns"))
                                : std::string(pattern_name(Pattern::live));
  }
  totals.expected = optional("expected");
  totals.q10 = optional("q10");
  totals.board_m3 = amount("board_m3");
  totals.log_m3 = amount("log_m3");
  totals.yield = amount("yield");
  totals.hours = amount("hours");
  return totals;
}

template <class Item, class Read>
std::vector<Item> read_list(const Node& node, Read read) {
  std::vector<Item> list;
  for (const auto& item : items(node, 0, most)) list.push_back(read(item));
  return list;
}

/// Numbers that name things must name one thing each. Whether the cuts make the boards is for the
/// replay.
void check_names(const json_read::Reading& reading, const SawPlan& plan) {
  std::set<int> ids;
  for (const auto& board : plan.boards) {
    if (!ids.insert(board.id).second) {
      reject(reading, "two boards have the id " + std::to_string(board.id));
    }
  }
  std::set<int> setups;
  for (const auto& setup : plan.setups) {
    if (!setups.insert(setup.n).second) {
      reject(reading, "two setups have the number " + std::to_string(setup.n));
    }
  }
  int before = 0;
  for (const auto& cut : plan.cuts) {
    if (cut.n <= before) reject(reading, "the numbers of \"cuts\" do not increase");
    before = cut.n;
    if (!setups.contains(cut.setup)) {
      reject(reading, "cut " + std::to_string(cut.n) + " is made in a setup that is not listed");
    }
  }
}

}  // namespace

SawPlan plan_from_json(const std::string& text, const std::string& name) {
  const json_read::Reading reading{Fault::bad_plan, "plan", name, "plan the log again"};
  json_read::json document;
  const auto root = json_read::open_document(reading, text, document);
  SawPlan plan;
  plan.shape_sha256 = json_read::digest(member(root, "shape_sha256"));
  plan.scan_to_log = json_read::matrix(member(root, "scan_to_log"));
  plan.order = order_json::order_of(member(root, "order"));
  plan.mill = read_mill_node(member(root, "mill"));
  plan.pattern = json_read::text(member(root, "pattern"));
  plan.boards = read_list<Board>(member(root, "boards"), read_board);
  plan.cuts = read_list<Cut>(member(root, "cuts"), read_cut);
  plan.setups = read_list<Setup>(member(root, "setups"), read_setup);
  plan.totals = read_totals(member(root, "totals"));
  if (json_read::has(root, "done")) plan.done = whole(member(root, "done"), 0, largest_count);
  if (json_read::has(root, "face_height")) {
    plan.face_height = number(member(root, "face_height"), 0.0, 10'000.0);
  }
  if (json_read::has(root, "chalked")) {
    for (const auto& item : items(member(root, "chalked"), 0, most)) {
      plan.chalked[json_read::text(member(item, "piece"))] =
          json_read::text(member(item, "letter"));
    }
  }
  check_names(reading, plan);
  return plan;
}

}  // namespace kerfwright
