#include "look.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "board_fits.hpp"
#include "lengths.hpp"

namespace kerfwright::sheet::look {
namespace {

/// A hatch repeats in a square tile that is turned; tints differ in hue and stay light, so that the
/// lines and the numbers carry the meaning.
struct Hatch {
  double tile;  // mm
  double turn;  // degrees
  std::string_view tint;
  std::string_view lines;  // path of the tile
  bool dashed;
};

constexpr std::array<Hatch, 8> hatch_table = {{
    {1.5, 45, "#dbe9f6", "M0 .75H1.5", false},
    {1.5, -45, "#fdebc8", "M0 .75H1.5", false},
    {1.6, 0, "#d5efe2", "M0 .8H1.6", false},
    {1.6, 90, "#f8dfd2", "M0 .8H1.6", false},
    {1.8, 45, "#ece4f4", "M0 .9H1.8M.9 0V1.8", false},
    {2.4, 45, "#f3f3f3", "M0 .6H2.4M0 1.2H2.4", false},
    {1.8, 0, "#f7e6ef", "M0 .9H.9", true},
    {2.4, -45, "#e6f1f4", "M0 .6H2.4M0 1.2H2.4", false},
}};

}  // namespace

std::string dust(double width) {
  return "fill=\"none\" stroke=\"#dcb8a4\" stroke-width=\"" + paper(width) + "\"";
}

std::string board(int hatch, bool dashed) {
  std::string style = "fill=\"url(#hatch";
  style += std::to_string(hatch % static_cast<int>(hatch_table.size()));
  style += ")\" stroke=\"#1a1a1a\" stroke-width=\"0.3\"";
  if (dashed) style += " stroke-dasharray=\"1.4 0.8\"";
  return style;
}

std::string hatch_definitions(int count) {
  std::string text = "<defs>\n";
  const int used = std::min(count, static_cast<int>(hatch_table.size()));
  for (int i = 0; i < used; ++i) {
    const Hatch& hatch = hatch_table[static_cast<std::size_t>(i)];
    const std::string tile = paper(hatch.tile);
    text +=
        "<pattern id=\"hatch" + std::to_string(i) + "\" patternUnits=\"userSpaceOnUse\" width=\"";
    text += tile + "\" height=\"" + tile + "\" patternTransform=\"rotate(" + paper(hatch.turn);
    text += ")\"><rect width=\"" + tile + "\" height=\"" + tile + "\" fill=\"";
    text.append(hatch.tint).append("\"/><path d=\"").append(hatch.lines);
    text += "\" fill=\"none\" stroke=\"#6b6b6b\" stroke-width=\"0.17\"/></pattern>\n";
  }
  return text + "</defs>\n";
}

std::map<std::string, int> hatches(const SawPlan& plan) {
  std::map<std::string, int> numbers;
  const auto used = [&](const std::string& name) {
    return std::any_of(plan.boards.begin(), plan.boards.end(),
                       [&](const Board& board) { return board.product == name; });
  };
  for (const Product& product : plan.order.products) {
    if (used(product.name)) numbers.emplace(product.name, static_cast<int>(numbers.size()));
  }
  for (const Board& board : plan.boards) {
    numbers.emplace(board.product, static_cast<int>(numbers.size()));
  }
  return numbers;
}

std::string board_title(const Board& board, const SawPlan& plan) {
  return std::to_string(board.id) + ": " + board.product + ", " + size_text(board, plan) + " " +
         Lengths(plan.mill).unit() + ", " + rounded(board.value, 2) + " " + plan.order.currency;
}

std::string rounded(double value, int decimals) {
  const double scale = std::pow(10.0, decimals);
  double whole = std::round(value * scale) / scale;
  if (whole == 0.0) whole = 0.0;  // no "-0"
  std::array<char, 400> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), whole,
                                 std::chars_format::fixed, decimals);
  return {buffer.data(), end.ptr};
}

std::string size_text(const Board& board, const SawPlan& plan) {
  // Nobody measures the mean width of a slab to less than its tape shows.
  const bool live = is_slab(board, plan.order) && !plan.mill.inches;
  return Lengths(plan.mill).size(board.thickness, live ? std::round(board.width) : board.width,
                                 board.length);
}

}  // namespace kerfwright::sheet::look
