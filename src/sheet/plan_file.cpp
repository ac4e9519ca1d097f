#include "kerfwright/sheet/plan_file.hpp"

#include "json_text.hpp"
#include "order_json.hpp"
#include "setup_kind.hpp"

namespace kerfwright {
namespace {

using json_text::lines;
using json_text::list;
using json_text::member;
using json_text::number;
using json_text::numbers;
using json_text::object;
using json_text::quoted;
using json_text::vector;

std::string mill_text(const Mill& mill) {
  std::vector<std::string> members = {
      member("kerf", number(mill.kerf)),
      member("max_diameter", number(mill.max_diameter)),
      member("max_log_mass", number(mill.max_log_mass)),
      member("max_cut_width", number(mill.max_cut_width)),
      member("bunks", numbers(mill.bunks)),
      member("lowest_cut", number(mill.lowest_cut)),
      member("height_step", number(mill.height_step)),
      member("hourly_rate", number(mill.hourly_rate)),
      member("feed_rate", number(mill.feed_rate)),
      member("minutes_per_cut", number(mill.minutes_per_cut)),
      member("minutes_per_turn", number(mill.minutes_per_turn)),
      member("minutes_per_edging", number(mill.minutes_per_edging)),
      member("minutes_per_cross_cut", number(mill.minutes_per_cross_cut)),
      member("sawing_variation", number(mill.sawing_variation)),
      member("turn_error", number(mill.turn_error)),
      member("lift_error", number(mill.lift_error)),
      member("blade_error", number(mill.blade_error))};
  if (mill.inches) members.push_back(member("scale", quoted("inch")));
  return object(members);
}

std::string board_text(const Board& board) {
  std::vector<std::string> members = {member("id", std::to_string(board.id)),
                                      member("product", quoted(board.product))};
  if (!board.grade.empty()) members.push_back(member("grade", quoted(board.grade)));
  if (board.chance) members.push_back(member("chance", number(*board.chance)));
  for (auto& text : {member("thickness", number(board.thickness)),
                     member("width", number(board.width)), member("length", number(board.length)),
                     member("value", number(board.value)), member("piece", quoted(board.piece)),
                     member("corner", vector(board.corner)), member("along", vector(board.along)),
                     member("across", vector(board.across)), member("up", vector(board.up))}) {
    members.push_back(text);
  }
  return object(members);
}

std::string cut_text(const Cut& cut) {
  return object({member("n", std::to_string(cut.n)), member("setup", std::to_string(cut.setup)),
                 member("piece", quoted(cut.piece)), member("point", vector(cut.point)),
                 member("normal", vector(cut.normal)), member("kerf", number(cut.kerf)),
                 member("above", quoted(cut.above)), member("below", quoted(cut.below))});
}

std::string setup_text(const Setup& setup) {
  std::vector<std::string> members = {
      member("n", std::to_string(setup.n)), member("roll", number(setup.roll)),
      member("lift_butt", number(setup.lift_butt)), member("lift_top", number(setup.lift_top)),
      member("kind", quoted(setup_kind_name(setup.kind)))};
  if (setup.spacer > 0.0) members.push_back(member("spacer", number(setup.spacer)));
  if (setup.part) {
    members.push_back(member("part", quoted(setup.part->piece)));
    members.push_back(member("part_butt", vector(setup.part->butt)));
    members.push_back(member("part_top", vector(setup.part->top)));
  }
  return object(members);
}

std::string totals_text(const Totals& totals) {
  std::vector<std::string> members = {member("value", number(totals.value)),
                                      member("net", number(totals.net))};
  if (totals.bound) members.push_back(member("bound", number(*totals.bound)));
  if (totals.bound_of_ways)
    members.push_back(member("bound_of_ways", number(*totals.bound_of_ways)));
  if (!totals.bound_patterns.empty())
    members.push_back(member("bound_patterns", quoted(totals.bound_patterns)));
  if (totals.bound_lift) members.push_back(member("bound_lift", number(*totals.bound_lift)));
  if (totals.expected) members.push_back(member("expected", number(*totals.expected)));
  if (totals.q10) members.push_back(member("q10", number(*totals.q10)));
  for (auto& text :
       {member("board_m3", number(totals.board_m3)), member("log_m3", number(totals.log_m3)),
        member("yield", number(totals.yield)), member("hours", number(totals.hours))}) {
    members.push_back(text);
  }
  return object(members);
}

template <class Item, class Text>
std::string table(const std::vector<Item>& rows, Text text) {
  std::vector<std::string> texts;
  for (const auto& row : rows) texts.push_back(text(row));
  return lines(texts);
}

std::string chalked_text(const std::map<std::string, std::string>& chalked) {
  std::vector<std::string> rows;
  for (const auto& [piece, letter] : chalked) {
    rows.push_back(object({member("piece", quoted(piece)), member("letter", quoted(letter))}));
  }
  return lines(rows);
}

}  // namespace

std::string plan_to_json(const SawPlan& plan) {
  std::vector<std::string> members = {
      member("format", quoted("kerfwright-plan")) + ", " + member("version", "1"),
      member("shape_sha256", quoted(plan.shape_sha256)),
      member("scan_to_log", json_text::matrix(plan.scan_to_log)),
      member("order", order_json::text_of(plan.order)),
      member("mill", mill_text(plan.mill)),
      member("pattern", quoted(plan.pattern)),
      member("boards", table(plan.boards, board_text)),
      member("cuts", table(plan.cuts, cut_text)),
      member("setups", table(plan.setups, setup_text)),
      member("totals", totals_text(plan.totals)),
  };
  if (plan.done > 0) members.push_back(member("done", std::to_string(plan.done)));
  if (plan.face_height) members.push_back(member("face_height", number(*plan.face_height)));
  if (!plan.chalked.empty()) members.push_back(member("chalked", chalked_text(plan.chalked)));
  return json_text::document(members);
}

}  // namespace kerfwright
