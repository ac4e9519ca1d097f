#include "kerfwright/scan/find_log.hpp"

#include <Eigen/Geometry>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>

#include "kerfwright/error.hpp"
#include "search_log.hpp"

namespace kerfwright {
namespace {

constexpr double shortest = 200.0, longest = 15000.0;  ///< mm, lengths that a log may have
constexpr double thinnest = 50.0, thickest = 2000.0;   ///< mm, and mean diameters
constexpr std::size_t most_points = 1500000;           ///< of a log; more add nothing but time

template <typename... Values>
std::string text(const char* format, Values... values) {
  std::array<char, 384> buffer{};
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

/// A point of the file in the scan's own frame.
Eigen::Vector3d in_scan(const Scan& scan, const Eigen::Vector3d& file) {
  return (scan.file_to_scan * file.homogeneous()).head<3>();
}

Eigen::Vector3d in_file(const Scan& scan, const Eigen::Vector3d& mm) {
  return (scan.file_to_scan.inverse() * mm.homogeneous()).head<3>();
}

FoundLog find_or_refuse(const Scan& scan, const FindSettings& settings) {
  std::optional<Eigen::Vector3d> near;
  if (settings.near) near = in_scan(scan, *settings.near);
  SearchResult result = search_log(scan.points, settings.up, near);
  if (!result.log)
    throw UserError(Fault::no_log,
                    scan.source.file + ": no log was found, but " + result.instead +
                        "; scan the log alone, from all sides, or cut the rest out of the "
                        "scan first.");
  if (result.on_its_flat)
    throw UserError(Fault::no_log,
                    scan.source.file +
                        ": there is no wood where the log's lower side should be: it seems to be "
                        "half a log that lies on its flat side, which the scan does not show; turn "
                        "it so that the flat side is seen, and scan it again.");
  return *std::move(result.log);
}

/// By how much the log must grow to be as long, or as thick at an end, as the tape says.
double taped_factor(const TapedSizes& taped, const FoundLog& log) {
  if (taped.length) return *taped.length / log.length;
  if (taped.butt_diameter) return *taped.butt_diameter / log.thick_end;
  if (taped.butt_girth) return *taped.butt_girth / std::numbers::pi / log.thick_end;
  if (taped.top_diameter) return *taped.top_diameter / log.thin_end;
  return *taped.top_girth / std::numbers::pi / log.thin_end;
}

void drop_guess(Scan& scan) {
  std::erase_if(scan.notes,
                [](const std::string& note) { return note.starts_with("Taken to be in"); });
}

/// With a taped size the scale is known once the log is; a first scale far off is worth a second
/// look with the right one, since grass and rests are judged in millimetres.
FoundLog scale_to_tape(Scan& scan, const FindSettings& settings) {
  FoundLog log = find_or_refuse(scan, settings);
  double factor = taped_factor(settings.taped, log);
  rescale(scan, factor);
  if (factor < 0.8 || factor > 1.25) {
    log = find_or_refuse(scan, settings);
    factor = taped_factor(settings.taped, log);
    rescale(scan, factor);
  }
  for (double* size : {&log.length, &log.diameter, &log.thick_end, &log.thin_end}) *size *= factor;
  for (OpenEnd& end : log.open_ends) end.centre *= factor;
  for (OtherLog& other : log.others) {
    other.middle *= factor;
    other.length *= factor;
    other.diameter *= factor;
  }
  if (log.fork) {
    log.fork->begin *= factor;
    log.fork->crotch *= factor;
    log.fork->diameter *= factor;
  }
  drop_guess(scan);
  return log;
}

const char* unit_name(double mm) {
  return mm == 1000.0 ? "metres" : mm == 10.0 ? "centimetres" : "millimetres";
}

/// A guessed unit that makes the log a match or a mast gives way to the one unit that makes it a
/// log.
void correct_unit(Scan& scan, const FindSettings& settings, FoundLog& log) {
  if (!scan.unit_guessed || in_range(log.length, log.diameter)) return;
  const double now = scan.file_to_scan.topLeftCorner<1, 3>().norm();
  for (const double unit : {1000.0, 10.0, 1.0}) {
    const double factor = unit / now;
    if (std::abs(factor - 1.0) < 1e-6 || !in_range(factor * log.length, factor * log.diameter))
      continue;
    rescale(scan, factor);
    log = find_or_refuse(scan, settings);
    drop_guess(scan);
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
std::vector<Eigen::Vector3f> wood_points(const Scan& scan, const std::vector<PointLabel>& labels,
                                         std::size_t count, std::vector<std::string>& notes) {
  std::vector<Eigen::Vector3f> points;
  const std::size_t kept = std::min(count, most_points);
  points.reserve(kept);
  std::size_t at = 0;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    if (labels[i] != PointLabel::log) continue;
    if (at == points.size() * count / kept && points.size() < kept)
      points.push_back(scan.points[i]);
    ++at;
  }
  if (kept < count)
    notes.push_back(text("Of the log's %zu points %zu were used, spread evenly; more add nothing.",
                         count, kept));
  return points;
}

void note_what_was_taken(const LogInScan& found, std::vector<std::string>& notes) {
  std::vector<std::string> away;
  for (std::size_t k = 1; k < point_labels; ++k)
    if (found.counts[k] > 0)
      away.push_back(std::to_string(found.counts[k]) + " of " +
                     std::string(label_name(static_cast<PointLabel>(k))));
  std::string note =
      text("The log has %zu of the %zu points", found.counts[0], found.labels.size());
  for (std::size_t i = 0; i < away.size(); ++i)
    note += (i == 0 ? "; taken away were " : i + 1 == away.size() ? " and " : ", ") + away[i];
  notes.push_back(note + ".");
  if (found.open_ends.empty()) return;
  notes.push_back(found.open_ends.size() == 1
                      ? "One end face was not scanned: the log ends where its bark does."
                      : "No end face was scanned: the log ends where its bark does.");
}

/// Where others lie and how to choose one.
void note_others(const Scan& scan, const FoundLog& log, bool chosen,
                 std::vector<std::string>& notes) {
  if (log.others.empty()) return;
  const OtherLog& other = log.others.front();
  const Eigen::Vector3d place = in_file(scan, other.middle);
  const int count = static_cast<int>(log.others.size());
  notes.push_back(text(
      "%d other round thing%s in the scan,%s one %.2f m long and %.0f mm thick; the one %s "
      "was taken. --near %.7g,%.7g,%.7g takes the other%s.",
      count, count == 1 ? " is" : "s are", count == 1 ? "" : " among them", other.length / 1000.0,
      other.diameter, chosen ? "nearest to --near" : "longest and best seen", place.x(), place.y(),
      place.z(), count == 1 ? "" : " described"));
}

void set_up(const std::optional<Eigen::Vector3d>& given, const FoundLog& log, Scan& result) {
  result.up = given;
  if (given) return;
  if (log.ground_up) {
    result.up = log.ground_up;
    result.notes.push_back(
        log.upright ? "The log stands or hangs upright over the ground."
                    : "Up is square to the ground that the log lies on: --up says otherwise.");
  } else {
    result.notes.push_back("Nothing in the scan says which way is up: --up says it.");
  }
}

}  // namespace

std::string_view label_name(PointLabel label) {
  constexpr std::array<std::string_view, point_labels> names{
      "the log",      "the ground", "rests",           "other logs",
      "other things", "strays",     "the second stem", "branches"};
  return names[static_cast<std::size_t>(label)];
}

LogInScan look_for_log(const Scan& scan, const FindSettings& given) {
  Scan work = scan;
  FindSettings settings = given;
  if (!settings.up) settings.up = scan.up;
  if (settings.up) settings.up->normalize();
  FoundLog log;
  if (settings.taped.any()) {
    log = scale_to_tape(work, settings);
  } else {
    log = find_or_refuse(work, settings);
    correct_unit(work, settings, log);
  }
  refuse_size(work, log);
  LogInScan found;
  found.log.file_to_scan = work.file_to_scan;
  found.log.source = work.source;
  found.log.notes = work.notes;
  found.labels = std::move(log.labels);
  for (const PointLabel label : found.labels) ++found.counts[static_cast<std::size_t>(label)];
  found.fork = log.fork;
  found.open_ends = log.open_ends;
  note_what_was_taken(found, found.log.notes);
  note_others(work, log, settings.near.has_value(), found.log.notes);
  set_up(settings.up, log, found.log);
  found.log.points = wood_points(work, found.labels, found.counts[0], found.log.notes);
  return found;
}

Scan find_log(const Scan& scan, const FindSettings& settings) {
  return look_for_log(scan, settings).log;
}

}  // namespace kerfwright
