#include "emit.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "body.hpp"
#include "frame.hpp"
#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/shape/section.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

constexpr double shared = 0.11;  // mm; two faces a kerf apart within this are made by one cut

constexpr double spacer_sizes = 5.0;  // mm between the thicknesses of spacers that are asked for

/// Something between two parallel cuts.
struct Layer {
  double bottom = 0, top = 0;
  std::string name;
};

/// a … z, then aa, ab …: marks of the lanes of one flitch.
std::string lane_mark(int index) {
  const std::string last(1, static_cast<char>('a' + index % 26));
  return index < 26 ? last : lane_mark(index / 26 - 1) + last;
}

/// Writes cuts in sawing order and counts what they cost.
class Writer {
 public:
  Writer(const LogShape& shape, const Order& order, const Mill& mill)
      : shape_(shape), order_(order), mill_(mill), marks_(shape) {
    plan_.order = order;
    plan_.mill = mill;
    plan_.scan_to_log = shape.scan_to_log;
  }

  SawPlan write(const LogLayout& layout) {
    square_ends_ = layout.square_ends;
    if (layout.split) return write_split(*layout.split, layout.pose);
    if (layout.around) return write_around(*layout.around);
    plan_.pattern = pattern_name(layout.cants.empty() ? Pattern::live : Pattern::cant);
    std::vector<Layer> layers;
    std::vector<std::string> flitch_names, cant_names;
    for (const auto& flitch : layout.flitches) {
      flitch_names.push_back(name("f"));
      layers.push_back({flitch.bottom, flitch.bottom + flitch.thickness, flitch_names.back()});
    }
    for (const auto& cant : layout.cants) {
      cant_names.push_back(name("cant"));
      layers.push_back({cant.bottom, cant.bottom + cant.size, cant_names.back()});
    }
    const Body body = body_of(layout, "log");
    // What fills the piece from face to face is the piece.
    const bool whole = layers.size() == 1 && body.floor && body.ceiling &&
                       layers[0].bottom - *body.floor < shared &&
                       *body.ceiling - layers[0].top < shared;
    if (!whole) saw_layers(body, layers);
    if (whole) (flitch_names.empty() ? cant_names : flitch_names).front() = "log";
    std::vector<ToEdge> to_edge;
    for (std::size_t i = 0; i < layout.flitches.size(); ++i) {
      to_edge.push_back({flitch_names[i], &layout.flitches[i], layout.pose});
    }
    for (std::size_t i = 0; i < layout.cants.size(); ++i) {
      const CantLayout& cant = layout.cants[i];
      saw_flitches(body_of(cant, cant_names[i]), cant.flitches, to_edge);
    }
    return finished(to_edge);
  }

 private:
  /// In half, each half in half again, then each quarter on its flat face.
  SawPlan write_split(const SplitLayout& split, const Pose& pose) {
    plan_.pattern = pattern_name(Pattern::quarter);
    const std::array<std::string, 2> halves = {name("half"), name("half")};
    const Body log{SetupKind::log, pose, "log"};
    cut(setup(SetupKind::log, pose.roll, pose.slope), "log", Frame(pose).up * split.first,
        Frame(pose).up, halves[0], halves[1], sawn_area(log, shape_, split.first));
    std::vector<ToEdge> to_edge;
    for (std::size_t half = 0; half < 2; ++half) {
      const std::array<const QuarterLayout*, 2> quarters = {&split.quarters[2 * half],
                                                            &split.quarters[2 * half + 1]};
      if (quarters[0]->flitches.empty() && quarters[1]->flitches.empty()) continue;
      const std::array<std::string, 2> names = {name("quarter"), name("quarter")};
      const Body body{SetupKind::log, split.second_pose, halves[half]};
      const Frame frame(split.second_pose);
      cut(setup(SetupKind::log, split.second_pose.roll, split.second_pose.slope), halves[half],
          frame.up * split.second, frame.up, names[0], names[1],
          0.5 * sawn_area(body, shape_, split.second));
      for (std::size_t i = 0; i < 2; ++i) {
        saw_flitches(body_of(*quarters[i], names[i]), quarters[i]->flitches, to_edge);
      }
    }
    return finished(to_edge);
  }

