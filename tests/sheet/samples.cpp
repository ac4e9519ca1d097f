#include "samples.hpp"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "kerfwright/shape/section.hpp"

namespace kerfwright::samples {
namespace {

constexpr double kerf = 6.0;

/// The directions of a setup in the log frame: along the bed, to the left of someone at the butt,
/// up.
struct Bed {
  Eigen::Vector3d along, left, up;
};

Bed bed_of(const Setup& setup, double length) {
  const Eigen::Vector3d up = setup_up(setup, length);
  const Eigen::Vector3d along = (Eigen::Vector3d::UnitX() - up.x() * up).normalized();
  return {along, up.cross(along), up};
}

/// Writes down cuts and boards as they are sawn.
class Sawyer {
 public:
  explicit Sawyer(SawPlan& plan) : plan_(plan) {}

  int setup(SetupKind kind, double roll, double lift_butt = 0, double lift_top = 0) {
    const int n = static_cast<int>(plan_.setups.size()) + 1;
    plan_.setups.push_back({n, kind, roll, lift_butt, lift_top});
    return n;
  }

  /// A setup whose cuts are square to a direction of the log.
  int setup_square_to(SetupKind kind, const Eigen::Vector3d& up, double length) {
    const double roll = std::atan2(up.y(), up.z()) * 180.0 / std::numbers::pi;
    const double lift = up.x() * length;
    return setup(kind, roll, std::max(0.0, -lift), std::max(0.0, lift));
  }

  void cut(int in_setup, const std::string& piece, const Eigen::Vector3d& normal, double height,
           const std::string& above, const std::string& below) {
    const int n = static_cast<int>(plan_.cuts.size()) + 1;
    plan_.cuts.push_back({n, in_setup, piece, height * normal, normal, kerf, above, below});
  }

  void board(const Product& product, std::size_t length_index, const std::string& piece,
             const Eigen::Vector3d& corner, const Eigen::Vector3d& along,
             const Eigen::Vector3d& across) {
    const int id = static_cast<int>(plan_.boards.size()) + 1;
    plan_.boards.push_back({id, product.name, product.thickness, product.width,
                            product.lengths[length_index], product.values[length_index], piece,
                            corner, along, across, along.cross(across)});
  }

