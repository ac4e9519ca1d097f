#include "marks_json.hpp"

#include <cmath>

#include "json_text.hpp"

namespace kerfwright::sheet {
namespace {

namespace write = json_text;
namespace read = json_read;
using write::member;

constexpr double farthest = 1e6;  // mm
constexpr std::size_t most_of_a_kind = 10'000;

std::string pair_text(const Eigen::Vector2d& yz) {
  return write::list({write::number(yz.x()), write::number(yz.y())});
}

std::string flag_text(bool flag) { return flag ? "true" : "false"; }

std::string text_of(const Core& core) {
  return write::object({member("radius_butt", write::number(core.radius_butt)),
                        member("radius_top", write::number(core.radius_top))});
}

std::string text_of(const Metal& metal) {
  return write::object(
      {member("place", write::vector(metal.place)), member("reach", write::number(metal.reach))});
}

std::string text_of(const Split& split) {
  return write::object({member("end", write::quoted(split.from_butt ? "butt" : "top")),
                        member("depth", write::number(split.depth)),
                        member("direction", pair_text(split.direction)),
                        member("through", flag_text(split.through))});
}

std::string text_of(const Knot& knot) {
  return write::object({member("at_bark", write::vector(knot.at_bark)),
                        member("at_pith", write::vector(knot.at_pith)),
                        member("diameter", write::number(knot.diameter)),
                        member("sound", flag_text(knot.sound))});
}

std::string text_of(const FigureZone& zone) {
  return write::object(
      {member("name", write::quoted(zone.name)), member("from", write::number(zone.from)),
       member("to", write::number(zone.to)), member("clock_from", write::number(zone.clock_from)),
       member("clock_to", write::number(zone.clock_to)),
       member("depth", write::number(zone.depth))});
}

template <class Mark>
void add(std::vector<std::string>& members, const char* key, const std::vector<Mark>& marks) {
  if (marks.empty()) return;
  std::vector<std::string> items;
  for (const Mark& mark : marks) items.push_back(text_of(mark));
  members.push_back(member(key, write::list(items)));
}

double size_at(const read::Node& node, const char* key) {
  return read::number(read::member(node, key), 0.0, farthest);
}

Eigen::Vector2d pair_at(const read::Node& node, const char* key) {
  const auto yz = read::numbers(read::member(node, key), 2, 2, -farthest, farthest);
  return {yz[0], yz[1]};
}

Core read_core(const read::Node& node) {
  return {size_at(node, "radius_butt"), size_at(node, "radius_top")};
}

Metal read_metal(const read::Node& node) {
  return {read::vector(read::member(node, "place"), farthest), size_at(node, "reach")};
}

Split read_split(const read::Node& node) {
  const std::string end = read::text(read::member(node, "end"));
  if (end != "butt" && end != "top") {
    read::reject(*node.reading, "\"" + node.place + ".end\" is neither \"butt\" nor \"top\"");
  }
  const Eigen::Vector2d direction = pair_at(node, "direction");
  if (std::abs(direction.norm() - 1.0) > 1e-6) {
    read::reject(*node.reading, "\"" + node.place + ".direction\" is not of length 1");
  }
  return {end == "butt", size_at(node, "depth"), direction,
          read::flag(read::member(node, "through"))};
}

Knot read_knot(const read::Node& node) {
  return {read::vector(read::member(node, "at_bark"), farthest),
          read::vector(read::member(node, "at_pith"), farthest), size_at(node, "diameter"),
          read::flag(read::member(node, "sound"))};
}

FigureZone read_figure(const read::Node& node) {
  const auto hours = [&](const char* key) {
    return read::number(read::member(node, key), 0.0, 12.0);
  };
  return {read::text(read::member(node, "name")),
          size_at(node, "from"),
          size_at(node, "to"),
          hours("clock_from"),
          hours("clock_to"),
          size_at(node, "depth")};
}

template <class Read>
auto read_all(const read::Node& node, const char* key, Read read_one) {
  std::vector<decltype(read_one(node))> marks;
  if (!read::has(node, key)) return marks;
  for (const auto& item : read::items(read::member(node, key), 0, most_of_a_kind)) {
    marks.push_back(read_one(item));
  }
  return marks;
}

}  // namespace

std::string marks_text(const Marks& marks) {
  std::vector<std::string> members;
  if (marks.pith) {
    members.push_back(member("pith", write::object({member("butt", pair_text(marks.pith->butt)),
                                                    member("top", pair_text(marks.pith->top))})));
  }
  add(members, "rot", marks.rot);
  add(members, "hollow", marks.hollow);
  add(members, "metal", marks.metal);
  add(members, "splits", marks.splits);
  add(members, "knots", marks.knots);
  add(members, "figure", marks.figure);
  return write::object(members);
}

Marks read_marks(const read::Node& node) {
  Marks marks;
  if (!node.value->is_object()) read::reject(*node.reading, "\"marks\" is not an object");
  if (read::has(node, "pith")) {
    const auto pith = read::member(node, "pith");
    marks.pith = Pith{pair_at(pith, "butt"), pair_at(pith, "top")};
  }
  marks.rot = read_all(node, "rot", read_core);
  marks.hollow = read_all(node, "hollow", read_core);
  marks.metal = read_all(node, "metal", read_metal);
  marks.splits = read_all(node, "splits", read_split);
  marks.knots = read_all(node, "knots", read_knot);
  marks.figure = read_all(node, "figure", read_figure);
  return marks;
}

}  // namespace kerfwright::sheet
