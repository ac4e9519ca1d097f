#include "master.hpp"

#include <coin/Cbc_C_Interface.h>
#include <coin/Clp_C_Interface.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "kerfwright/error.hpp"

namespace kerfwright::yard {
namespace {

constexpr double no_limit = std::numeric_limits<double>::max();
// What is left of a difference: with costs of 1e-15 CBC called a list infeasible that was not.
constexpr double no_cost = 1e-9;

/// A programme by columns, to be made as small as possible. Rows: logs, kinds, lines. Columns:
/// offers, pieces of each kind that are taken for the list, what is missing of each line.
struct Programme {
  std::vector<CoinBigIndex> start = {0};
  std::vector<int> row;
  std::vector<double> factor, upper, cost, row_low, row_high;

  void entry(std::size_t at, double value) {
    row.push_back(static_cast<int>(at));
    factor.push_back(value);
  }
  void end_column(double most, double costs) {
    start.push_back(static_cast<CoinBigIndex>(row.size()));
    upper.push_back(most);
    cost.push_back(std::abs(costs) < no_cost ? 0.0 : costs);
  }
  int columns() const { return static_cast<int>(cost.size()); }
  int rows() const { return static_cast<int>(row_low.size()); }
};

Programme programme_of(const Demand& demand, const std::vector<Offer>& offers,
                       const std::vector<double>& copies) {
  const std::size_t logs = copies.size(), kinds = demand.kinds.size();
  Programme programme;
  for (const double copy : copies) {
    programme.row_low.push_back(-no_limit);
    programme.row_high.push_back(copy);
  }
  for (std::size_t k = 0; k < kinds; ++k) {
    programme.row_low.push_back(-no_limit);
    programme.row_high.push_back(0.0);
  }
  for (const Line& line : demand.lines) {
    programme.row_low.push_back(line.wanted);
    programme.row_high.push_back(line.wanted);
  }
  for (const Offer& offer : offers) {
    programme.entry(offer.log, 1.0);
    for (std::size_t k = 0; k < kinds; ++k) {
      if (offer.counts[k] != 0) programme.entry(logs + k, -offer.counts[k]);
    }
    programme.end_column(copies[offer.log], -offer.net());
  }
  for (std::size_t k = 0; k < kinds; ++k) {
    const Kind& kind = demand.kinds[k];
    programme.entry(logs + k, 1.0);
    programme.entry(logs + kinds + kind.line, 1.0);
    programme.end_column(demand.lines[kind.line].wanted,
                         -(1.0 - demand.lines[kind.line].beyond) * kind.value);
  }
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    programme.entry(logs + kinds + i, 1.0);
    programme.end_column(demand.lines[i].wanted, demand.lines[i].missing);
  }
  return programme;
}

/// Nothing is sawn and all is missing: there is always an answer.
[[noreturn]] void fail() {
  throw UserError(Fault::internal, "The master programme of the list could not be solved.");
}

}  // namespace

Relaxed solve_relaxed(const Demand& demand, const std::vector<Offer>& offers,
                      const std::vector<double>& copies) {
  const Programme programme = programme_of(demand, offers, copies);
  const std::vector<double> lower(programme.cost.size(), 0.0);
  const std::unique_ptr<Clp_Simplex, void (*)(Clp_Simplex*)> model(Clp_newModel(), Clp_deleteModel);
  Clp_setLogLevel(model.get(), 0);
  Clp_loadProblem(model.get(), programme.columns(), programme.rows(), programme.start.data(),
                  programme.row.data(), programme.factor.data(), lower.data(),
                  programme.upper.data(), programme.cost.data(), programme.row_low.data(),
                  programme.row_high.data());
  Clp_setOptimizationDirection(model.get(), 1.0);
  Clp_primal(model.get(), 0);
  if (Clp_status(model.get()) != 0) fail();
  Relaxed relaxed;
  relaxed.worth = -Clp_objectiveValue(model.get());
  const double* dual = Clp_dualRowSolution(model.get());
  const double* value = Clp_primalColumnSolution(model.get());
  const std::size_t logs = copies.size(), kinds = demand.kinds.size();
  for (std::size_t l = 0; l < logs; ++l) relaxed.logs.push_back(std::max(0.0, -dual[l]));
  for (std::size_t k = 0; k < kinds; ++k) relaxed.prices.push_back(std::max(0.0, -dual[logs + k]));
  relaxed.shares.assign(value, value + offers.size());
  for (std::size_t i = 0; i < demand.lines.size(); ++i) {
    relaxed.missing += value[offers.size() + kinds + i];
  }
  return relaxed;
}

Choice solve_whole(const Demand& demand, std::size_t logs, const std::vector<Offer>& offers,
                   int nodes) {
  Choice choice(logs);
  if (offers.empty()) return choice;
  const Programme programme = programme_of(demand, offers, std::vector<double>(logs, 1.0));
  const std::vector<double> lower(programme.cost.size(), 0.0);
  const std::unique_ptr<Cbc_Model, void (*)(Cbc_Model*)> model(Cbc_newModel(), Cbc_deleteModel);
  Cbc_setParameter(model.get(), "logLevel", "0");
  Cbc_setParameter(model.get(), "threads", "0");
  Cbc_loadProblem(model.get(), programme.columns(), programme.rows(), programme.start.data(),
                  programme.row.data(), programme.factor.data(), lower.data(),
                  programme.upper.data(), programme.cost.data(), programme.row_low.data(),
                  programme.row_high.data());
  Cbc_setObjSense(model.get(), 1.0);
  for (std::size_t i = 0; i < offers.size(); ++i) Cbc_setInteger(model.get(), static_cast<int>(i));
  Cbc_setMaximumNodes(model.get(), nodes);
  Cbc_solve(model.get());
  const double* value = Cbc_getColSolution(model.get());
  if (value == nullptr || Cbc_isProvenInfeasible(model.get()) != 0) fail();
  for (std::size_t i = 0; i < offers.size(); ++i) {
    if (value[i] > 0.5) choice[offers[i].log] = offers[i];
  }
  return choice;
}

}  // namespace kerfwright::yard
