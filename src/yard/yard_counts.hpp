#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "kerfwright/yard/yard_plan.hpp"

/// What comes from which log, for sheets and files.
namespace kerfwright::yard {

/// Product (place in the order) and length, mm, in the order of the list, long before short.
struct Stick {
  std::size_t product = 0;
  double length = 0;
  bool operator<(const Stick& other) const {
    if (product != other.product) return product < other.product;
    return length > other.length;
  }
};

using Sticks = std::map<Stick, int>;

Sticks sticks_of(const SawPlan& plan, const Order& order);

/// Of each stick how many, and from which logs (places in `plan.plans`), in the order of sawing.
struct Pile {
  Stick stick;
  int pieces = 0;
  double m3 = 0;
  std::vector<std::pair<std::size_t, int>> from;
};
std::vector<Pile> piles_of(const YardPlan& plan);

/// "48 × 98 × 2400"; slabs are as wide as they come.
std::string size_words(const Product& product, double length, const Mill& mill);

/// "1 log", "3 logs"
std::string count_words(int n, const std::string& one, const std::string& many);

/// "4100 mm, 320 mm in the middle under bark"
std::string log_words(const LogShape& shape, const Mill& mill);

}  // namespace kerfwright::yard