  /// Face by face, each turned up when it is sawn; a cut too near to the bed is made from the other
  /// side.
  SawPlan write_around(const AroundLayout& around) {
    plan_.pattern = pattern_name(Pattern::around);
    std::vector<ToEdge> to_edge;
    const auto name_of = [&](const std::optional<FlitchLayout>& flitch, int direction) {
      if (!flitch) return name("slab");
      to_edge.push_back({name("f"), &*flitch, around.poses[static_cast<std::size_t>(direction)]});
      return to_edge.back().name;
    };
    std::string left = "log";
    Eigen::Vector3d up = Eigen::Vector3d::Zero();
    int number = 0;
    for (std::size_t i = 0; i < around.steps.size(); ++i) {
      const AroundLayout::Step& step = around.steps[i];
      const Body body = body_of(around, i, mill_.kerf, left);
      const Eigen::Vector3d outwards = Frame(body.pose).up;
      const double plane = step.upper ? step.plane : -step.plane;
      const bool reached =
          plane - 0.5 * mill_.kerf >= bed_under(body, shape_, mill_) + mill_.lowest_cut - 1e-9;
      const Eigen::Vector3d now_up = reached ? outwards : Eigen::Vector3d(-outwards);
      if (number == 0 || now_up.dot(up) < 0.999) {
        up = now_up;
        number = reached ? setup(body.kind, body.pose.roll, body.pose.slope)
                         : setup(body.kind, body.pose.roll + std::numbers::pi, -body.pose.slope);
      }
      const std::string off = name_of(step.flitch, step.direction);
      const bool last = i + 1 == around.steps.size();
      const std::string rest = last ? name_of(around.heart, around.heart_direction) : name("body");
      if (!reached) lay_on_spacer(number, thickness_taken(around, i));
      cut(number, left, outwards * plane, up, reached ? off : rest, reached ? rest : off,
          sawn_area(body, shape_, plane));
      left = rest;
    }
    return finished(to_edge);
  }

  /// How thick what a cut takes off is between two sawn faces, mm; very thick where it ends in
  /// bark.
  double thickness_taken(const AroundLayout& around, std::size_t step) const {
    const auto& taken = around.steps[step];
    for (std::size_t i = step; i-- > 0;) {
      const auto& before = around.steps[i];
      if (before.direction != taken.direction || before.upper != taken.upper) continue;
      return std::abs(before.plane - taken.plane) - mill_.kerf;
    }
    return 1e9;
  }

  /// A flitch that is off the log and waits to be edged.
  struct ToEdge {
    std::string name;
    const FlitchLayout* flitch;
    Pose pose;  ///< it was sawn in
  };

  /// Saws a cant or a quarter into its flitches.
  void saw_flitches(const Body& body, const std::vector<FlitchLayout>& flitches,
                    std::vector<ToEdge>& to_edge) {
    std::vector<Layer> layers;
    for (const FlitchLayout& flitch : flitches) {
      to_edge.push_back({name("f"), &flitch, body.pose});
      layers.push_back({flitch.bottom, flitch.bottom + flitch.thickness, to_edge.back().name});
    }
    saw_layers(body, layers);
  }

  /// What every way of sawing ends with: edging, the sums, and what the marks make of the boards.
  SawPlan finished(std::vector<ToEdge> to_edge) {
    std::stable_sort(to_edge.begin(), to_edge.end(), [&](const ToEdge& a, const ToEdge& b) {
      return place_of(a.name) < place_of(b.name);
    });
    for (const ToEdge& each : to_edge) edge(each.name, *each.flitch, each.pose);
    total();
    grade_boards(plan_, marks_);
    return std::move(plan_);
  }

