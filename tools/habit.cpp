#include "habit.hpp"

#include <cmath>
#include <numbers>

#include "emit.hpp"
#include "flitch_worths.hpp"
#include "frame.hpp"
#include "planner.hpp"
#include "pose_search.hpp"
#include "worth.hpp"

namespace kerfwright {
namespace {

using namespace saw;

/// The turn that brings the side to which the log bows up.
Pose sweep_up(const LogShape& shape) {
  Eigen::Vector2d bow(0.0, 1.0);
  double most = 0.0;
  for (const auto& centre : shape.axis) {
    if (centre.norm() <= most) continue;
    most = centre.norm();
    bow = centre;
  }
  Pose best;
  double highest = -1e9;
  for (int degree = 0; degree < 360; ++degree) {
    const Pose pose{degree * std::numbers::pi / 180.0, 0.0};
    const double height = Frame(pose).up.tail<2>().dot(bow);
    if (height <= highest) continue;
    highest = height;
    best = pose;
  }
  return best;
}

/// Takes board under board from a level down, or on a level up, without ever looking ahead.
class Greedy {
 public:
  Greedy(const Wood& wood, const Catalogue& catalogue, const Pose& pose,
         const std::optional<CantClip>& clip)
      : catalogue_(catalogue),
        profile_(wood, pose, catalogue.grid),
        worths_(wood, catalogue, profile_, pose.slope, clip),
        edger_(catalogue, wood.border) {}

  int first() const { return profile_.first_strip(); }
  int last() const { return profile_.last_strip(); }

  /// Boards between two levels, from the upper one down.
  Stack down(int upper, int lower) {
    Stack stack;
    int top = std::min(upper, last() + 1);
    while (top > std::max(lower, first())) {
      const auto [item, worth] = best_at([&](int strips) { return top - strips; }, lower);
      if (item < 0) {
        --top;
        continue;
      }
      const int bottom = top - strips_of(item);
      stack.items.insert(stack.items.begin(), {item, bottom});
      stack.worth += worth;
      top = bottom - catalogue_.kerf_strips;
    }
    return stack;
  }

  /// From a level up, each on the one before; ends where the next fetches nothing.
  Stack up(int from) {
    Stack stack;
    for (int bottom = std::max(from, first()); bottom <= last();) {
      const auto [item, worth] = best_at([&](int) { return bottom; }, bottom);
      if (item < 0) break;
      stack.items.push_back({item, bottom});
      stack.worth += worth;
      bottom += strips_of(item) + catalogue_.kerf_strips;
    }
    return stack;
  }

  /// The same from a level down.
  Stack outwards_below(int upper) {
    Stack stack;
    for (int top = upper; top > first();) {
      const auto [item, worth] = best_at([&](int strips) { return top - strips; }, first());
      if (item < 0) break;
      const int bottom = top - strips_of(item);
      stack.items.insert(stack.items.begin(), {item, bottom});
      stack.worth += worth;
      top = bottom - catalogue_.kerf_strips;
    }
    return stack;
  }

 private:
  int strips_of(int item) const {
    return catalogue_.classes[static_cast<std::size_t>(item)].strips;
  }

  /// The class that fetches most for the height it takes; -1 where none fetches anything.
  template <class BottomOf>
  std::pair<int, double> best_at(BottomOf bottom_of, int lower) {
    int best = -1;
    double most = 0.0;
    double worth_of_best = 0.0;
    for (std::size_t k = 0; k < catalogue_.classes.size(); ++k) {
      const FlitchClass& flitch = catalogue_.classes[k];
      const int bottom = bottom_of(flitch.strips);
      if (bottom < std::max(lower, first()) || bottom + flitch.strips - 1 > last()) continue;
      const double worth = edger_.best(flitch, worths_.wood_at(flitch, bottom));
      if (worth / flitch.pitch <= most) continue;
      most = worth / flitch.pitch;
      best = static_cast<int>(k);
      worth_of_best = worth;
    }
    return {best, worth_of_best};
  }

  const Catalogue& catalogue_;
  Profile profile_;
  FlitchWorths worths_;
  Edger edger_;
};

void append(Stack& stack, const Stack& more) {
  stack.worth += more.worth;
  stack.items.insert(stack.items.end(), more.items.begin(), more.items.end());
}

LogPlan centred_cant(const Wood& wood, const Catalogue& catalogue, const Pose& pose, double size) {
  LogPlan plan;
  plan.pose = pose;
  Greedy outside(wood, catalogue, pose, std::nullopt);
  const int strips = catalogue.grid.strips(size);
  const int bottom = (outside.first() + outside.last() + 1 - strips) / 2;
  plan.stack = outside.outwards_below(bottom - catalogue.kerf_strips);
  CantPlan cant;
  cant.size = size;
  cant.bottom = bottom;
  cant.pose = quarter_turn(pose, 0.0);
  Greedy inside(wood, catalogue, cant.pose, cant_clip(pose, catalogue.grid.height(bottom), size));
  cant.stack = inside.down(inside.last() + 1, inside.first());
  cant.worth = cant.stack.worth;
  plan.stack.items.push_back({static_cast<int>(catalogue.classes.size()), bottom});
  plan.stack.worth += cant.worth;
  append(plan.stack, outside.up(bottom + strips + catalogue.kerf_strips));
  plan.cants.push_back(std::move(cant));
  plan.worth = plan.stack.worth;
  return plan;
}

}  // namespace

SawPlan sawn_by_habit(const LogShape& shape, const Order& order, const Mill& mill) {
  const Wood wood = wood_of(shape, 1.0, 0.15);
  Catalogues catalogues(order, mill, prices_of(order, mill), grid_of(wood, order, mill, 0.0),
                        wood.length(), wood.reach());
  const Catalogue& catalogue = catalogues.all();
  const Pose pose = sweep_up(shape);
  Greedy whole(wood, catalogue, pose, std::nullopt);
  LogPlan best;
  best.pose = pose;
  best.stack = whole.down(whole.last() + 1, whole.first());
  best.worth = best.stack.worth;
  for (const double size : catalogue.cant_sizes) {
    LogPlan plan = centred_cant(wood, catalogue, pose, size);
    if (plan.worth > best.worth) best = std::move(plan);
  }
  return emit_plan(layout_of(best, wood, catalogues), shape, order, mill);
}

}  // namespace kerfwright
