#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kerfwright/saw/saw_plan.hpp"
#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// One way of sawing a log, planned so as to be compared with others.
struct Way {
  std::string name;             ///< as "cant", or "cant, thin kerf" where mills are compared too
  std::optional<SawPlan> plan;  ///< none where there is no plan
  std::string why_not;          ///< a sentence, where there is none
  std::string folder;           ///< where the plan's files lie, beside the comparison
};

/// The figures of one way. Lengths in mm, money in the order's currency.
struct WayFigures {
  double value = 0, net = 0, yield = 0;
  int boards = 0;
  double longest = 0, widest = 0;
  int cuts = 0;   ///< all of them, edging and cutting to length too
  int turns = 0;  ///< setups on the mill
  double hours = 0;
  std::optional<double> expected, q10, bound;
};

WayFigures figures_of(const SawPlan& plan);

/// What ways are ranked by: what is expected when they are set a little wrong, where all of them
/// know that, else the net.
class Rank {
 public:
  explicit Rank(const std::vector<Way>& ways);
  double operator()(const SawPlan& plan) const;
  /// As " expected", to stand behind the figure, or nothing.
  std::string word() const { return expected_ ? " expected" : ""; }

 private:
  bool expected_;
};

/// Places in `ways`, the best first; those without a plan come last. Of equal ones the earlier.
std::vector<std::size_t> ranking(const std::vector<Way>& ways);

/// Which way is best and why, in one or two sentences.
std::string verdict(const std::vector<Way>& ways);

/// The figures as lines of text, columns aligned, the best way first.
std::string comparison_table(const std::vector<Way>& ways);

/// The same as JSON: {"ways": [{"name", "pattern", "folder", "value", …}, …], "best": name}.
std::string comparison_json(const std::vector<Way>& ways);

/// The same as a page: the verdict, the table, and the cut maps side by side. Self-contained.
std::string comparison_html(const std::vector<Way>& ways, const LogShape& shape);

}  // namespace kerfwright
