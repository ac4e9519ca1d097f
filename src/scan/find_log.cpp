#include "kerfwright/scan/find_log.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "kerfwright/error.hpp"
#include "search_log.hpp"

namespace kerfwright {
namespace {

constexpr double shortest = 200.0, longest = 15000.0;  ///< mm, lengths that a log may have
constexpr double thinnest = 50.0, thickest = 2000.0;   ///< mm, and mean diameters
constexpr std::size_t most_points = 1500000;           ///< of a log; more add nothing but time

template <typename... Values>
std::string text(const char* format, Values... values) {
  std::array<char, 256> buffer{};
  std::snprintf(buffer.data(), buffer.size(), format, values...);
  return buffer.data();
}

bool in_range(double length, double diameter) {
  return length >= shortest && length <= longest && diameter >= thinnest && diameter <= thickest;
}

void rescale(Scan& scan, double factor) {
  for (Eigen::Vector3f& point : scan.points) point *= static_cast<float>(factor);
  scan.file_to_scan.topRows<3>() *= factor;
}

FoundLog find_or_refuse(const Scan& scan, const std::optional<Eigen::Vector3d>& up) {
  SearchResult result = search_log(scan.points, up);
  if (!result.log)
    throw UserError(Fault::no_log,
                    scan.source.file + ": no log was found, but " + result.instead +
                        "; scan the log alone, from all sides, or cut the rest out of the "
                        "scan first.");
  return *std::move(result.log);
}

/// With a taped length the scale is known once the log is; a first scale far off is worth a second
/// look with the right one, since grass and rests are judged in millimetres.
FoundLog scale_to_length(Scan& scan, const std::optional<Eigen::Vector3d>& up, double length) {
  FoundLog log = find_or_refuse(scan, up);
  double factor = length / log.length;
  const double first = factor;
  rescale(scan, factor);
  if (factor < 0.8 || factor > 1.25) {
    log = find_or_refuse(scan, up);
    factor = length / log.length;
    rescale(scan, factor);
  } else {
    factor = 1.0;
  }
  if (!scan.unit_guessed && std::abs(first * factor - 1.0) > 0.02)
    scan.notes.push_back(
        text("By the scan's own unit the log is %.0f mm long, by tape %.0f mm: %.1f %% "
             "apart. The tape was believed.",
             length / (first * factor), length, 100.0 * std::abs(first * factor - 1.0)));
  scan.notes.push_back(text("Scaled so that the log is %.0f mm long, as taped.", length));
  log.diameter *= length / log.length;
  log.length = length;
  return log;
}

const char* unit_name(double mm) {
  return mm == 1000.0 ? "metres" : mm == 10.0 ? "centimetres" : "millimetres";
}

/// A guessed unit that makes the log a match or a mast gives way to the one unit that makes it a
/// log.
void correct_unit(Scan& scan, const std::optional<Eigen::Vector3d>& up, FoundLog& log) {
  if (!scan.unit_guessed || in_range(log.length, log.diameter)) return;
  const double now = scan.file_to_scan.topLeftCorner<1, 3>().norm();
  for (const double unit : {1000.0, 10.0, 1.0}) {
    const double factor = unit / now;
    if (std::abs(factor - 1.0) < 1e-6 || !in_range(factor * log.length, factor * log.diameter))
      continue;
    rescale(scan, factor);
    log = find_or_refuse(scan, up);
    std::erase_if(scan.notes,
                  [](const std::string& note) { return note.starts_with("Taken to be in"); });
    scan.notes.push_back(
        text("Taken to be in %s, by the size of the log: --unit says otherwise.", unit_name(unit)));
    return;
  }
}

void refuse_size(const Scan& scan, const FoundLog& log) {
  if (in_range(log.length, log.diameter)) return;
  throw UserError(
      Fault::log_out_of_range,
      scan.source.file +
          text(
              ": the log would be %.3g m long and %.3g m thick; logs from 0.2 to 15 m long "
              "and 0.05 to 2 m thick are planned. If the unit is wrong, say --unit m, cm or mm, or "
              "give the taped --length.",
              log.length / 1000.0, log.diameter / 1000.0));
}

/// Every n-th point of more than enough.
std::vector<Eigen::Vector3f> wood_points(const Scan& scan, const FoundLog& log,
                                         std::vector<std::string>& notes) {
  const std::size_t count = log.wood.size();
  std::vector<Eigen::Vector3f> points;
  const std::size_t kept = std::min(count, most_points);
  points.reserve(kept);
  for (std::size_t i = 0; i < kept; ++i) points.push_back(scan.points[log.wood[i * count / kept]]);
  if (kept < count)
    notes.push_back(text("Of the log's %zu points %zu were used, spread evenly; more add nothing.",
                         count, kept));
  return points;
}

void note_what_was_taken(const Scan& scan, const FoundLog& log, std::vector<std::string>& notes) {
  const std::size_t away = scan.points.size() - log.wood.size();
  const std::size_t ground = std::min(log.ground_points, away);
  std::string note = text("The log has %zu of the %zu points", log.wood.size(), scan.points.size());
  if (away > 0) note += "; taken away were ";
  if (ground > 0) note += text("about %zu of the ground and ", ground);
  if (away > 0) note += text("%zu of rests, other things and strays", away - ground);
  notes.push_back(note + ".");
  if (log.other_logs > 0)
    notes.push_back(
        text("%d other round thing%s %s in the scan; the one with the most surface seen was taken.",
             log.other_logs, log.other_logs == 1 ? "" : "s", log.other_logs == 1 ? "is" : "are"));
  const int faces = (log.faces[0] ? 1 : 0) + (log.faces[1] ? 1 : 0);
  if (faces < 2)
    notes.push_back(faces == 1 ? "One end face was not scanned: the log ends where its bark does."
                               : "No end face was scanned: the log ends where its bark does.");
}

void set_up(const std::optional<Eigen::Vector3d>& given, const FoundLog& log, Scan& result) {
  result.up = given;
  if (given) return;
  if (log.ground_up) {
    result.up = log.ground_up;
    result.notes.push_back("Up is square to the ground that the log lies on: --up says otherwise.");
  } else {
    result.notes.push_back("Nothing in the scan says which way is up: --up says it.");
  }
}

}  // namespace

Scan find_log(const Scan& scan, const FindSettings& settings) {
  Scan work = scan;
  std::optional<Eigen::Vector3d> up = settings.up ? settings.up : scan.up;
  if (up) up = up->normalized();
  FoundLog log;
  if (settings.log_length) {
    log = scale_to_length(work, up, *settings.log_length);
  } else {
    log = find_or_refuse(work, up);
    correct_unit(work, up, log);
  }
  refuse_size(work, log);
  Scan result;
  result.file_to_scan = work.file_to_scan;
  result.source = work.source;
  result.notes = work.notes;
  note_what_was_taken(work, log, result.notes);
  set_up(up, log, result);
  result.points = wood_points(work, log, result.notes);
  return result;
}

}  // namespace kerfwright
