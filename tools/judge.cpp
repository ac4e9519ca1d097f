// Says what the boards of a plan are in the true wood of an invented log.

#include "invented/judge.hpp"

#include <CLI/CLI.hpp>
#include <cmath>
#include <iomanip>
#include <iostream>
#include <string>

#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"

namespace {

using namespace kerfwright;

void print(const JudgedPlan& judged, const std::string& currency) {
  std::cout << std::fixed << std::setprecision(2);
  for (const JudgedBoard& board : judged.boards)
    std::cout << "board " << board.id << "  " << board.product << "  " << board.value << " "
              << currency << "  worst point " << std::abs(board.protrusion)
              << (board.protrusion > 0 ? " mm outside, at (" : " mm inside, at (")
              << board.worst_point.transpose() << ")" << (board.there ? "" : "  NOT THERE") << "\n";
  std::cout << "claimed " << judged.value_claimed << " " << currency << ", really there "
            << judged.value_there << " " << currency << ", share " << judged.share() << "\n";
}

}  // namespace

int main(int argc, char** argv) {
  std::string plan_path, truth_path;
  double tolerance = 0.5;
  CLI::App app{"Looks for the boards of a plan in the true wood of an invented log."};
  app.add_option("plan", plan_path, "PLAN.json")->required();
  app.add_option("--truth", truth_path, "TRUTH.json, as make_scan --truth writes it")->required();
  app.add_option("--tolerance", tolerance, "mm that count as wood")->capture_default_str();
  CLI11_PARSE(app, argc, argv);
  try {
    const SawPlan plan = plan_from_json(read_file(plan_path), plan_path);
    const LogShape truth = shape_from_json(read_file(truth_path), truth_path);
    print(judge(plan, truth, tolerance), plan.order.currency);
    return 0;
  } catch (const UserError& error) {
    std::cerr << error.what() << "\n";
    return static_cast<int>(error.fault());
  }
}
