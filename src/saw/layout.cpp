#include <algorithm>
#include <cmath>

#include "around_layout.hpp"
#include "bench.hpp"
#include "blade_reach.hpp"
#include "emit.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

/// What a piece fetches if its wood is clear.
double value_of(const Piece& piece, const Order& order) {
  const Product& product = order.products[static_cast<std::size_t>(piece.product)];
  return clear_value(product, static_cast<std::size_t>(piece.length), piece.width);
}

double value_of(const std::vector<Piece>& pieces, const Order& order) {
  double value = 0.0;
  for (const Piece& piece : pieces) {
    value += value_of(piece, order);
  }
  return value;
}

/// Drops the pieces that are more than is wanted, the least valuable first.
void drop_unwanted(std::vector<Piece>& pieces, const Order& order, const Remaining& remaining) {
  for (std::size_t p = 0; p < remaining.size(); ++p) {
    if (!remaining[p]) continue;
    const auto is_one = [&](const Piece& piece) { return piece.product == static_cast<int>(p); };
    while (std::count_if(pieces.begin(), pieces.end(), is_one) > *remaining[p]) {
      auto least = pieces.end();
      for (auto it = pieces.begin(); it != pieces.end(); ++it) {
        if (!is_one(*it)) continue;
        if (least == pieces.end() || value_of(*it, order) < value_of(*least, order)) least = it;
      }
      pieces.erase(least);
    }
  }
}

/// A flitch that waits for being edged: where it belongs and what it is cut from.
struct Waiting {
  std::size_t item = 0;
  FlitchWood seen;
  Pose pose;
  double worth = 0;
  std::size_t group = 0;  ///< 0 = the log, else the cant
};

/// The best of: all products that are still wanted, less what is too many; the same without each
/// product of which there were too many.
Edging wanted_pieces(const Waiting& flitch, Bench& bench, Catalogues& catalogues,
                     const Remaining& remaining) {
  const Order& order = catalogues.order();
  std::vector<bool> unwanted;
  for (const auto& left : remaining) unwanted.push_back(left && *left <= 0);
  Edging best;
  for (std::size_t round = 0; round <= remaining.size(); ++round) {
    const Catalogue& catalogue = catalogues.without(unwanted);
    Edging edging = bench.edge(catalogue.classes[flitch.item], flitch.seen, flitch.pose, catalogue);
    std::vector<int> counts(remaining.size(), 0);
    for (const Piece& piece : edging.pieces) ++counts[static_cast<std::size_t>(piece.product)];
    drop_unwanted(edging.pieces, order, remaining);
    if (value_of(edging.pieces, order) > value_of(best.pieces, order)) best = std::move(edging);
    bool too_many = false;
    for (std::size_t p = 0; p < counts.size() && !too_many; ++p) {
      if (!remaining[p] || counts[p] <= *remaining[p] || unwanted[p]) continue;
      unwanted[p] = true;
      too_many = true;
    }
    if (!too_many) break;
  }
  return best;
}

/// A cant's faces in the frame of the second setup, and how far its lateral grid lies beside them.
struct Faces {
  std::optional<double> left = {}, right = {};
  double rounding = 0;
};

/// A segment of a flitch with its pieces, in the frame of the log.
FlitchLayout segment_layout(const Edging& edging, std::size_t k, const FlitchWood& seen,
                            const FlitchClass& flitch, const HeightGrid& grid, const Pose& pose) {
  const Segment& segment = edging.segments[k];
  const double lean = segment.wood.lean;
  FlitchLayout layout;
  layout.bottom = grid.height(seen.strip);
  layout.thickness = flitch.thickness;
  layout.lean = lean;
  layout.live_edges = !flitch.slabs.empty();
  for (const Piece& piece : edging.pieces) {
    if (piece.segment != k) continue;
    const double width = layout.live_edges ? piece.width : lane_of(flitch, piece).width;
    // The corner from which a board starts is not always the one nearest to the butt.
    const double nearest = piece.start - 0.5 * (seen.end_loss + width * std::abs(lean)) + 0.01 +
                           std::max(0.0, width * lean);
    const double start = nearest / segment.scale + std::max(0.0, -flitch.thickness * pose.slope);
    const double left = segment.scale * static_cast<double>(piece.left) / units_per_mm;
    layout.pieces.push_back({piece.product, piece.length, left, start, width});
  }
  return layout;
}