  /// Flitches are edged in the order in which they come off the mill.
  std::size_t place_of(const std::string& piece) const {
    for (std::size_t i = 0; i < plan_.cuts.size(); ++i) {
      if (plan_.cuts[i].above == piece) return 2 * i;
      if (plan_.cuts[i].below == piece) return 2 * i + 1;
    }
    return 0;
  }

  std::string name(const std::string& kind) { return kind + std::to_string(++names_[kind]); }

  /// Number of the setup; a hand setup is shared by all cuts of the same direction.
  int setup(SetupKind kind, double roll, double slope) {
    Setup made;
    made.kind = kind;
    made.roll = roll * 180.0 / std::numbers::pi;
    made.roll -= 360.0 * std::floor(made.roll / 360.0 + 1e-12);
    made.roll = std::max(0.0, made.roll);
    const double lift = slope * shape_.length();
    made.lift_top = std::max(0.0, lift);
    made.lift_butt = std::max(0.0, -lift);
    const bool by_hand = kind == SetupKind::edging || kind == SetupKind::cross_cut;
    for (const Setup& other : plan_.setups) {
      if (by_hand && other.kind == kind && std::abs(other.roll - made.roll) < 1e-9 &&
          std::abs(other.lift_top - made.lift_top) < 1e-9 &&
          std::abs(other.lift_butt - made.lift_butt) < 1e-9) {
        return other.n;
      }
    }
    made.n = static_cast<int>(plan_.setups.size()) + 1;
    plan_.setups.push_back(made);
    return made.n;
  }

  int hand_setup(SetupKind kind, const Eigen::Vector3d& normal) {
    return setup(kind, std::atan2(normal.y(), normal.z()), std::clamp(normal.x(), -1.0, 1.0));
  }

  void cut(int setup_number, const std::string& piece, const Eigen::Vector3d& point,
           const Eigen::Vector3d& normal, const std::string& above, const std::string& below,
           double area_mm2) {
    Cut made;
    made.n = static_cast<int>(plan_.cuts.size()) + 1;
    made.setup = setup_number;
    made.piece = piece;
    made.point = point;
    made.normal = normal;
    made.kerf = mill_.kerf;
    made.above = above;
    made.below = below;
    plan_.cuts.push_back(made);
    minutes_ += setting_minutes(setup_number) + area_mm2 * 1e-6 / mill_.feed_rate;
  }

  double setting_minutes(int setup_number) const {
    switch (plan_.setups[static_cast<std::size_t>(setup_number) - 1].kind) {
      case SetupKind::edging:
        return mill_.minutes_per_edging;
      case SetupKind::cross_cut:
        return mill_.minutes_per_cross_cut;
      default:
        return mill_.minutes_per_cut;
    }
  }

  /// Saws a stack of layers out of a piece: from above as far down as the blade can go, the rest
  /// after half a turn.
  void saw_layers(const Body& body, std::vector<Layer> layers) {
    if (layers.empty()) return;
    std::sort(layers.begin(), layers.end(),
              [](const Layer& a, const Layer& b) { return a.bottom > b.bottom; });
    std::vector<double> planes;               // from the top down
    std::vector<std::string> regions = {""};  // above, between and below the planes; "" = waste
    for (const Layer& layer : layers) {
      const double above = layer.top + 0.5 * mill_.kerf;
      if (planes.empty() && body.ceiling && *body.ceiling - layer.top < shared) {
        regions.back() = layer.name;
      } else if (planes.empty() || planes.back() - above > shared) {
        planes.push_back(above);
        regions.push_back(layer.name);
      } else {
        regions.back() = layer.name;
      }
      if (body.floor && layer.bottom - *body.floor < shared) break;  // the flat face is its own
      planes.push_back(layer.bottom - 0.5 * mill_.kerf);
      regions.emplace_back("");
    }
    for (std::string& region : regions) {
      if (region.empty()) region = name("slab");
    }
    saw_planes(body, planes, regions);
  }