 private:
  SawPlan& plan_;
};

Product make(const std::string& name, double thickness, double width, std::vector<double> lengths,
             std::vector<double> values) {
  Product product;
  product.name = name;
  product.thickness = thickness;
  product.width = width;
  product.lengths = std::move(lengths);
  product.values = std::move(values);
  return product;
}

std::string numbered(std::string name, int number) { return name += std::to_string(number); }

void add_totals(SawPlan& plan, const LogShape& shape) {
  auto& totals = plan.totals;
  for (const auto& board : plan.boards) {
    totals.value += board.value;
    totals.board_m3 += board.thickness * board.width * board.length * 1e-9;
  }
  totals.net = totals.value;
  totals.log_m3 = solid_volume_m3(shape, Bark::off);
  totals.yield = totals.board_m3 / totals.log_m3;
  totals.hours = 1.25;
}

/// Edges a flitch to one board: two cuts along it, two across.
void edge(Sawyer& sawyer, int edging, int cross, const Bed& bed, const std::string& flitch,
          const Product& product, std::size_t length_index, double left, double start, double low) {
  const double half = kerf / 2;
  const double right = left - product.width;
  const double end = start + product.lengths[length_index];
  sawyer.cut(edging, flitch, bed.left, left + half, flitch + "-edging1", flitch + "-a");
  sawyer.cut(edging, flitch + "-a", bed.left, right - half, flitch + "-b", flitch + "-edging2");
  sawyer.cut(cross, flitch + "-b", bed.along, start - half, flitch + "-c", flitch + "-end1");
  sawyer.cut(cross, flitch + "-c", bed.along, end + half, flitch + "-end2", flitch + "-d");
  sawyer.board(product, length_index, flitch + "-d",
               start * bed.along + right * bed.left + low * bed.up, bed.along, bed.left);
}

}  // namespace

LogShape bowed_log(const LogForm& form) {
  LogShape shape;
  shape.source = {"sample.ply", std::string(64, 'a'), 12345};
  shape.bark = form.bark;
  shape.angles = 64;
  const double turn = form.bow_direction * std::numbers::pi / 180.0;
  const Eigen::Vector2d direction(std::cos(turn), std::sin(turn));
  const int steps = 60;
  for (int i = 0; i <= steps; ++i) {
    const double share = static_cast<double>(i) / steps;
    shape.stations.push_back(form.length * share);
    shape.axis.push_back(4.0 * form.bow * share * (1.0 - share) * direction);
    const double radius = form.butt_radius + share * (form.top_radius - form.butt_radius);
    shape.radius.emplace_back(64, static_cast<float>(radius));
    std::vector<float> sigma(64, 0.8F);
    std::vector<unsigned char> seen(64, 1);
    for (std::size_t j = 38; j < 59; ++j) {  // hidden by the ground
      seen[j] = 0;
      sigma[j] = 4.25F;
    }
    shape.sigma.push_back(std::move(sigma));
    shape.seen.push_back(std::move(seen));
  }
  return shape;
}

LogShape live_log() { return live_log_at(35); }

SawPlan live_plan() { return live_plan_at(35); }

// Bows to the left of the saw at that turn.
LogShape live_log_at(double roll) { return bowed_log({3000, 160, 160, 8, 40, -roll}); }

SawPlan live_plan_at(double roll) {
  SawPlan plan;
  plan.pattern = "live";
  plan.shape_sha256 = std::string(64, 'b');
  plan.order.currency = "EUR";
  plan.order.products = {make("plank", 50, 200, {1200, 2400}, {7, 18.5}),
                         make("rail", 50, 120, {3000}, {12.25})};
  const LogShape shape = live_log_at(roll);
  Sawyer sawyer(plan);
  const int mill = sawyer.setup(SetupKind::log, roll);
  const Bed bed = bed_of(plan.setups[0], shape.length());
  sawyer.cut(mill, "log", bed.up, 84, "slab1", "body1");
  sawyer.cut(mill, "body1", bed.up, 28, "f1", "body2");
  sawyer.cut(mill, "body2", bed.up, -28, "f2", "body3");
  sawyer.cut(mill, "body3", bed.up, -84, "f3", "slab2");
  const int edging = sawyer.setup_square_to(SetupKind::edging, bed.left, shape.length());
  const int cross = sawyer.setup_square_to(SetupKind::cross_cut, bed.along, shape.length());
  const auto& plank = plan.order.products[0];
  const auto& rail = plan.order.products[1];
  edge(sawyer, edging, cross, bed, "f1", plank, 1, 127, 300, 31);
  sawyer.cut(edging, "f2", bed.left, 146, "f2-edging1", "f2-a");
  sawyer.cut(edging, "f2-a", bed.left, 20, "b2", "f2-b");
  sawyer.cut(edging, "f2-b", bed.left, -106, "b3", "f2-edging2");
  sawyer.board(rail, 0, "b2", 23 * bed.left - 25 * bed.up, bed.along, bed.left);
  sawyer.board(rail, 0, "b3", -103 * bed.left - 25 * bed.up, bed.along, bed.left);
  edge(sawyer, edging, cross, bed, "f3", plank, 0, 130, 900, -81);
  add_totals(plan, shape);
  return plan;
}

LogShape thin_log() { return bowed_log({3600, 230, 200, 10, 25, 40}); }

SawPlan thin_plan(int flitches) {
  SawPlan plan;
  plan.pattern = "live";
  plan.shape_sha256 = std::string(64, 'd');
  const double thickness = 360.0 / flitches - kerf;
  plan.order.products = {make("lath", thickness, 60, {900}, {1.25})};
  const LogShape shape = thin_log();
  Sawyer sawyer(plan);
  const int mill = sawyer.setup(SetupKind::log, 300);
  const Bed bed = bed_of(plan.setups[0], shape.length());
  const int edging = sawyer.setup_square_to(SetupKind::edging, bed.left, shape.length());
  const int cross = sawyer.setup_square_to(SetupKind::cross_cut, bed.along, shape.length());
  double plane = 180;
  std::string body = "log";
  for (int i = 0; i <= flitches; ++i, plane -= thickness + kerf) {
    const std::string name = i == 0 ? "slab" : numbered("f", i);
    sawyer.cut(mill, body, bed.up, plane, name, numbered("body", i));
    body = numbered("body", i);
  }
  plane = 180;
  for (int i = 1; i <= flitches; ++i, plane -= thickness + kerf) {
    const std::string name = numbered("f", i);
    const double low = plane - kerf / 2 - thickness;
    sawyer.cut(edging, name, bed.left, 43, name + "-edging1", name + "-lane");
    sawyer.cut(edging, name + "-lane", bed.left, -23, name + "-strip", name + "-edging2");
    std::string rest = name + "-strip";
    for (int k = 0; k < 3; ++k) {
      const double start = 100 + k * (900 + kerf);
      const std::string board = numbered(name + "-b", k);
      if (k == 0) {
        sawyer.cut(cross, rest, bed.along, start - kerf / 2, rest + "x", name + "-end");
        rest += "x";
      }
      sawyer.cut(cross, rest, bed.along, start + 900 + kerf / 2, rest + "x", board);
      rest += "x";
      sawyer.board(plan.order.products[0], 0, board,
                   start * bed.along - 20 * bed.left + low * bed.up, bed.along, bed.left);
    }
  }
  add_totals(plan, shape);
  return plan;
}

LogShape cant_log() { return bowed_log({2500, 170, 150, 6, 15, 200}); }

SawPlan cant_plan() {
  SawPlan plan;
  plan.pattern = "cant";
  plan.shape_sha256 = std::string(64, 'c');
  plan.order.currency = "EUR";
  plan.order.products = {make("side board", 27, 120, {1500, 2000}, {3.5, 5.5}),
                         make("joist", 50, 150, {2400}, {16})};
  const LogShape shape = cant_log();
  Sawyer sawyer(plan);
  const int first = sawyer.setup(SetupKind::log, 20, 0, 8);
  const int second = sawyer.setup(SetupKind::log, 200, 8, 0);
  const int third = sawyer.setup(SetupKind::cant, 110);
  const Bed bed = bed_of(plan.setups[0], shape.length());
  const Bed back = bed_of(plan.setups[1], shape.length());
  const Eigen::Vector3d side = setup_up(plan.setups[2], shape.length());
  const Bed lying{side.cross(bed.up).dot(bed.along) > 0 ? Eigen::Vector3d(side.cross(bed.up))
                                                        : Eigen::Vector3d(-side.cross(bed.up)),
                  side, bed.up};
  sawyer.cut(first, "log", bed.up, 111, "slab1", "body1");
  sawyer.cut(first, "body1", bed.up, 78, "f1", "body2");
  sawyer.cut(second, "body2", back.up, 111, "slab2", "body3");
  sawyer.cut(second, "body3", back.up, 78, "f2", "cant");
  sawyer.cut(third, "cant", side, 112, "slab3", "cant2");
  sawyer.cut(third, "cant2", side, 56, "c1", "cant3");
  sawyer.cut(third, "cant3", side, 0, "c2", "cant4");
  sawyer.cut(third, "cant4", side, -56, "c3", "cant5");
  sawyer.cut(third, "cant5", side, -112, "c4", "slab4");
  const int edging = sawyer.setup_square_to(SetupKind::edging, bed.left, shape.length());
  const int cross = sawyer.setup_square_to(SetupKind::cross_cut, bed.along, shape.length());
  const int edging_back = sawyer.setup_square_to(SetupKind::edging, back.left, shape.length());
  const int cross_back = sawyer.setup_square_to(SetupKind::cross_cut, back.along, shape.length());
  const auto& side_board = plan.order.products[0];
  const auto& joist = plan.order.products[1];
  edge(sawyer, edging, cross, bed, "f1", side_board, 1, 60, 100, 81);
  edge(sawyer, edging_back, cross_back, back, "f2", side_board, 0, 60, 100, 81);
  double low = 59;
  for (const std::string name : {"c1", "c2", "c3", "c4"}) {
    sawyer.cut(cross, name, lying.along, 47, name + "-a", name + "-end1");
    sawyer.cut(cross, name + "-a", lying.along, 2453, name + "-end2", name + "-b");
    const Eigen::Vector3d up = lying.along.cross(lying.up);
    sawyer.board(joist, 0, name + "-b",
                 50 * lying.along - 75 * lying.up + (up.dot(side) > 0 ? low : low + 50) * side,
                 lying.along, lying.up);
    low -= 56;
  }
  add_totals(plan, shape);
  return plan;
}

}  // namespace kerfwright::samples
