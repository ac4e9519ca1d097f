#include "invented/phone_scan.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <functional>
#include <numbers>
#include <numeric>
#include <optional>

#include "invented/yard.hpp"
#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;

/// A point of a surface in the yard, before the phone has seen it.
struct Candidate {
  Eigen::Vector3d position, normal;
  Label label = Label::bark;
  int own_log = -1, own_box = -1;
  bool stoop = false;  ///< the person lowers the phone to see it
  double tone = 0;     ///< what the colour depends on
};

/// The walk and the phone: one for a scan.
struct Walk {
  Eigen::Vector2d centre, half;  ///< mm, the loop on the ground
  std::array<double, 6> phase{};
  double noise = 0, drift = 0;

  Eigen::Vector3d eye(double t) const {
    const double a = kTurn * t, c = std::cos(a), s = std::sin(a);
    const auto rounded = [](double v) { return std::copysign(std::pow(std::abs(v), 0.6), v); };
    return {centre.x() + half.x() * rounded(c), centre.y() + half.y() * rounded(s),
            1300.0 + 560.0 * std::sin(3.0 * a + phase[0]) + 140.0 * std::sin(17.0 * a + phase[1])};
  }

  Eigen::Vector3d drift_at(double t) const {
    const auto wander = [&](std::size_t k) {
      return std::sin(kTurn * 0.83 * t + phase[k]) +
             0.5 * std::sin(kTurn * 2.6 * t + 2.0 * phase[k]);
    };
    return drift * Eigen::Vector3d(wander(2), wander(3), wander(4));
  }
};

struct Seen {
  Eigen::Vector3d position;
  Label label;
  double tone;
  Eigen::Vector3d ray;  ///< unit, from the eye onwards
};

double wrap(double angle) { return std::remainder(angle, kTurn); }

/// Whether a point is near enough to the phone to be kept this time; asked once for each candidate,
/// before anything that takes long is worked out for it.
using Near = std::function<bool(const Eigen::Vector3d&)>;

/// Looks at candidates from random places of the walk until `count` of them were seen.
class Phone {
 public:
  Phone(const Yard& yard, const Walk& walk, Dice& dice) : yard_(yard), walk_(walk), dice_(dice) {}

  void look(const std::function<std::optional<Candidate>(const Near&)>& next, int count) {
    const long most = 3000L * count + 100000;
    double t = 0;
    const Near near = [&](const Eigen::Vector3d& position) {
      const double distance = (walk_.eye(t) - position).norm();
      return dice_.uniform() * distance * distance < 1000.0 * 1000.0;  // all within a metre
    };
    for (long tries = 0; count > 0 && tries < most; ++tries) {
      t = dice_.uniform();
      const std::optional<Candidate> candidate = next(near);
      if (candidate && try_to_see(*candidate, t)) --count;
    }
  }

  std::vector<Seen> seen;

 private:
  bool try_to_see(const Candidate& candidate, double t) {
    Eigen::Vector3d eye = walk_.eye(t);
    Eigen::Vector3d ray = (candidate.position - eye).normalized();
    double facing = -candidate.normal.dot(ray);
    if (candidate.stoop && facing < 0.12 && candidate.normal.head<2>().dot(ray.head<2>()) <= 0) {
      eye.z() = std::max(60.0, candidate.position.z() * 0.6);
      ray = (candidate.position - eye).normalized();
      facing = std::max(0.12, -candidate.normal.dot(ray));
    }
    if (dice_.uniform() > facing) return false;
    if (is_hidden(yard_, candidate.position, eye, candidate.own_log, candidate.own_box))
      return false;
    seen.push_back({candidate.position + walk_.noise * dice_.normal() * ray + walk_.drift_at(t),
                    candidate.label, candidate.tone, ray});
    return true;
  }

  const Yard& yard_;
  const Walk& walk_;
  Dice& dice_;
};

/// Candidates on the bark and the faces of one log, evenly by area.
class LogSurface {
 public:
  LogSurface(const Yard& yard, int index, double hidden, Dice& dice)
      : yard_(yard),
        lying_(yard.logs[static_cast<std::size_t>(index)]),
        index_(index),
        hidden_(hidden),
        dice_(dice) {
    for (double& phase : phase_) phase = dice.uniform(0, kTurn);
    measure_area();
  }