/// Where the flitch lies between a cant's faces, lanes that follow them start at the faces, which
/// lie within a unit of where they were taken to be.
FlitchLayout flitch_layout(const Edging& edging, const FlitchWood& seen, const FlitchClass& flitch,
                           const HeightGrid& grid, const Pose& pose, const Faces& face,
                           const std::vector<double>& border) {
  std::vector<FlitchLayout> segments;
  for (std::size_t k = 0; k < edging.segments.size(); ++k) {
    FlitchLayout segment = segment_layout(edging, k, seen, flitch, grid, pose);
    if (segment.pieces.empty()) continue;
    segment.from = border[static_cast<std::size_t>(edging.segments[k].first_cell)];
    if (segment.lean == seen.lean) {
      for (auto& piece : segment.pieces) piece.left += face.rounding;
      segment.face_left = face.left;
      segment.face_right = face.right;
    }
    segments.push_back(std::move(segment));
  }
  if (segments.size() == 1) return segments.front();  // nothing to be cut from
  FlitchLayout layout = segments.front();
  layout.pieces.clear();
  layout.segments = std::move(segments);
  return layout;
}

/// Gathers the flitches of a stack once it lies where it has the most play.
void gather(const Stack& stack, const Wood& wood, const Catalogue& catalogue, const Pose& pose,
            const std::optional<CantClip>& clip, bool may_shift, std::size_t group,
            std::vector<Waiting>& waiting) {
  const Profile profile(wood, pose, catalogue.grid);
  const FlitchWorths worths(wood, catalogue, profile, pose.slope, clip);
  Edger edger(catalogue, wood.border);
  Stack flitches;
  for (const Placed& placed : stack.items) {
    if (placed.item < static_cast<int>(catalogue.classes.size())) flitches.items.push_back(placed);
  }
  constexpr int reach = 15;  // strips
  const auto level_worth = [&](std::size_t item, int bottom) {
    const FlitchClass& flitch = catalogue.classes[item];
    return static_cast<double>(
        static_cast<float>(edger.best(flitch, worths.wood_at(flitch, bottom))));
  };
  int shift = 0;
  if (may_shift && !flitches.items.empty()) {
    std::vector<StackItem> items;
    for (const FlitchClass& flitch : catalogue.classes)
      items.push_back({flitch.strips, flitch.pitch});
    shift = shift_within_reach(blade_reach(wood, catalogue, pose, clip), items, flitches,
                               worths.middle_of_play(flitches, reach, level_worth));
  }
  for (const Placed& placed : flitches.items) {
    const auto item = static_cast<std::size_t>(placed.item);
    const FlitchWood seen = worths.wood_at(catalogue.classes[item], placed.bottom + shift);
    waiting.push_back({item, seen, pose, edger.best(catalogue.classes[item], seen), group});
  }
}

Faces faces_of(const CantPlan& cant, const Pose& first, const HeightGrid& grid) {
  const double cos_slope = std::sqrt(1.0 - first.slope * first.slope);
  const double bottom = grid.height(cant.bottom);
  const double left = -(bottom + cant.size) / cos_slope;
  const CantClip clip = cant_clip(first, bottom, cant.size);
  return {left, -bottom / cos_slope, left - static_cast<double>(clip.left) / units_per_mm};
}

Faces faces_of(const QuarterPlan& quarter, const Catalogue& catalogue) {
  const CantClip clip = quarter_clip(quarter, catalogue);
  Faces faces;
  (quarter.right ? faces.right : faces.left) = quarter.face;
  faces.rounding =
      quarter.face - static_cast<double>(quarter.right ? clip.right : clip.left) / units_per_mm;
  return faces;
}

