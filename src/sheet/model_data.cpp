#include <algorithm>
#include <cmath>
#include <map>

#include "board_fits.hpp"
#include "json_text.hpp"
#include "kerfwright/saw/live_edge.hpp"
#include "kerfwright/shape/section.hpp"
#include "look.hpp"
#include "model_part.hpp"
#include "stage_words.hpp"

namespace kerfwright::sheet {
namespace {

namespace write = json_text;
using Eigen::Vector3d;

constexpr std::size_t most_rings = 48;   // thinned: a telephone draws every piece with them
constexpr std::size_t most_angles = 64;  // round a section
constexpr double slab_rings = 40.0;      // mm between sections of a slab with live edges

/// Whole millimetres, x y z x y z …
std::string points(const std::vector<Vector3d>& all) {
  std::string text = "[";
  for (const Vector3d& p : all) {
    for (int i = 0; i < 3; ++i) {
      if (text.size() > 1) text += ',';
      text += look::rounded(p[i]);
    }
  }
  return text + "]";
}

/// Every so many of `count` indices, the last among them.
std::vector<std::size_t> thinned(std::size_t count, std::size_t most) {
  const std::size_t step = std::max<std::size_t>(1, (count + most - 1) / most);
  std::vector<std::size_t> kept;
  for (std::size_t i = 0; i < count; i += step) kept.push_back(i);
  if (kept.back() + 1 != count) kept.push_back(count - 1);
  return kept;
}

std::string surface(const LogShape& shape) {
  const auto rings = thinned(shape.stations.size(), most_rings);
  const auto count = static_cast<std::size_t>(shape.angles);
  const std::size_t step = std::max<std::size_t>(1, (count + most_angles - 1) / most_angles);
  std::vector<Vector3d> all;
  for (const std::size_t i : rings) {
    const Outline outline = section_outline(shape, i, Bark::on);
    for (std::size_t j = 0; j < count; j += step) {
      all.emplace_back(shape.stations[i], outline[j].x(), outline[j].y());
    }
  }
  return write::object(
      {write::member("rings", std::to_string(rings.size())), write::member("points", points(all))});
}

/// A face along the log as pairs of edge points from butt to top.
std::vector<Vector3d> strip(const LogShape& shape, const Cut& cut) {
  std::vector<Vector3d> pairs;
  for (const std::size_t i : thinned(shape.stations.size(), most_rings)) {
    const double x = shape.stations[i];
    const auto span = span_on_line(section_outline(shape, i, Bark::on), cut.normal.tail<2>(),
                                   cut.normal.dot(cut.point) - cut.normal.x() * x);
    if (!span) continue;
    pairs.emplace_back(x, span->from.x(), span->from.y());
    pairs.emplace_back(x, span->to.x(), span->to.y());
  }
  return pairs;
}

/// A face across the log as pairs, too: of the outline's left half and its right half.
std::vector<Vector3d> slice(const LogShape& shape, const Cut& cut) {
  const double x = cut.normal.dot(cut.point) / cut.normal.x();
  const Outline outline = section_outline_at(shape, std::clamp(x, 0.0, shape.length()), Bark::on);
  std::vector<Vector3d> pairs;
  const auto on_plane = [&](const Eigen::Vector2d& yz) {
    const double along =
        (cut.normal.dot(cut.point) - cut.normal.tail<2>().dot(yz)) / cut.normal.x();
    return Vector3d(along, yz.x(), yz.y());
  };
  for (std::size_t j = 0; 2 * j < outline.size(); j += 2) {
    pairs.push_back(on_plane(outline[j]));
    pairs.push_back(on_plane(outline[outline.size() - 1 - j]));
  }
  return pairs;
}

std::string what_comes_off(const Steps& steps, int n) {
  for (std::size_t i = 0; i < steps.groups.size(); ++i) {
    for (const MillCut& cut : steps.steps.stages[i].cuts) {
      if (cut.n != n) continue;
      if (steps.groups[i].crosswise) return "the log is cut to length";
      return "off comes " + part_words(cut.off, steps.steps);
    }
  }
  return "edging or cross-cut";
}

std::string cut_item(const Steps& steps, const LogShape& shape, const Cut& cut) {
  const bool lengthwise = std::abs(cut.normal.x()) < 0.7;
  return write::object(
      {write::member("n", std::to_string(cut.n)), write::member("setup", std::to_string(cut.setup)),
       write::member("piece", write::quoted(cut.piece)),
       write::member("above", write::quoted(cut.above)),
       write::member("below", write::quoted(cut.below)),
       write::member("words", write::quoted(what_comes_off(steps, cut.n))),
       write::member("mill", is_mill_cut(steps.told->sawn, cut) ? "true" : "false"),
       write::member("normal", write::vector(cut.normal)),
       write::member("offset", look::rounded(cut.normal.dot(cut.point), 1)),
       write::member("face", points(lengthwise ? strip(shape, cut) : slice(shape, cut)))});
}

/// A slab with live edges as the log has it: four corners of each section, round it.
std::vector<Vector3d> slab_sections(const Board& board, const LogShape& shape) {
  std::vector<Vector3d> all;
  const int count = std::clamp(static_cast<int>(board.length / slab_rings), 1, 60);
  for (int i = 0; i <= count; ++i) {
    const auto corners = live_corners(board, shape, board.length * i / count);
    all.insert(all.end(), corners.begin(), corners.end());
  }
  return all;
}

std::string board_item(const Board& board, const std::string& letter, int product,
                       const SawPlan& plan, const LogShape& shape) {
  const std::string words =
      look::board_title(board, plan) + (letter.empty() ? "" : ", flitch " + letter);
  std::vector<std::string> members = {write::member("id", std::to_string(board.id)),
                                      write::member("piece", write::quoted(board.piece)),
                                      write::member("product", std::to_string(product)),
                                      write::member("words", write::quoted("Board " + words)),
                                      write::member("corners", points(corners(board)))};
  if (is_slab(board, plan.order)) {
    members.push_back(write::member("sections", points(slab_sections(board, shape))));
  }
  return write::object(members);
}

/// JSON inside a script element: nothing in it may end the element.
std::string without_tags(std::string text) {
  for (std::size_t at = 0; (at = text.find('<', at)) != std::string::npos;) {
    text.replace(at, 1, "\\u003c");
  }
  return text;
}

}  // namespace

std::string model_data(const Steps& steps, const LogShape& shape) {
  const SawPlan& plan = steps.told->sawn;
  std::vector<std::string> cuts;
  for (const Cut& cut : plan.cuts) cuts.push_back(cut_item(steps, shape, cut));
  std::map<const Board*, std::string> letters;
  for (const Flitch& flitch : steps.flitches) {
    for (const Board* board : flitch.boards) letters[board] = flitch.letter;
  }
  const Vector3d up = setup_up(main_setup(plan), shape.length());
  const auto hatches = look::hatches(plan);
  std::vector<std::string> boards;
  for (const Board& board : plan.boards) {
    boards.push_back(board_item(board, letters[&board], hatches.at(board.product), plan, shape));
  }
  return without_tags(write::document(
      {write::member("length", look::rounded(shape.length())),
       write::member("up", write::vector(up)), write::member("surface", surface(shape)),
       write::member("cuts", write::lines(cuts)), write::member("boards", write::lines(boards))}));
}

}  // namespace kerfwright::sheet
