#include "spare.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace kerfwright::saw {
namespace {

constexpr std::array<double, 2> allowances = {1.5, 4.0};  // mm
constexpr double first_allowance = 2.0;                   // mm, to look for other poses with
constexpr int looks = 30;  // turns over half a circle, for other poses
constexpr std::size_t live_poses = 8, cant_poses = 2;

double turn_between(const Pose& a, const Pose& b) {
  const double off = std::fmod(std::abs(a.roll - b.roll), std::numbers::pi);
  return std::min(off, std::numbers::pi - off);
}

bool sawn_through(const LogPlan& plan) { return plan.cants.empty() && !plan.split && !plan.around; }

/// Adds a pose unless one of the kept is as good as the same.
void keep_pose(std::vector<Pose>& kept, const Pose& pose, double apart, std::size_t most) {
  if (kept.size() >= most) return;
  const bool new_one = std::none_of(kept.begin(), kept.end(), [&](const Pose& other) {
    return turn_between(pose, other) < apart && pose.slope == other.slope;
  });
  if (new_one) kept.push_back(pose);
}

/// Poses in which sawing through and through is worth most with an allowance, from all round.
std::vector<Pose> live_poses_of(const Wood& wood, const Catalogue& catalogue,
                                const SearchSpace& space, const std::vector<LogPlan>& found) {
  std::vector<Pose> poses;
  const std::size_t lifts = space.slopes.size();
  const int turns = std::min(space.turns, looks);
  std::vector<double> slopes = {space.slopes[lifts / 2]};
  if (lifts > 1) {
    slopes.push_back(space.slopes[lifts / 4]);
    slopes.push_back(space.slopes[lifts - 1 - lifts / 4]);
  }
  for (int turn = 0; turn < turns; ++turn) {
    for (const double slope : slopes) poses.push_back({turn * std::numbers::pi / turns, slope});
  }
  std::vector<LogPlan> plans(poses.size());
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < poses.size(); ++i) {
    plans[i] = PoseSearch(wood, catalogue, poses[i]).best_live(0.0);
  }
  std::stable_sort(plans.begin(), plans.end(),
                   [](const LogPlan& a, const LogPlan& b) { return a.worth > b.worth; });
  std::vector<Pose> kept;
  const double apart = 0.9 * std::numbers::pi / turns;
  for (const LogPlan& plan : found) {
    if (sawn_through(plan)) keep_pose(kept, plan.pose, apart, live_poses / 2);
  }
  for (const LogPlan& plan : plans) keep_pose(kept, plan.pose, apart, live_poses);
  return kept;
}

}  // namespace

std::vector<LogPlan> plans_with_spare(const std::function<Wood(double)>& wood_inside,
                                      const Catalogue& catalogue, const SearchSpace& space,
                                      const std::vector<LogPlan>& found) {
  std::vector<Wood> woods;
  for (const double allowance : allowances) woods.push_back(wood_inside(allowance));
  const bool live = std::any_of(found.begin(), found.end(), sawn_through);
  struct Job {
    const Wood* wood;
    Pose pose;
    bool cants;
    double slope;  ///< of the second setup
  };
  std::vector<Job> jobs;
  if (live) {
    for (const Pose& pose : live_poses_of(wood_inside(first_allowance), catalogue, space, found)) {
      for (const Wood& wood : woods) jobs.push_back({&wood, pose, false, 0.0});
    }
  }
  std::vector<Pose> with_cants;
  for (const LogPlan& plan : found) {
    const std::size_t before = with_cants.size();
    if (plan.cants.empty()) continue;
    keep_pose(with_cants, plan.pose, 0.01, cant_poses);
    if (with_cants.size() == before) continue;
    for (const Wood& wood : woods) {
      jobs.push_back({&wood, plan.pose, true, plan.cants.front().pose.slope});
    }
  }
  std::vector<LogPlan> plans(jobs.size());
#pragma omp parallel for schedule(dynamic, 1)
  for (std::size_t i = 0; i < jobs.size(); ++i) {
    PoseSearch search(*jobs[i].wood, catalogue, jobs[i].pose);
    plans[i] = jobs[i].cants ? search.best_with_cants(
                                   {4, {jobs[i].slope}, space.turn_cost, space.must_cant}, 0.0)
                             : search.best_live(0.0);
  }
  std::erase_if(plans, [](const LogPlan& plan) { return plan.worth <= 0.0; });
  return plans;
}

}  // namespace kerfwright::saw
