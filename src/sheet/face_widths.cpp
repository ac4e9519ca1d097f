#include "kerfwright/sheet/face_widths.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "kerfwright/error.hpp"
#include "lengths.hpp"
#include "saw_steps.hpp"

namespace kerfwright {
namespace {

using namespace sheet;

constexpr std::array<const char*, 3> names = {"butt", "middle", "top"};
constexpr double most_off = 0.5;      // share of a width beyond which the tape read another face
constexpr double always_taken = 40;   // mm of difference that never count as absurd
constexpr double fades = 45;          // degrees above the face over which a change fades
constexpr int rounds = 8;             // of making the model's face as wide as the tape says
constexpr double exact = 0.05;        // mm that the model may then be off
constexpr double least_radius = 5.0;  // mm

const MillCut* cut_in(const SawSteps& steps, int n, const Stage*& stage) {
  for (const Stage& each : steps.stages) {
    for (const MillCut& cut : each.cuts) {
      if (cut.n != n) continue;
      stage = &each;
      return &cut;
    }
  }
  return nullptr;
}

/// The line of a face in a section of its piece.
struct FaceLine {
  std::vector<Side> ancestry;
  Eigen::Vector3d up;
  double height = 0;  ///< mm, of the face, log frame

  std::optional<Span> at(const LogShape& shape, double x) const {
    const Polygon piece = piece_section(shape, x, Bark::off, ancestry);
    return span_on_line(piece, up.tail<2>(), height - up.x() * x);
  }
};

double angle_of(const Eigen::Vector2d& arm) {
  const double angle = std::atan2(arm.y(), arm.x()) * 180.0 / std::numbers::pi;
  return angle < 0.0 ? angle + 360.0 : angle;
}

/// Degrees between two directions, 0 to 180.
double apart(double a, double b) {
  const double way = std::abs(a - b);
  return std::min(way, 360.0 - way);
}

/// An edge of the face as seen from the axis.
struct Edge {
  double angle = 0;   ///< degrees
  double radial = 0;  ///< mm that the surface moves for a mm of the edge along the face
};

Edge edge_of(const Eigen::Vector2d& point, const Eigen::Vector2d& outwards,
             const Eigen::Vector2d& centre) {
  const Eigen::Vector2d arm = point - centre;
  return {angle_of(arm), std::max(0.0, arm.normalized().dot(outwards))};
}

/// Piecewise linear through three places, level beyond them.
double between(const std::array<double, 3>& places, const FaceWidths& values, double x) {
  if (x <= places[0]) return values[0];
  for (std::size_t i = 0; i + 1 < 3; ++i) {
    if (x > places[i + 1]) continue;
    const double share = (x - places[i]) / std::max(1.0, places[i + 1] - places[i]);
    return values[i] + share * (values[i + 1] - values[i]);
  }
  return values[2];
}

/// Moves the surface at one station so that each edge of the face moves by `by` mm.
void move_station(LogShape& shape, std::size_t i, const FaceLine& line, double by) {
  const double x = shape.stations[i];
  const auto span = line.at(shape, x);
  if (!span || (span->to - span->from).norm() < 1.0) return;
  const Eigen::Vector2d along = (span->to - span->from).normalized();
  const Edge to = edge_of(span->to, along, shape.axis[i]);
  const Edge from = edge_of(span->from, -along, shape.axis[i]);
  const Eigen::Vector2d up = line.up.tail<2>().normalized();
  const double face = (span->from - shape.axis[i]).dot(up);
  for (std::size_t j = 0; j < shape.radius[i].size(); ++j) {
    const double angle = 360.0 * static_cast<double>(j) / shape.angles;
    const double radians = angle * std::numbers::pi / 180.0;
    const Eigen::Vector2d arm = static_cast<double>(shape.radius[i][j]) *
                                Eigen::Vector2d(std::cos(radians), std::sin(radians));
    const double to_edge = apart(angle, to.angle);
    const double from_edge = apart(angle, from.angle);
    const double share = from_edge / std::max(1e-9, to_edge + from_edge);
    double radial = by * (share * to.radial + (1.0 - share) * from.radial);
    if (arm.dot(up) > face) {
      radial *= std::max(0.0, 1.0 - std::min(to_edge, from_edge) / fades);
    }
    shape.radius[i][j] = static_cast<float>(
        std::max(least_radius, static_cast<double>(shape.radius[i][j]) + radial));
  }
}

double width_at(const LogShape& shape, const FaceLine& line, double x) {
  const auto span = line.at(shape, x);
  return span ? (span->to - span->from).norm() : 0.0;
}

void refuse_absurd(const MillCut& cut, const FaceWidths& measured, const Lengths& lengths) {
  for (std::size_t i = 0; i < 3; ++i) {
    const double model = cut.face[i].width.value_or(0.0);
    const double off = std::abs(measured[i] - model);
    if (off <= std::max(always_taken, most_off * model)) continue;
    throw UserError(Fault::usage, "The face of cut " + std::to_string(cut.n) + " should be " +
                                      lengths.text(model) + " wide at the " + names[i] + ", and " +
                                      lengths.text(measured[i]) +
                                      " was given: that is another face, end or unit; measure "
                                      "again, without bark, from butt to top, and write " +
                                      (lengths.inches() ? "the unit, as in \"8 3/8 in\"." : "mm."));
  }
}

std::string told(const MillCut& cut, const FaceWidths& measured, const Lengths& lengths) {
  std::string text;
  for (std::size_t i = 0; i < 3; ++i) {
    text += std::string(i == 0 ? "" : ", ") + names[i] + " " + lengths.text(measured[i]) + " for " +
            lengths.text(cut.face[i].width.value_or(0.0)) + " (±" +
            lengths.text(cut.face[i].within) + ")";
  }
  return text;
}

}  // namespace

MeasuredFace take_face_widths(const SawPlan& plan, const LogShape& shape, int n,
                              const FaceWidths& measured) {
  const Steps steps = told_stages(plan, shape);
  const Stage* stage = nullptr;
  const MillCut* cut = cut_in(steps.steps, n, stage);
  if (cut == nullptr || stage->kind == SetupKind::cross_cut) {
    throw UserError(Fault::usage, "Cut " + std::to_string(n) +
                                      " makes no face on the mill: measure the face of a cut "
                                      "along the log, and give that cut's number.");
  }
  const Lengths lengths(plan.mill);
  refuse_absurd(*cut, measured, lengths);
  MeasuredFace result{shape, true, {}};
  for (std::size_t i = 0; i < 3; ++i) {
    const double off = std::abs(measured[i] - cut->face[i].width.value_or(0.0));
    result.agrees = result.agrees && off <= cut->face[i].within;
  }
  const std::string head =
      "The face of cut " + std::to_string(n) + ": " + told(*cut, measured, lengths);
  if (result.agrees) {
    result.sentence = head + "; that is as near as the model can be, so the log was left as it is.";
    return result;
  }
  const std::size_t group = static_cast<std::size_t>(stage - steps.steps.stages.data());
  const auto sawn = std::find_if(steps.told->sawn.cuts.begin(), steps.told->sawn.cuts.end(),
                                 [&](const Cut& each) { return each.n == n; });
  FaceLine line;
  line.up = told_up(shape, steps.groups[group], *steps.told);
  line.height = line.up.dot(sawn->point) - sawn->kerf / 2;
  const auto ancestry = steps.told->tree.ancestry(sawn->piece);
  line.ancestry = lengthwise(ancestry);
  const Reach reach = reach_of(shape, ancestry);
  std::array<double, 3> places{};
  for (std::size_t i = 0; i < 3; ++i) places[i] = reach.from + cut->face[i].place;
  for (int round = 0; round < rounds; ++round) {
    FaceWidths off{};
    double worst = 0.0;
    for (std::size_t i = 0; i < 3; ++i) {
      const double model = width_at(result.shape, line, places[i]);
      // Where there is no face there is no edge to move.
      off[i] = model > 1.0 ? measured[i] - model : 0.0;
      worst = std::max(worst, std::abs(off[i]));
    }
    if (worst < exact) break;
    for (std::size_t i = 0; i < shape.stations.size(); ++i) {
      const double x = shape.stations[i];
      if (x < reach.from || x > reach.to) continue;
      move_station(result.shape, i, line, between(places, off, x) / 2.0);
    }
  }
  result.sentence = head +
                    "; the log below that face was made narrower or wider by the difference, "
                    "half of it on each edge.";
  return result;
}

}  // namespace kerfwright
