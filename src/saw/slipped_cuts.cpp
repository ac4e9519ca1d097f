#include "slipped_cuts.hpp"

#include <algorithm>
#include <cmath>

#include "frame.hpp"

namespace kerfwright::saw {
namespace {

constexpr double parallel = 0.9999;  // cosine
constexpr double square = 0.05;      // cosine; the faces of a lifted cant lean by as much

}  // namespace

double SawnPlane::lateral(double x, double aloft, const Eigen::Vector3d& across,
                          const Eigen::Vector3d& section_up) const {
  return (height - up.x() * x - aloft * up.dot(section_up)) / up.dot(across);
}

SlippedCuts::SlippedCuts(const SawPlan& plan, double length) : plan_(plan), length_(length) {
  std::map<int, SetupKind> kinds;
  for (const Setup& setup : plan.setups) kinds[setup.n] = setup.kind;
  std::map<int, Rule> by_setup;  // a piece is set once, for all cuts of the setup
  for (std::size_t i = 0; i < plan.cuts.size(); ++i) {
    const Cut& cut = plan.cuts[i];
    Rule rule;
    const SetupKind kind = kinds[cut.setup];
    if (kerfwright::on_mill(kind)) {
      if (!by_setup.contains(cut.setup)) by_setup[cut.setup] = rule_for(cut);
      rule = by_setup[cut.setup];
    }
    rules_.push_back(rule);
    maker_[cut.above] = i;
    maker_[cut.below] = i;
  }
}

SlippedCuts::Rule SlippedCuts::rule_for(const Cut& cut) const {
  Rule rule{true, SetBy::bark, 0};
  for (auto at = maker_.find(cut.piece); at != maker_.end();
       at = maker_.find(plan_.cuts[at->second].piece)) {
    if (!rules_[at->second].on_mill) continue;
    const Cut& maker = plan_.cuts[at->second];
    // Upwards on the mill, of what points out of the piece at its face.
    const double outwards = maker.normal.dot(cut.normal) * (maker.above == at->first ? -1.0 : 1.0);
    if (outwards < -parallel) return {true, SetBy::face, at->second};
    if (std::abs(outwards) < square && rule.by == SetBy::bark) {
      rule = {true, SetBy::stops, at->second};
    }
  }
  return rule;
}

std::vector<std::size_t> SlippedCuts::made_by(const std::string& piece) const {
  std::vector<std::size_t> makers;
  for (auto at = maker_.find(piece); at != maker_.end();
       at = maker_.find(plan_.cuts[at->second].piece)) {
    if (rules_[at->second].on_mill) makers.push_back(at->second);
  }
  return makers;
}

const std::string& SlippedCuts::off_the_mill(const std::string& piece) const {
  auto at = maker_.find(piece);
  if (at == maker_.end() || rules_[at->second].on_mill) return piece;
  return off_the_mill(plan_.cuts[at->second].piece);
}

std::vector<std::size_t> SlippedCuts::made_by_hand(const std::string& piece) const {
  std::vector<std::size_t> makers;
  for (auto at = maker_.find(piece); at != maker_.end() && !rules_[at->second].on_mill;
       at = maker_.find(plan_.cuts[at->second].piece)) {
    makers.push_back(at->second);
  }
  std::reverse(makers.begin(), makers.end());
  return makers;
}

std::vector<SawnPlane> SlippedCuts::planned() const {
  std::vector<SawnPlane> planes;
  for (const Cut& cut : plan_.cuts) planes.push_back({cut.normal, cut.normal.dot(cut.point), 0.0});
  return planes;
}

std::vector<SawnPlane> SlippedCuts::draw(const Luck& luck, const SettingErrors& errors) const {
  std::vector<SawnPlane> planes = planned();
  const std::vector<SawnPlane> meant = planes;
  for (std::size_t i = 0; i < planes.size(); ++i) {
    const Rule& rule = rules_[i];
    if (!rule.on_mill) continue;
    const Cut& cut = plan_.cuts[i];
    SawnPlane& plane = planes[i];
    if (rule.by == SetBy::face) {
      const SawnPlane& face = planes[rule.face];
      const double side = cut.normal.dot(meant[rule.face].up) > 0.0 ? 1.0 : -1.0;
      plane.up = side * face.up;
      plane.height += side * (face.height - meant[rule.face].height);
      plane.roll_off = face.roll_off;
    } else {
      const double butt = errors.lift * luck.normal(Slip::lift_butt, cut.setup);
      const double top = errors.lift * luck.normal(Slip::lift_top, cut.setup);
      plane.roll_off = rule.by == SetBy::stops ? planes[rule.face].roll_off
                                               : errors.turn * luck.normal(Slip::turn, cut.setup);
      Pose pose = pose_with_up(cut.normal);
      pose.roll += plane.roll_off;
      pose.slope = std::clamp(pose.slope + (top - butt) / length_, -0.5, 0.5);
      plane.up = Frame(pose).up;
      plane.height -= butt;
    }
    const double ends = errors.blade * luck.normal(Slip::within, cut.n);
    plane.height += errors.blade * luck.normal(Slip::between, cut.n) - ends;
    plane.up.x() -= 2.0 * ends / length_;
  }
  return planes;
}

}  // namespace kerfwright::saw