  void saw_planes(const Body& body, const std::vector<double>& planes,
                  const std::vector<std::string>& regions) {
    const Frame frame(body.pose);
    const std::size_t from_above =
        planes_from_above(planes, bed_under(body, shape_, mill_), body.floor.has_value());
    std::string left = body.name;
    int number = from_above > 0 ? setup(body.kind, body.pose.roll, body.pose.slope) : 0;
    for (std::size_t i = 0; i < from_above; ++i) {
      const bool last = i + 1 == planes.size();
      const std::string below = last ? regions[i + 1] : name("body");
      cut(number, left, frame.up * planes[i], frame.up, regions[i], below,
          sawn_area(body, shape_, planes[i]));
      left = below;
    }
    if (from_above == planes.size()) {
      if (body.floor) lay_on_spacer(number, planes.back() - 0.5 * mill_.kerf - *body.floor);
      return;
    }
    number = setup(body.kind, body.pose.roll + std::numbers::pi, -body.pose.slope);
    for (std::size_t i = planes.size(); i-- > from_above;) {
      const bool last = i == from_above;
      const std::string below = last ? regions[i] : name("body");
      cut(number, left, frame.up * planes[i], -frame.up, regions[i + 1], below,
          sawn_area(body, shape_, planes[i]));
      left = below;
    }
    if (from_above == 0) {  // the last piece lies on its bark or on the face that was there
      if (body.ceiling) lay_on_spacer(number, *body.ceiling - planes.front() - 0.5 * mill_.kerf);
      return;
    }
    lay_on_spacer(number, planes[from_above - 1] - planes[from_above] - mill_.kerf);
  }

  /// Where what is left below the last cut is thinner than the blade can come to the bed, the piece
  /// must be raised, as with a flat board under it (common practice, no source).
  void lay_on_spacer(int setup_number, double thinnest) {
    const double missing = mill_.lowest_cut - thinnest;
    if (missing < shared) return;
    const double step = mill_.height_step;
    const double board = spacer_sizes * std::ceil(missing / spacer_sizes);
    plan_.setups[static_cast<std::size_t>(setup_number) - 1].spacer =
        step * std::ceil(board / step - 1e-9);
  }

  /// How many planes are sawn before the half turn. What then lies on the bed must be thick enough
  /// for the blade to pass above it; where no layer is, a spacer makes up for it, and what lies on
  /// a flat face needs no turn for that.
  std::size_t planes_from_above(const std::vector<double>& planes, double bed, bool flat) const {
    std::size_t reached = 0;
    while (reached < planes.size() &&
           planes[reached] - 0.5 * mill_.kerf >= bed + mill_.lowest_cut) {
      ++reached;
    }
    if (reached == planes.size()) return reached;
    for (std::size_t i = reached; i > 0; --i) {
      if (planes[i - 1] - planes[i] - mill_.kerf >= mill_.lowest_cut) return i;
    }
    return flat ? planes.size() : reached;
  }

  /// Cross-cuts a flitch into its segments, square to the bed that it was sawn on, then edges each.
  void edge_segments(const std::string& flitch_name, const FlitchLayout& flitch, const Pose& pose) {
    const Frame frame(pose);
    const int number = hand_setup(SetupKind::cross_cut, frame.along);
    const double middle = flitch.bottom + 0.5 * flitch.thickness;
    std::string left = flitch_name;
    std::vector<std::string> names;
    for (std::size_t i = 1; i < flitch.segments.size(); ++i) {
      names.push_back(flitch_name + "p" + std::to_string(i));
      const bool last = i + 1 == flitch.segments.size();
      const std::string rest =
          last ? flitch_name + "p" + std::to_string(i + 1) : flitch_name + "q" + std::to_string(i);
      const double at = flitch.segments[i].from;
      cut(number, left, frame.point(at, 0.0, middle), frame.along, rest, names.back(),
          flitch.thickness * width_at(flitch, at));
      left = rest;
    }
    names.push_back(left);
    for (std::size_t i = 0; i < names.size(); ++i) {
      const double from = i > 0 ? flitch.segments[i].from : 0.0;
      const double to = i + 1 < names.size() ? flitch.segments[i + 1].from : shape_.length();
      rip(names[i], flitch.segments[i], pose, to - from);
    }
  }

