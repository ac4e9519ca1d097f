#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace kerfwright {

/// How much of a piece's arrises may be missing, as shares. In a section the full width is needed
/// on the part of the thickness that wane may not touch, and the full thickness on the part of the
/// width that it may not touch.
struct Wane {
  double thickness = 0;  ///< of the thickness, from either face, 0 to 0.5 (0.5 excluded)
  double width = 0;      ///< of the width, from either edge, 0 to 0.5 (0.5 excluded)
  double length = 1;     ///< of the length, the sections with any wane counted together, 0 to 1

  Wane() = default;
  Wane(double of_thickness, double of_width, double of_length)
      : thickness(of_thickness), width(of_width), length(of_length) {}
  /// One share for thickness and width, over the full length.
  Wane(double share) : thickness(share), width(share) {}  // NOLINT: an order may say just a number

  bool none() const { return thickness <= 0.0 || width <= 0.0 || length <= 0.0; }
  bool operator==(const Wane&) const = default;
};

/// Which shrinkage a green size allows for.
enum class ShrinkageBy {
  worst,  ///< the tangential one, the greater: right however the rings lie
  mean    ///< the mean of radial and tangential
};

/// A size to be had after drying and planing.
struct Finished {
  double thickness = 0, width = 0;  ///< mm
  double moisture = 12;             ///< % of the oven-dry mass, at which the size is wanted
  double planing = 0;               ///< mm taken off each dimension, both sides together
  double undersize = 0.05;          ///< share of pieces that may come out too small, 0 to 0.5
  ShrinkageBy shrinkage = ShrinkageBy::worst;
};

/// What a piece fetches by what a person marked in it, as a share of its value. A grade that is
/// left out is not sold. Rot, holes, metal and splits are never sold.
struct Grades {
  std::optional<double> clear, sound_knots, pith;
  double largest_knot = 1.0;  ///< share of the width that sound knots may take in any section
};

/// What a piece fetches by how its rings lie to its wide face, as a share of its value.
struct Grain {
  double standing = 1, rift = 1, lying = 1;
  // Sources put the limits at different angles (quotations of woodwork usage: lying below 30,
  // standing from 60; US Forest Service publications: one limit at 45), so that they are settings.
  double rift_from = 30;      ///< degrees; rings at a smaller angle lie
  double standing_from = 60;  ///< degrees
};

/// One product of an order, as sawn (green).
struct Product {
  std::string name;
  double thickness = 0;         ///< mm, more than 0; 0 only while `finished` waits for green_order
  double width = 0;             ///< mm, likewise; of a slab with live edges the least at any place
  std::vector<double> lengths;  ///< mm, each more than 0, in the order of the file
  std::vector<double>
      values;  ///< what a piece of each length fetches; empty where there is a price
  std::optional<double> price_per_m3;  ///< in the order's currency; empty where values are given
  Wane wane = {};
  std::optional<int> wanted = {};  ///< how many the order needs, all lengths together; empty = as
                                   ///< many as come
  double beyond = 0;  ///< share of its value that a piece beyond `wanted` fetches, 0 to 1
  std::optional<Finished> finished = {};  ///< then thickness and width follow from it
  std::optional<Grades> grades = {};      ///< empty = knots and pith do not matter
  std::optional<Grain> grain = {};        ///< empty = the rings do not matter
  std::vector<std::pair<std::string, double>> figure =
      {};                  ///< name of a figure zone, and what wood in it fetches, times its value
  bool live_edge = false;  ///< a slab that keeps both natural edges; priced by its mean width
  bool boxed_heart = false;  ///< the pith runs inside it from end to end, as in a beam
  bool blank = false;        ///< a short block, as for turning: may come from an end or a burl
  std::optional<double> price_per_m2 = {};  ///< of face, instead of price_per_m3

  /// What a clear piece of lengths[i] fetches; of a slab one of the least width.
  double value_of(std::size_t i) const;
  /// What a slab with live edges of this mean width, mm, and lengths[i] fetches.
  double value_of(std::size_t i, double mean_width) const;
};

struct Order {
  std::string currency = "EUR";
  std::vector<Product> products;
  std::string species = {};  ///< for shrinkage; empty = not said
};

/// Reads an order from a TOML file.
/// @throws UserError no_file, empty_file, bad_toml, unknown_key (names the key and its line),
/// bad_order, unknown_species
Order read_order(const std::string& path);

/// The same from text; `name` stands for the file in messages.
Order parse_order(const std::string& toml, const std::string& name);

}  // namespace kerfwright