  std::optional<Candidate> next(const Near& near) {
    const auto found = dice_.uniform() < face_share_ ? on_face(near) : on_bark(near);
    if (found && is_inside_joined(yard_, found->position, index_)) return std::nullopt;
    return found;
  }

 private:
  void measure_area() {
    const InventedLog& log = lying_.log;
    for (int i = 0; i < 200; ++i) {
      for (int j = 0; j < 128; ++j) {
        const double theta = kTurn * j / 128;
        double stretch = 0;
        log.normal(log.length * (i + 0.5) / 200, theta, &stretch);
        most_stretch_ = std::max(most_stretch_, 1.15 * stretch);
        const double end = std::max(log.radius(0, theta), log.radius(log.length, theta));
        most_radius_ = std::max(most_radius_, 1.01 * end);
      }
    }
    overhang_ = 1.2 * most_radius_ * std::max(log.butt_slope.norm(), log.top_slope.norm());
    // Drawn from: two discs that hold the faces, and a strip as much stretched everywhere as the
    // bark is anywhere; what falls beyond the outline or is too much is thrown away again.
    const double discs = kTurn * most_radius_ * most_radius_;
    face_share_ = discs / (discs + most_stretch_ * (log.length + 2 * overhang_) * kTurn);
  }

  /// Share of the girth that is hidden at x: what is asked for on average, a little more here and
  /// less there.
  double hidden_at(double x) const {
    const double u = kTurn * x / lying_.log.length;
    return hidden_ *
           (1.0 + 0.12 * std::sin(1.7 * u + phase_[0]) + 0.08 * std::sin(4.1 * u + phase_[1]));
  }

  /// The edge of what is hidden is soft: over 4 degrees the points become as many as elsewhere.
  bool in_sight(double x, double theta) {
    const double from_below = std::abs(wrap(theta + std::numbers::pi / 2));
    const double edge = std::numbers::pi * hidden_at(x);
    if (hidden_ <= 0 || from_below > edge + kTurn * 4 / 360) return true;
    if (from_below < edge) return false;
    return dice_.uniform() < (from_below - edge) / (kTurn * 4 / 360);
  }

  std::optional<Candidate> on_bark(const Near& near) {
    const InventedLog& log = lying_.log;
    const double x = dice_.uniform(-overhang_, log.length + overhang_);
    const double theta = dice_.uniform(0, kTurn);
    if (!in_sight(x, theta)) return std::nullopt;
    const Eigen::Vector3d at = log.surface(x, theta);
    if (x < log.butt_face(at.tail<2>()) || x > log.top_face(at.tail<2>())) return std::nullopt;
    Candidate c;
    c.position = lying_.to_yard * at;
    if (!near(c.position)) return std::nullopt;
    double stretch = 0;
    c.normal = lying_.to_yard.linear() * log.normal(x, theta, &stretch);
    if (dice_.uniform() * most_stretch_ > stretch) return std::nullopt;
    c.label = lying_.label;
    c.own_log = index_;
    c.stoop = index_ == 0 || lying_.joined;
    c.tone = 10.0 * std::sin(theta * 23.0 + 0.01 * x) + 6.0 * std::sin(0.05 * x);
    return c;
  }

