#pragma once

#include <map>
#include <string>
#include <string_view>

#include "kerfwright/saw/saw_plan.hpp"
#include "svg.hpp"

/// How things are drawn. Line widths never fall below 0.15 mm; no meaning is carried by colour
/// alone.
namespace kerfwright::sheet::look {

inline constexpr std::string_view frame = "fill=\"none\" stroke=\"#1a1a1a\" stroke-width=\"0.5\"";
inline constexpr std::string_view rule = "fill=\"none\" stroke=\"#1a1a1a\" stroke-width=\"0.25\"";
inline constexpr std::string_view bark = "fill=\"#d8cab4\" stroke=\"none\"";
inline constexpr std::string_view wood =
    "fill=\"#fbf7ee\" stroke=\"#1a1a1a\" stroke-width=\"0.25\"";
inline constexpr std::string_view seen =
    "fill=\"none\" stroke=\"#1a1a1a\" stroke-width=\"0.5\" stroke-linejoin=\"round\"";
inline constexpr std::string_view outline =
    "fill=\"none\" stroke=\"#1a1a1a\" stroke-width=\"0.35\" stroke-linejoin=\"round\"";
inline constexpr std::string_view unseen =
    "fill=\"none\" stroke=\"#1a1a1a\" stroke-width=\"0.35\" stroke-dasharray=\"1.2 0.9\"";
inline constexpr std::string_view axis =
    "fill=\"none\" stroke=\"#1a1a1a\" stroke-width=\"0.2\" stroke-dasharray=\"4 0.8 0.8 0.8\"";
inline constexpr std::string_view cut =
    "fill=\"none\" stroke=\"#8c2d04\" stroke-width=\"0.3\" stroke-linecap=\"round\"";
/// A cut that meets the log further on.
inline constexpr std::string_view cut_beyond =
    "fill=\"none\" stroke=\"#8c2d04\" stroke-width=\"0.3\" stroke-dasharray=\"1.6 1.2\"";
inline constexpr std::string_view leader = "fill=\"none\" stroke=\"#4d4d4d\" stroke-width=\"0.18\"";
inline constexpr std::string_view wane =
    "fill=\"#e9dcc4\" stroke=\"#1a1a1a\" stroke-width=\"0.25\"";
inline constexpr std::string_view face = "fill=\"#fffdf8\" stroke=\"#1a1a1a\" stroke-width=\"0.4\"";
inline constexpr std::string_view cut_ink = "#8c2d04";

/// The band that the saw turns to dust, `width` mm wide.
std::string dust(double width);

/// Board outline with the hatch of its product.
std::string board(int hatch, bool dashed = false);

/// The definitions of the hatches that `count` products need, as the text of a <defs> element.
std::string hatch_definitions(int count);

/// The hatch of each product that the plan's boards are of, in the order of the order.
std::map<std::string, int> hatches(const SawPlan& plan);

/// What a viewer shows for a board: product, size and value.
std::string board_title(const Board& board, const SawPlan& plan);

/// Numbers for people: no decimals, some, and money with two.
std::string rounded(double value, int decimals = 0);

/// 50 x 200 x 2400 as a sawyer writes it.
std::string size_text(const Board& board, const SawPlan& plan);

}  // namespace kerfwright::sheet::look