  /// mm that a cross-cut of a flitch is wide at most: as far as its boards reach across it.
  double width_at(const FlitchLayout& flitch, double x) const {
    double left = 1e9;
    double right = -1e9;
    for (const FlitchLayout& segment : flitch.segments) {
      for (const auto& place : segment.pieces) {
        const double width = order_.products[static_cast<std::size_t>(place.product)].width;
        left = std::min(left, place.left + segment.lean * x);
        right = std::max(right, place.left + segment.lean * x + width);
      }
    }
    return std::max(0.0, right - left);
  }

  void edge(const std::string& flitch_name, const FlitchLayout& flitch, const Pose& pose) {
    if (!flitch.segments.empty()) return edge_segments(flitch_name, flitch, pose);
    rip(flitch_name, flitch, pose, shape_.length());
  }

  /// Rips lane by lane, and cuts each to length.
  void rip(const std::string& flitch_name, const FlitchLayout& flitch, const Pose& pose,
           double length) {
    const Frame frame(pose);
    const double cos_slope = std::sqrt(1.0 - pose.slope * pose.slope);
    const double m = flitch.lean * cos_slope;
    const double norm = std::sqrt(1.0 + m * m);
    const Eigen::Vector3d along = (frame.along + m * frame.across) / norm;
    const Eigen::Vector3d across = (frame.across - m * frame.along) / norm;
    const auto point = [&](double lateral, double x) -> Eigen::Vector3d {
      return frame.along * ((x - flitch.bottom * pose.slope) / cos_slope) +
             frame.across * (lateral + flitch.lean * x) + frame.up * flitch.bottom;
    };
    if (flitch.live_edges) {
      trim(flitch_name, flitch, 0, flitch.pieces.size(), {along, across, frame.up}, point);
      return;
    }
    const double rip_area = flitch.thickness * length;
    std::string left = flitch_name;
    int lane_index = 0;
    std::optional<double> edge_made = flitch.face_left;  // where the left edge of `left` was sawn
    for (std::size_t i = 0; i < flitch.pieces.size();) {
      std::size_t end = i;
      while (end < flitch.pieces.size() && flitch.pieces[end].left == flitch.pieces[i].left) ++end;
      const std::string letter = lane_mark(lane_index++);
      const double at = flitch.pieces[i].left;
      const Product& product = order_.products[static_cast<std::size_t>(flitch.pieces[i].product)];
      if (!edge_made || std::abs(*edge_made - at) > shared) {
        const std::string rest = flitch_name + "r" + letter;
        cut(hand_setup(SetupKind::edging, across), left, point(at, 0.0) - across * 0.5 * mill_.kerf,
            across, rest, name("edge"), rip_area);
        left = rest;
      }
      std::string lane = left;
      const double right = at + product.width;
      if (!flitch.face_right || std::abs(*flitch.face_right - right) > shared) {
        lane = flitch_name + letter;
        const bool done = end == flitch.pieces.size();
        const std::string rest = done ? name("edge") : flitch_name + "s" + letter;
        cut(hand_setup(SetupKind::edging, across), left,
            point(at, 0.0) + across * (product.width + 0.5 * mill_.kerf), across, rest, lane,
            rip_area);
        left = rest;
        edge_made = right + mill_.kerf;
      }
      trim(lane, flitch, i, end, {along, across, frame.up}, point);
      i = end;
    }
  }

  struct Axes {
    Eigen::Vector3d along, across, up;
  };

