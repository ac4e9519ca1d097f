#include "report/trial.hpp"

#include <cmath>
#include <filesystem>
#include <fstream>

#include "invented/dice.hpp"
#include "invented/phone_scan.hpp"
#include "invented/recipes.hpp"

namespace kerfwright {
namespace {

PhoneSettings phone_for(const TrialSettings& trial, int seed) {
  PhoneSettings phone;
  Dice dice(static_cast<std::uint64_t>(seed) + 777);
  phone.seed = static_cast<std::uint64_t>(seed);
  const double noise = dice.uniform(2.0, 8.0), points = dice.uniform(40e3, 400e3);
  phone.noise = trial.draw ? noise : trial.noise;
  phone.points = static_cast<int>(trial.share * (trial.draw ? points : trial.points));
  phone.hidden = trial.hidden;
  if (!trial.whole) {
    phone.ground = phone.bunks = phone.second_log = phone.clutter = false;
    phone.stray_share = 0;
  }
  return phone;
}

std::filesystem::path kept_file(const TrialSettings& trial, const PhoneSettings& phone) {
  return std::filesystem::path(trial.keep) /
         (std::to_string(phone.seed) + "-" + std::to_string(phone.points) + "-" +
          std::to_string(std::lround(1000 * phone.noise)) + "-" +
          std::to_string(std::lround(1000 * phone.hidden)) + (trial.whole ? "-yard" : "") +
          ".scan");
}

PhoneScan read_kept(const std::filesystem::path& path) {
  PhoneScan scan;
  std::ifstream in(path, std::ios::binary);
  std::uint64_t count = 0;
  in.read(reinterpret_cast<char*>(&count), sizeof count);
  in.read(reinterpret_cast<char*>(scan.scan_to_log.data()), 16 * sizeof(double));
  scan.points.resize(in ? count : 0);
  in.read(reinterpret_cast<char*>(scan.points.data()),
          static_cast<std::streamsize>(count * sizeof(ScannedPoint)));
  return scan;
}

void keep(const std::filesystem::path& path, const PhoneScan& scan) {
  const std::uint64_t count = scan.points.size();
  std::ofstream out(path, std::ios::binary);
  out.write(reinterpret_cast<const char*>(&count), sizeof count);
  out.write(reinterpret_cast<const char*>(scan.scan_to_log.data()), 16 * sizeof(double));
  out.write(reinterpret_cast<const char*>(scan.points.data()),
            static_cast<std::streamsize>(count * sizeof(ScannedPoint)));
}

PhoneScan phone_scan(const TrialSettings& trial, const InventedLog& log, int seed) {
  const PhoneSettings phone = phone_for(trial, seed);
  if (trial.keep.empty()) return scan_like_a_phone(log, phone);
  const auto path = kept_file(trial, phone);
  if (std::filesystem::exists(path)) return read_kept(path);
  const PhoneScan scan = scan_like_a_phone(log, phone);
  keep(path, scan);
  return scan;
}

}  // namespace

Trial make_trial(const TrialSettings& settings, int seed) {
  Trial trial;
  trial.seed = seed;
  trial.log = random_log(static_cast<std::uint64_t>(seed));
  const PhoneScan phone = phone_scan(settings, trial.log, seed);
  for (const auto& point : phone.points) {
    const bool own = point.label == Label::bark || point.label == Label::end_face;
    if (settings.whole || own) trial.scan.points.push_back(1000.0F * point.position);
  }
  trial.scan.file_to_scan.topLeftCorner<3, 3>() *= 1000.0;
  if (!settings.whole) trial.scan.up = Eigen::Vector3d::UnitZ();
  trial.scan.source.points = trial.scan.points.size();
  trial.file_to_truth = phone.scan_to_log;
  return trial;
}

}  // namespace kerfwright