  std::optional<Candidate> on_face(const Near& near) {
    const InventedLog& log = lying_.log;
    const bool top = dice_.uniform() < 0.5;
    const double theta = dice_.uniform(0, kTurn), rho = most_radius_ * std::sqrt(dice_.uniform());
    const double x = top ? log.length : 0.0;
    if (rho > log.radius(x, theta)) return std::nullopt;
    const Eigen::Vector2d yz = rho * Eigen::Vector2d(std::cos(theta), std::sin(theta));
    const Eigen::Vector2d slope = top ? log.top_slope : log.butt_slope;
    Candidate c;
    c.position = Eigen::Vector3d(top ? log.top_face(yz) : log.butt_face(yz), yz.x(), yz.y());
    c.position.x() +=
        0.8 * std::sin(yz.dot(Eigen::Vector2d(0.5, 0.9)) / 4.0);  // marks of the chain
    c.position = lying_.to_yard * c.position;
    if (!near(c.position)) return std::nullopt;
    const Eigen::Vector3d outward(1, -slope.x(), -slope.y());
    c.normal = lying_.to_yard.linear() * ((top ? 1.0 : -1.0) * outward.normalized());
    c.label = index_ == 0 ? Label::end_face : lying_.label;
    c.own_log = index_;
    c.tone = 14.0 * std::sin(rho / 1.3) - (rho > log.radius_under_bark(x, theta) ? 70.0 : 0.0);
    return c;
  }

  const Yard& yard_;
  const YardLog& lying_;
  int index_;
  double hidden_;
  Dice& dice_;
  std::array<double, 2> phase_{};
  double most_stretch_ = 0, most_radius_ = 0, face_share_ = 0;
  double overhang_ = 0;  ///< mm, how far an oblique face reaches beyond its centre
};

std::optional<Candidate> on_ground(const Yard& yard, const Walk& walk, double blade,
                                   const Near& near, Dice& dice) {
  Candidate c;
  const Eigen::Vector2d reach = walk.half + Eigen::Vector2d(150, 250);
  const double x = walk.centre.x() + dice.uniform(-1, 1) * reach.x();
  const double y = walk.centre.y() + dice.uniform(-1, 1) * reach.y();
  const double grass = -blade * std::log(1.0 - dice.uniform());  // mm, most blades are short
  c.position = {x, y, ground_height(yard, x, y) + std::min(grass, 90.0)};
  if (!near(c.position)) return std::nullopt;
  const double lean_y = 0.5 * dice.normal(),
               lean_x = 0.5 * dice.normal();  // in this order everywhere
  c.normal = Eigen::Vector3d(lean_x, lean_y, 1.0).normalized();
  c.label = Label::ground;
  c.tone = grass;
  return c;
}

std::optional<Candidate> on_boxes(const Yard& yard, Label label, const Near& near, Dice& dice) {
  const int index = dice.below(static_cast<int>(yard.boxes.size()));
  const YardBox& yard_box = yard.boxes[static_cast<std::size_t>(index)];
  if (yard_box.label != label) return std::nullopt;
  const Eigen::Vector3d size = yard_box.box.sizes();
  const Eigen::Vector3d faces(size.y() * size.z(), size.x() * size.z(), size.x() * size.y());
  double pick = dice.uniform() * faces.sum();
  int k = 0;
  while (k < 2 && pick >= faces[k]) pick -= faces[k++];
  const bool high = dice.uniform() < 0.5;
  Candidate c;
  for (int i = 0; i < 3; ++i) c.position[i] = yard_box.box.min()[i] + dice.uniform() * size[i];
  c.position[k] = high ? yard_box.box.max()[k] : yard_box.box.min()[k];
  c.normal = (high ? 1.0 : -1.0) * Eigen::Vector3d::Unit(k);
  if (c.position.z() < ground_height(yard, c.position.x(), c.position.y())) return std::nullopt;
  if (!near(c.position)) return std::nullopt;
  c.label = label;
  c.own_box = index;
  c.tone = 8.0 * std::sin(c.position.y() / 7.0);
  return c;
}

/// Pixels that fell between a near and a far surface, and a few in the air.
void add_strays(std::vector<Seen>& seen, const Walk& walk, int count, Dice& dice) {
  const int known = static_cast<int>(seen.size());
  for (int i = 0; i < count && known > 0; ++i) {
    Seen stray = seen[static_cast<std::size_t>(dice.below(known))];
    if (i % 4 == 3) {
      stray.position = {walk.centre.x() + dice.uniform(-1, 1) * walk.half.x(),
                        walk.centre.y() + dice.uniform(-1, 1) * walk.half.y(),
                        dice.uniform(50, 1500)};
    } else {
      const double far = 25.0 - 120.0 * std::log(1.0 - dice.uniform());
      stray.position += (dice.uniform() < 0.7 ? far : -far) * stray.ray;
    }
    stray.label = Label::stray;
    seen.push_back(stray);
  }
}