Faces faces_of(const Lying& lying, const CantClip& clip) {
  const double left = static_cast<double>(clip.left) / units_per_mm;
  const double right = static_cast<double>(clip.right) / units_per_mm;
  return {lying.left, lying.right, lying.left ? *lying.left - left : *lying.right - right};
}

SplitLayout split_layout(const SplitPlan& plan, const std::vector<Faces>& faces,
                         std::size_t first_group) {
  SplitLayout split{plan.first, plan.second_pose, plan.second, {}};
  for (std::size_t q = 0; q < 4; ++q) {
    const QuarterPlan& quarter = plan.quarters[q];
    const Faces& face = faces[first_group + q];
    split.quarters[q] = {quarter.pose, quarter.floor, quarter.lean, face.left, face.right, {}};
  }
  return split;
}

Faces faces_of(const AroundFlitch& flitch, const std::array<Pose, 2>& poses,
               const Catalogue& catalogue) {
  const AroundFaces seen =
      around_faces(poses, flitch.direction, {flitch.lower, flitch.upper}, catalogue);
  Faces faces{seen.left, seen.right, 0.0};
  if (seen.left) {
    faces.rounding = *seen.left - static_cast<double>(seen.clip.left) / units_per_mm;
  } else if (seen.right) {
    faces.rounding = *seen.right - static_cast<double>(seen.clip.right) / units_per_mm;
  }
  return faces;
}

/// Gathers the flitches of a log sawn around, each in a group of its own from `group` on, and adds
/// their faces.
void gather_around(const AroundPlan& plan, const Wood& wood, const Catalogue& catalogue,
                   std::size_t group, std::vector<Waiting>& waiting, std::vector<Faces>& faces) {
  std::vector<Profile> profiles;
  for (const Pose& pose : plan.poses) profiles.emplace_back(wood, pose, catalogue.grid);
  Edger edger(catalogue, wood.border);
  for (const AroundFlitch& flitch : flitches_of(plan)) {
    const auto d = static_cast<std::size_t>(flitch.direction);
    const auto item = static_cast<std::size_t>(flitch.item);
    std::optional<CantClip> clip;
    if (flitch.lower || flitch.upper) {
      clip =
          around_faces(plan.poses, flitch.direction, {flitch.lower, flitch.upper}, catalogue).clip;
    }
    const Pose& pose = plan.poses[d];
    const FlitchWorths worths(wood, catalogue, profiles[d], pose.slope, clip);
    const FlitchWood seen = worths.wood_at(catalogue.classes[item], flitch.bottom);
    const double worth = edger.best(catalogue.classes[item], seen);
    waiting.push_back({item, seen, pose, worth, group++});
    faces.push_back(faces_of(flitch, plan.poses, catalogue));
  }
}

/// What lies on a face or ends at one does so exactly, whatever the grid says.
void settle_on_faces(FlitchLayout& flitch, const Lying& lying) {
  constexpr double near = 0.06;  // mm
  if (lying.floor && std::abs(flitch.bottom - *lying.floor) < near) {
    flitch.bottom = *lying.floor;
  } else if (lying.ceiling && std::abs(*lying.ceiling - flitch.bottom - flitch.thickness) < near) {
    flitch.bottom = *lying.ceiling - flitch.thickness;
  }
  for (FlitchLayout& segment : flitch.segments) segment.bottom = flitch.bottom;
}

/// The flitch on the flat face lies on the face itself, not on the level above it.
void lay_on_floor(FlitchLayout& flitch, double floor, double step) {
  if (flitch.bottom - floor >= step - 1e-9) return;
  flitch.bottom = floor;
  for (FlitchLayout& segment : flitch.segments) segment.bottom = floor;
}

}  // namespace

const Catalogue& Catalogues::without(const std::vector<bool>& unwanted) {
  const auto found = made_.find(unwanted);
  if (found != made_.end()) return found->second;
  Prices prices = prices_;
  for (std::size_t p = 0; p < unwanted.size(); ++p) {
    if (unwanted[p]) std::fill(prices[p].begin(), prices[p].end(), 0.0);
  }
  return made_
      .emplace(unwanted, catalogue_of(order_, mill_, prices, grid_, length_, reach_, thin_cants_))
      .first->second;
}

