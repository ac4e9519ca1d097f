#pragma once

#include <Eigen/Core>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "kerfwright/error.hpp"

/// Reading the project's JSON files. Whatever is wrong ends in one UserError that names the file
/// and the place in it; nothing is taken on trust.
namespace kerfwright::json_read {

using nlohmann::json;

// Far outside any log and any trade: what is beyond is damage.
inline constexpr double longest = 1e6;   // mm
inline constexpr double dearest = 1e12;  // of any currency
inline constexpr int largest_count = 1'000'000'000;

/// What is read and how to complain about it.
struct Reading {
  Fault fault;         ///< bad_shape or bad_plan
  std::string kind;    ///< "shape" or "plan"
  std::string name;    ///< of the file
  std::string remedy;  ///< what the person can do, the end of the sentence
  int newest = 1;      ///< the newest version that is read; all before it are too
};

/// @throws UserError, always
[[noreturn]] void reject(const Reading& reading, const std::string& why);

/// A value of the file and where it stands, such as `boards[2].corner`.
struct Node {
  const Reading* reading;
  const json* value;
  std::string place;
};

/// The document's root, after its format and version have been checked.
/// @param document receives what the nodes point into
Node open_document(const Reading& reading, const std::string& text, json& document);

/// A member of an object; it must be there.
Node member(const Node& object, const std::string& key);
bool has(const Node& object, const std::string& key);

/// The items of an array, at least `least` and at most `most` of them.
std::vector<Node> items(const Node& array, std::size_t least, std::size_t most);

/// A finite number within [least, most].
double number(const Node& node, double least, double most);
/// A whole number within [least, most].
int whole(const Node& node, int least, int most);
bool flag(const Node& node);  ///< true or false
/// A string of at most `most` bytes.
std::string text(const Node& node, std::size_t most = 1000);
/// Up to 64 hexadecimal digits, as SHA-256 has.
std::string digest(const Node& node);

std::vector<double> numbers(const Node& array, std::size_t least, std::size_t most, double low,
                            double high);
Eigen::Vector3d vector(const Node& node, double limit);
Eigen::Matrix4d matrix(const Node& node);

}  // namespace kerfwright::json_read