std::array<std::uint8_t, 3> colour_of(const Seen& point, Dice& dice) {
  constexpr std::array<std::array<double, 3>, 9> kBase{{{104, 84, 66},
                                                        {196, 164, 122},
                                                        {88, 112, 52},
                                                        {140, 132, 120},
                                                        {112, 96, 82},
                                                        {70, 62, 60},
                                                        {120, 116, 104},
                                                        {108, 86, 70},
                                                        {116, 92, 70}}};
  const auto& base = kBase[static_cast<std::size_t>(point.label)];
  const double shade = point.tone + 9.0 * dice.normal();
  std::array<std::uint8_t, 3> colour{};
  for (std::size_t k = 0; k < 3; ++k)
    colour[k] = static_cast<std::uint8_t>(std::clamp(base[k] + shade, 0.0, 255.0));
  return colour;
}

double units_per_mm(const PhoneSettings& settings) {
  const double unit = settings.unit == FileUnit::metre        ? 1000.0
                      : settings.unit == FileUnit::centimetre ? 10.0
                                                              : 1.0;
  return settings.scale / unit;
}

Eigen::Matrix4d yard_to_file(const PhoneSettings& settings) {
  Eigen::Matrix3d turn =
      Eigen::AngleAxisd(settings.yaw * kTurn / 360.0, Eigen::Vector3d::UnitZ()).toRotationMatrix();
  Eigen::Matrix3d axes = Eigen::Matrix3d::Identity();
  if (settings.up == FileUp::y) axes << 1, 0, 0, 0, 0, 1, 0, -1, 0;
  Eigen::Matrix4d matrix = Eigen::Matrix4d::Identity();
  matrix.topLeftCorner<3, 3>() = units_per_mm(settings) * axes * turn;
  matrix.topRightCorner<3, 1>() = units_per_mm(settings) * axes * (settings.offset * 1000.0);
  return matrix;
}

void check(const PhoneSettings& settings) {
  const auto refuse = [](const char* sentence) { throw UserError(Fault::usage, sentence); };
  if (settings.points < 100 || settings.points > 50000000)
    refuse("A scan has 100 to 50 million points; ask for another number.");
  if (!(settings.noise >= 0 && settings.noise <= 100)) refuse("Noise goes from 0 to 100 mm.");
  if (!(settings.hidden >= 0 && settings.hidden <= 0.4))
    refuse("The hidden share of the girth goes from 0 to 0.4.");
  if (!(settings.scale > 0)) refuse("The scale must be more than 0.");
  if (!(settings.bunk_inset > 0.02 && settings.bunk_inset < 0.48))
    refuse("Bunks stand 0.02 to 0.48 of the length from the ends.");
  const Surroundings& about = settings.about;
  if (!(about.fork_at >= 0 && about.fork_at < 1 && about.crop_at >= 0 && about.crop_at < 1))
    refuse("A fork or the border of a scan is 0 to 1 of the length from the butt.");
  if (!(about.fork_angle >= 5 && about.fork_angle <= 90 && std::abs(about.crop_angle) <= 60))
    refuse("A fork has an angle from 5 to 90 degrees, the border of a scan one up to 60.");
}

Walk make_walk(const InventedLog& log, const PhoneSettings& settings, Dice& dice) {
  Walk walk;
  const double girth_room = log.butt_radius + log.flare;
  walk.centre = {log.length / 2, settings.second_log ? 250.0 : 0.0};
  walk.half = {log.length / 2 + 1150, girth_room + (settings.second_log ? 1500 : 1250)};
  if (settings.about.pose != LogPose::lying) {
    walk.centre = {0, 0};
    walk.half = {girth_room + 1250, girth_room + 1250};
  }
  for (double& phase : walk.phase) phase = dice.uniform(0, kTurn);
  walk.noise = settings.noise;
  walk.drift = settings.drift;
  return walk;
}