LogLayout layout_of(const LogPlan& plan, const Wood& wood, Catalogues& catalogues) {
  const Catalogue& catalogue = catalogues.all();
  std::vector<Waiting> waiting;
  // Where some cuts cannot be made, a stack stays at the heights it was found.
  const bool may_shift = !plan.settled && plan.cants.empty() && !plan.lying &&
                         2.0 * wood.reach_over_bark <= catalogue.max_cut_width;
  const auto beside = plan.lying ? clip_of(*plan.lying, catalogue.kerf) : std::nullopt;
  gather(plan.stack, wood, catalogue, plan.pose, beside, may_shift, 0, waiting);
  LogLayout layout;
  layout.pose = plan.pose;
  layout.lying = plan.lying;
  std::vector<Faces> faces(1);
  if (beside) faces.front() = faces_of(*plan.lying, *beside);
  for (const CantPlan& cant : plan.cants) {
    const double bottom = catalogue.grid.height(cant.bottom);
    const CantClip clip = cant_clip(plan.pose, bottom, cant.size);
    faces.push_back(faces_of(cant, plan.pose, catalogue.grid));
    layout.cants.push_back(
        {bottom, cant.size, cant.pose, clip.lean, *faces.back().left, *faces.back().right, {}});
    gather(cant.stack, wood, catalogue, cant.pose, clip,
           !plan.settled && wood.marks->metal().empty(), layout.cants.size(), waiting);
  }
  const std::size_t first_quarter = layout.cants.size() + 1;
  if (plan.split) {
    for (const QuarterPlan& quarter : plan.split->quarters) {
      faces.push_back(faces_of(quarter, catalogue));
      gather(quarter.stack, wood, catalogue, quarter.pose, quarter_clip(quarter, catalogue), false,
             faces.size() - 1, waiting);
    }
    layout.split = split_layout(*plan.split, faces, first_quarter);
  }
  const std::size_t first_around = faces.size();
  std::vector<FlitchLayout> around;
  if (plan.around) {
    gather_around(*plan.around, wood, catalogue, first_around, waiting, faces);
    around.resize(faces.size() - first_around);
  }
  std::stable_sort(waiting.begin(), waiting.end(),
                   [](const Waiting& a, const Waiting& b) { return a.worth > b.worth; });
  Remaining remaining;
  for (const Product& product : catalogues.order().products) {
    remaining.push_back(product.beyond > 0.0 ? std::nullopt : product.wanted);
  }
  Bench bench(wood);
  for (const Waiting& next : waiting) {
    const Edging edging = wanted_pieces(next, bench, catalogues, remaining);
    if (edging.pieces.empty()) continue;
    for (const Piece& piece : edging.pieces) {
      auto& left = remaining[static_cast<std::size_t>(piece.product)];
      if (left) --*left;
    }
    FlitchLayout flitch = flitch_layout(edging, next.seen, catalogue.classes[next.item],
                                        catalogue.grid, next.pose, faces[next.group], wood.border);
    if (next.group == 0) {
      if (plan.lying) settle_on_faces(flitch, *plan.lying);
      layout.flitches.push_back(std::move(flitch));
      continue;
    }
    if (next.group >= first_around) {
      around[next.group - first_around] = std::move(flitch);
      continue;
    }
    if (next.group >= first_quarter) {
      QuarterLayout& quarter = layout.split->quarters[next.group - first_quarter];
      lay_on_floor(flitch, quarter.floor, catalogue.grid.step);
      quarter.flitches.push_back(std::move(flitch));
      continue;
    }
    layout.cants[next.group - 1].flitches.push_back(std::move(flitch));
  }
  if (plan.around) layout.around = around_layout(*plan.around, std::move(around), catalogue);
  std::erase_if(layout.cants, [](const CantLayout& cant) { return cant.flitches.empty(); });
  return layout;
}

}  // namespace kerfwright::saw
