#include "emit.hpp"

#include <algorithm>
#include <cmath>

#include "body.hpp"
#include "edging_cuts.hpp"
#include "frame.hpp"
#include "kerfwright/saw/pattern.hpp"
#include "kerfwright/shape/section.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

constexpr double spacer_sizes = 5.0;  // mm between the thicknesses of spacers that are asked for

/// Something between two parallel cuts.
struct Layer {
  double bottom = 0, top = 0;
  std::string name;
};

/// Writes cuts in sawing order and counts what they cost.
class Writer {
 public:
  Writer(const LogShape& shape, const Order& order, const Mill& mill)
      : shape_(shape),
        middles_(middle_sections(shape)),
        mill_(mill),
        marks_(shape),
        book_(order, mill, shape.length()) {
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
      flitch_names.push_back(book_.name("f"));
      layers.push_back({flitch.bottom, flitch.bottom + flitch.thickness, flitch_names.back()});
    }
    for (const auto& cant : layout.cants) {
      cant_names.push_back(book_.name("cant"));
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
    const std::array<std::string, 2> halves = {book_.name("half"), book_.name("half")};
    const Body log{SetupKind::log, pose, "log"};
    book_.cut(book_.setup(SetupKind::log, pose.roll, pose.slope), "log",
              Frame(pose).up * split.first, Frame(pose).up, halves[0], halves[1],
              sawn_area(log, shape_, middles_, split.first));
    std::vector<ToEdge> to_edge;
    for (std::size_t half = 0; half < 2; ++half) {
      const std::array<const QuarterLayout*, 2> quarters = {&split.quarters[2 * half],
                                                            &split.quarters[2 * half + 1]};
      if (quarters[0]->flitches.empty() && quarters[1]->flitches.empty()) continue;
      const std::array<std::string, 2> names = {book_.name("quarter"), book_.name("quarter")};
      const Body body{SetupKind::log, split.second_pose, halves[half]};
      const Frame frame(split.second_pose);
      book_.cut(book_.setup(SetupKind::log, split.second_pose.roll, split.second_pose.slope),
                halves[half], frame.up * split.second, frame.up, names[0], names[1],
                0.5 * sawn_area(body, shape_, middles_, split.second));
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
      if (!flitch) return book_.name("slab");
      to_edge.push_back(
          {book_.name("f"), &*flitch, around.poses[static_cast<std::size_t>(direction)]});
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
        const Pose pose = reached ? body.pose : upside_down(body.pose);
        number = book_.setup(body.kind, pose.roll, pose.slope);
      }
      const std::string off = name_of(step.flitch, step.direction);
      const bool last = i + 1 == around.steps.size();
      const std::string rest =
          last ? name_of(around.heart, around.heart_direction) : book_.name("body");
      if (!reached) lay_on_spacer(number, thickness_taken(around, i));
      book_.cut(number, left, outwards * plane, up, reached ? off : rest, reached ? rest : off,
                sawn_area(body, shape_, middles_, plane));
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
      to_edge.push_back({book_.name("f"), &flitch, body.pose});
      layers.push_back({flitch.bottom, flitch.bottom + flitch.thickness, to_edge.back().name});
    }
    saw_layers(body, layers);
  }

  /// What every way of sawing ends with: edging, the sums, and what the marks make of the boards.
  SawPlan finished(std::vector<ToEdge> to_edge) {
    std::stable_sort(to_edge.begin(), to_edge.end(), [&](const ToEdge& a, const ToEdge& b) {
      return place_of(a.name) < place_of(b.name);
    });
    for (const ToEdge& each : to_edge) {
      edge_flitch(book_, each.name, *each.flitch, each.pose, shape_.length(), square_ends_);
    }
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
    leave_out_empty_cuts(body, planes, regions);
    for (std::string& region : regions) {
      if (region.empty()) region = book_.name("slab");
    }
    saw_planes(body, planes, regions);
  }

  /// The outermost planes may run beside the wood, as where a cant is larger than what is left of
  /// the log: no cut is made there.
  void leave_out_empty_cuts(const Body& body, std::vector<double>& planes,
                            std::vector<std::string>& regions) const {
    while (planes.size() > 1 && regions.back().empty() &&
           sawn_area(body, shape_, middles_, planes.back()) <= 0.0) {
      planes.pop_back();
      regions.pop_back();
    }
    while (planes.size() > 1 && regions.front().empty() &&
           sawn_area(body, shape_, middles_, planes.front()) <= 0.0) {
      planes.erase(planes.begin());
      regions.erase(regions.begin());
    }
  }

  void saw_planes(const Body& body, const std::vector<double>& planes,
                  const std::vector<std::string>& regions) {
    const Frame frame(body.pose);
    const std::size_t from_above = planes_from_above(body, planes);
    std::string left = body.name;
    int number = from_above > 0 ? book_.setup(body.kind, body.pose.roll, body.pose.slope) : 0;
    for (std::size_t i = 0; i < from_above; ++i) {
      const bool last = i + 1 == planes.size();
      const std::string below = last ? regions[i + 1] : book_.name("body");
      book_.cut(number, left, frame.up * planes[i], frame.up, regions[i], below,
                sawn_area(body, shape_, middles_, planes[i]));
      left = below;
    }
    if (from_above == planes.size()) {
      if (body.floor) lay_on_spacer(number, planes.back() - 0.5 * mill_.kerf - *body.floor);
      return;
    }
    const Pose other = upside_down(body.pose);
    number = book_.setup(body.kind, other.roll, other.slope);
    for (std::size_t i = planes.size(); i-- > from_above;) {
      const bool last = i == from_above;
      const std::string below = last ? regions[i] : book_.name("body");
      book_.cut(number, left, frame.up * planes[i], -frame.up, regions[i + 1], below,
                sawn_area(body, shape_, middles_, planes[i]));
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
    book_.setup_at(setup_number).spacer = step * std::ceil(board / step - 1e-9);
  }

  /// How many planes are sawn before the half turn; none where all can be sawn from the other side
  /// only. What lies on the bed after the turn must be thick enough for the blade to pass above it;
  /// where no layer is, a spacer makes up for it, and what lies on a flat face needs no turn for
  /// that.
  std::size_t planes_from_above(const Body& body, const std::vector<double>& planes) const {
    const bool flat = body.floor.has_value();
    const double bed = bed_under(body, shape_, mill_);
    std::size_t reached = 0;
    while (reached < planes.size() &&
           planes[reached] - 0.5 * mill_.kerf >= bed + mill_.lowest_cut) {
      ++reached;
    }
    if (reached == planes.size()) return reached;
    if (!flat && !body.ceiling) {
      const double other_bed = bed_under(turned_over(body), shape_, mill_);
      if (-planes.front() - 0.5 * mill_.kerf >= other_bed + mill_.lowest_cut) return 0;
    }
    for (std::size_t i = reached; i > 0; --i) {
      if (planes[i - 1] - planes[i] - mill_.kerf >= mill_.lowest_cut) return i;
    }
    return flat ? planes.size() : reached;
  }

  /// Whether a board is of a product that boxes the heart.
  bool boxes_heart() const {
    return std::any_of(plan_.boards.begin(), plan_.boards.end(), [&](const Board& board) {
      return std::any_of(plan_.order.products.begin(), plan_.order.products.end(),
                         [&](const Product& p) {
                           return p.boxed_heart && !p.live_edge && p.name == board.product;
                         });
    });
  }

  void total() {
    if (boxes_heart() && plan_.pattern != pattern_name(Pattern::around)) {
      plan_.pattern = pattern_name(Pattern::boxed_heart);
    }
    Totals& totals = plan_.totals;
    totals = totals_of(plan_.boards, solid_volume_m3(shape_, Bark::off));
    double minutes = book_.minutes();
    for (const Setup& made : plan_.setups) {
      if (on_mill(made.kind)) minutes += mill_.minutes_per_turn;
    }
    totals.hours = minutes / 60.0;
    totals.net = totals.value - totals.hours * mill_.hourly_rate;
  }

  const LogShape& shape_;
  std::vector<Outline> middles_;
  const Mill& mill_;
  WoodMarks marks_;
  CutBook book_;
  SawPlan& plan_ = book_.plan;
  bool square_ends_ = true;
};

}  // namespace

SawPlan emit_plan(const LogLayout& layout, const LogShape& shape, const Order& order,
                  const Mill& mill) {
  return Writer(shape, order, mill).write(layout);
}

}  // namespace kerfwright::saw
