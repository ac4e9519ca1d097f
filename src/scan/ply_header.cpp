#include "ply_header.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

#include "kerfwright/error.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

[[noreturn]] void damaged(const std::string& path, std::size_t line, const std::string& what) {
  throw UserError(Fault::damaged_file, file_name(path) + ": line " + std::to_string(line) +
                                           " of the PLY header " + what +
                                           "; export the scan again.");
}

/// A PLY scalar, under its old and its new name.
std::optional<NumberType> scalar_type(std::string_view word) {
  using Kind = NumberType::Kind;
  struct Name {
    std::string_view old_word, new_word;
    NumberType type;
  };
  static constexpr std::array<Name, 8> names{{{"char", "int8", {Kind::signed_whole, 1}},
                                              {"uchar", "uint8", {Kind::unsigned_whole, 1}},
                                              {"short", "int16", {Kind::signed_whole, 2}},
                                              {"ushort", "uint16", {Kind::unsigned_whole, 2}},
                                              {"int", "int32", {Kind::signed_whole, 4}},
                                              {"uint", "uint32", {Kind::unsigned_whole, 4}},
                                              {"float", "float32", {Kind::real, 4}},
                                              {"double", "float64", {Kind::real, 8}}}};
  const auto found = std::find_if(names.begin(), names.end(), [word](const Name& name) {
    return name.old_word == word || name.new_word == word;
  });
  if (found == names.end()) return std::nullopt;
  return found->type;
}

std::optional<std::uint64_t> whole_number(std::string_view word) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
  if (error != std::errc{} || end != word.data() + word.size()) return std::nullopt;
  return value;
}

struct HeaderState {
  PlyHeader header;
  bool has_format = false;
  std::array<bool, 3> has_coordinate{};
};

void take_format(HeaderState& state, const std::vector<std::string_view>& words,
                 const std::string& path, std::size_t line) {
  const std::string_view kind = words.size() > 1 ? words[1] : std::string_view{};
  state.has_format =
      kind == "ascii" || kind == "binary_little_endian" || kind == "binary_big_endian";
  if (!state.has_format) damaged(path, line, "names no format that is known");
  state.header.ascii = kind == "ascii";
  state.header.big_endian = kind == "binary_big_endian";
}

void take_element(HeaderState& state, const std::vector<std::string_view>& words,
                  const std::string& path, std::size_t line) {
  const auto count = words.size() == 3 ? whole_number(words[2]) : std::nullopt;
  if (!count) damaged(path, line, "names an element without a count");
  for (const PlyElement& element : state.header.elements)
    if (element.name == words[1]) damaged(path, line, "names an element that was there before");
  state.header.elements.push_back({std::string(words[1]), *count, {}});
  if (words[1] == "vertex") state.header.vertices = *count;
  if (words[1] == "face") state.header.faces = *count;
}

void take_property(HeaderState& state, const std::vector<std::string_view>& words,
                   const std::string& path, std::size_t line) {
  if (state.header.elements.empty()) damaged(path, line, "has a property before any element");
  const bool list = words.size() == 5 && words[1] == "list";
  if (!list && words.size() != 3) damaged(path, line, "has a property of no known type");
  const auto type = scalar_type(words[list ? 3 : 1]);
  const auto count = list ? scalar_type(words[2]) : std::nullopt;
  if (!type || (list && !count)) damaged(path, line, "has a property of no known type");
  PlyElement& element = state.header.elements.back();
  element.properties.push_back({std::string(words.back()), *type, count});
  if (element.name != "vertex" || list) return;
  for (std::size_t axis = 0; axis < 3; ++axis)
    if (words[2] == std::string_view("xyz").substr(axis, 1)) state.has_coordinate[axis] = true;
}

void check_whole(const HeaderState& state, const std::string& path, std::size_t line) {
  if (!state.has_format) damaged(path, line, "comes without a format before it");
  if (state.header.vertices == 0)
    throw UserError(Fault::empty_file, file_name(path) +
                                           ": the PLY header promises no points; check what was "
                                           "selected when the scan was exported.");
  if (!std::all_of(state.has_coordinate.begin(), state.has_coordinate.end(),
                   [](bool b) { return b; }))
    damaged(path, line, "ends without x, y and z for the vertices");
}

}  // namespace

std::uint64_t PlyElement::bytes() const {
  std::uint64_t sum = 0;
  for (const PlyProperty& property : properties)
    sum += property.count.value_or(property.type).bytes;
  return sum;
}

bool PlyElement::has_lists() const {
  return std::any_of(properties.begin(), properties.end(),
                     [](const PlyProperty& property) { return property.count.has_value(); });
}

double PlyHeader::least_body() const {
  double bytes = 0.0;
  for (const PlyElement& element : elements)
    bytes += static_cast<double>(element.count) *
             (ascii ? 2.0 * static_cast<double>(element.properties.size())  // a digit and a blank
                    : static_cast<double>(element.bytes()));
  return ascii ? bytes - 1.0 : bytes;
}

PlyHeader parse_ply_header(const std::string& path, std::string_view bytes) {
  HeaderState state;
  LineReader lines(bytes);
  std::vector<std::string_view> words;
  while (const auto line = lines.next()) {
    split_fields(*line, " \t", words);
    if (words.empty() || words[0] == "ply" || words[0] == "comment" || words[0] == "obj_info")
      continue;
    if (words[0] == "format") {
      take_format(state, words, path, lines.number());
    } else if (words[0] == "element") {
      take_element(state, words, path, lines.number());
    } else if (words[0] == "property") {
      take_property(state, words, path, lines.number());
    } else if (words[0] == "end_header") {
      check_whole(state, path, lines.number());
      state.header.body = bytes.size() - lines.rest().size();
      return state.header;
    } else {
      damaged(path, lines.number(), "cannot be understood");
    }
  }
  damaged(path, lines.number(), "is the last: the file breaks off before its points");
}

}  // namespace kerfwright
