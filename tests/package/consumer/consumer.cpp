// Plans a straight log, given as sections, and prints what comes out of it.

#include <cstdio>
#include <kerfwright/saw/plan_log.hpp>
#include <kerfwright/sheet/cut_map.hpp>

int main() {
  kerfwright::LogShape log;
  log.angles = 64;
  for (const double station : {0.0, 600.0, 1200.0}) {
    log.stations.push_back(station);
    log.axis.emplace_back(0.0, 0.0);
    log.radius.emplace_back(64, 120.0F);
    log.sigma.emplace_back(64, 0.0F);
    log.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  const kerfwright::Order order = kerfwright::parse_order(R"(
    [[product]]
    name = "board"
    thickness = 25
    width = 120
    lengths = [1100]
    price_per_m3 = 500
  )",
                                                          "order");
  kerfwright::PlanSettings settings;
  settings.turn_step = 30;
  settings.lifts = 1;
  const auto plan = kerfwright::plan_log(log, order, kerfwright::Mill{}, settings);
  std::printf("%zu boards, %.2f\n", plan.boards.size(), plan.totals.value);
  return plan.boards.empty() ? 1 : 0;
}