int share_of(double share, bool there, int points) {
  return there ? static_cast<int>(std::lround(share * points)) : 0;
}

std::vector<Seen> see(const Yard& yard, const Walk& walk, const PhoneSettings& s, Dice& dice) {
  Phone phone(yard, walk, dice);
  const int ground = share_of(s.ground_share, s.ground, s.points);
  const auto has_box = [&](Label label) {
    return std::any_of(yard.boxes.begin(), yard.boxes.end(),
                       [&](const YardBox& box) { return box.label == label; });
  };
  const int bunks = share_of(s.bunk_share, has_box(Label::bunk), s.points);
  const bool has_second = yard.logs.size() > 1 && yard.logs[1].label == Label::second_log;
  const int second = share_of(s.second_log_share, has_second, s.points);
  const int clutter = share_of(s.clutter_share, has_box(Label::clutter), s.points);
  const int strays = share_of(s.stray_share, true, s.points);
  std::vector<int> grown(yard.logs.size(), 0);  // points of forks, branches and round posts
  for (std::size_t i = 1; i < yard.logs.size(); ++i) {
    const Label label = yard.logs[i].label;
    const double share = label == Label::fork      ? s.fork_share
                         : label == Label::branch  ? s.branch_share
                         : label == Label::clutter ? s.clutter_share
                                                   : 0.0;
    grown[i] = share_of(share, true, s.points);
  }
  const int more = std::accumulate(grown.begin(), grown.end(), 0);
  LogSurface log(yard, 0, s.hidden, dice);
  phone.look([&](const Near& near) { return log.next(near); },
             s.points - ground - bunks - second - clutter - strays - more);
  phone.look([&](const Near& near) { return on_ground(yard, walk, s.about.grass, near, dice); },
             ground);
  phone.look([&](const Near& near) { return on_boxes(yard, Label::bunk, near, dice); }, bunks);
  phone.look([&](const Near& near) { return on_boxes(yard, Label::clutter, near, dice); }, clutter);
  if (second > 0) {
    LogSurface other(yard, 1, 0.2, dice);
    phone.look([&](const Near& near) { return other.next(near); }, second);
  }
  for (std::size_t i = 1; i < grown.size(); ++i) {
    if (grown[i] == 0) continue;
    LogSurface other(yard, static_cast<int>(i), 0.0, dice);
    phone.look([&](const Near& near) { return other.next(near); }, grown[i]);
  }
  add_strays(phone.seen, walk, strays, dice);
  return phone.seen;
}

}  // namespace

PhoneScan scan_like_a_phone(const InventedLog& log, const PhoneSettings& settings) {
  check(settings);
  Dice dice(settings.seed);
  const Yard yard = make_yard(log, settings, dice);
  const Walk walk = make_walk(log, settings, dice);
  std::vector<Seen> seen = see(yard, walk, settings, dice);
  for (std::size_t i = seen.size(); i > 1; --i)  // Fisher and Yates: the order tells nothing
    std::swap(seen[i - 1], seen[static_cast<std::size_t>(dice.below(static_cast<int>(i)))]);
  const ScanBorder border = scan_border(log, settings);
  const Eigen::Isometry3d to_log = yard.logs.front().to_yard.inverse();
  std::erase_if(seen, [&](const Seen& point) {
    return border.normal.dot(to_log * point.position) > border.distance;
  });
  const Eigen::Matrix4d to_file = yard_to_file(settings);
  const double grid = 0.1 * units_per_mm(settings) / settings.scale;
  PhoneScan scan;
  scan.scan_to_log = (to_file * yard.logs.front().to_yard.matrix()).inverse();
  scan.points.reserve(seen.size());
  for (const Seen& point : seen) {
    const Eigen::Vector3d p = (to_file * point.position.homogeneous()).head<3>();
    ScannedPoint out;
    for (int k = 0; k < 3; ++k)
      out.position[k] = static_cast<float>(std::round(p[k] / grid) * grid);
    out.colour = colour_of(point, dice);
    out.label = point.label;
    scan.points.push_back(out);
  }
  return scan;
}

}  // namespace kerfwright