  template <typename Point>
  void trim(const std::string& lane, const FlitchLayout& flitch, std::size_t from, std::size_t to,
            const Axes& axes, const Point& point) {
    std::string left = lane;
    double sawn_to = -1e9;  // where the last cross-cut ends
    for (std::size_t i = from; i < to; ++i) {
      const auto& place = flitch.pieces[i];
      const Product& product = order_.products[static_cast<std::size_t>(place.product)];
      Board board;
      board.id = static_cast<int>(plan_.boards.size()) + 1;
      board.product = product.name;
      board.thickness = product.thickness;
      board.width = place.width;
      board.length = product.lengths[static_cast<std::size_t>(place.length)];
      board.corner = point(place.left, place.start);
      board.along = axes.along;
      board.across = axes.across;
      board.up = axes.up;
      const auto length = static_cast<std::size_t>(place.length);
      board.value =
          product.live_edge ? product.value_of(length, place.width) : product.value_of(length);
      const double area = product.thickness * place.width;
      const int number = hand_setup(SetupKind::cross_cut, axes.along);
      if (std::abs(sawn_to - place.start) > shared && !at_end(board, 0.0)) {
        const std::string rest = lane + "-" + std::to_string(i - from) + "r";
        cut(number, left, board.corner - axes.along * 0.5 * mill_.kerf, axes.along, rest,
            name("end"), area);
        left = rest;
      }
      board.piece = left;
      if (!at_end(board, board.length)) {
        board.piece = "b" + std::to_string(board.id);
        const bool done = i + 1 == to;
        const std::string rest = done ? name("end") : lane + "-" + std::to_string(i - from) + "s";
        cut(number, left, board.corner + axes.along * (board.length + 0.5 * mill_.kerf), axes.along,
            rest, board.piece, area);
        left = rest;
      }
      sawn_to = place.start + board.length + mill_.kerf;
      plan_.boards.push_back(board);
    }
  }

  /// Whether the end of a board at `a` is the log's own end.
  bool at_end(const Board& board, double a) const {
    if (!square_ends_) return false;
    double least = 1e9;
    double most = -1e9;
    for (const double b : {0.0, board.width}) {
      for (const double c : {0.0, board.thickness}) {
        const double x = (board.corner + a * board.along + b * board.across + c * board.up).x();
        least = std::min(least, x);
        most = std::max(most, x);
      }
    }
    const double end = a == 0.0 ? 0.0 : shape_.length();
    return std::abs(least - end) < 0.05 && std::abs(most - end) < 0.05;
  }

  /// Whether a board is of a product that boxes the heart.
  bool boxes_heart() const {
    return std::any_of(plan_.boards.begin(), plan_.boards.end(), [&](const Board& board) {
      return std::any_of(order_.products.begin(), order_.products.end(), [&](const Product& p) {
        return p.boxed_heart && !p.live_edge && p.name == board.product;
      });
    });
  }

  void total() {
    if (boxes_heart() && plan_.pattern != pattern_name(Pattern::around)) {
      plan_.pattern = pattern_name(Pattern::boxed_heart);
    }
    Totals& totals = plan_.totals;
    for (const Board& board : plan_.boards) {
      totals.value += board.value;
      totals.board_m3 += board.thickness * board.width * board.length * 1e-9;
    }
    totals.log_m3 = solid_volume_m3(shape_, Bark::off);
    totals.yield = totals.log_m3 > 0.0 ? totals.board_m3 / totals.log_m3 : 0.0;
    for (const Setup& made : plan_.setups) {
      if (made.kind == SetupKind::log || made.kind == SetupKind::cant) {
        minutes_ += mill_.minutes_per_turn;
      }
    }
    totals.hours = minutes_ / 60.0;
    totals.net = totals.value - totals.hours * mill_.hourly_rate;
  }

  const LogShape& shape_;
  const Order& order_;
  const Mill& mill_;
  WoodMarks marks_;
  SawPlan plan_;
  std::map<std::string, int> names_;
  double minutes_ = 0;
  bool square_ends_ = true;
};

}  // namespace

SawPlan emit_plan(const LogLayout& layout, const LogShape& shape, const Order& order,
                  const Mill& mill) {
  return Writer(shape, order, mill).write(layout);
}

}  // namespace kerfwright::saw
