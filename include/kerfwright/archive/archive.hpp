#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "kerfwright/archive/sketch.hpp"

namespace kerfwright {

/// What a person says of a log. Any text may be empty; all are UTF-8 without control characters but
/// for line breaks in the note.
struct LogCard {
  std::string name;                ///< 1 to 200 bytes, on one line
  std::string species;             ///< as written
  std::string place;               ///< where felled
  std::string felled;              ///< when: YYYY, YYYY-MM or YYYY-MM-DD
  std::optional<double> moisture;  ///< % of the oven-dry mass, 0 to 300
  std::string note;

  bool operator==(const LogCard&) const = default;
};

/// The card, its name left out where it is to be made from `file`, checked.
/// @throws UserError usage
LogCard checked(LogCard card, const std::string& file);

/// A file of a log, byte for byte. Names: shape.json, scan.ply (or the scan's own ending),
/// plan-N.json, tally-N.csv, picture-N with the picture's ending; N counts from 1.
struct KeptFile {
  std::string name, kind;  ///< kind: shape, scan, plan, tally, picture
  std::string bytes;
  std::string added = {};  ///< UTC, YYYY-MM-DDTHH:MM:SSZ; empty = now
};

/// What a log is found by; mm and m3.
struct LogSizes {
  double length = 0;
  double butt = 0, middle = 0, top = 0;  ///< mean diameters over bark
  double sweep = 0;                      ///< greatest distance of the axis from the chord
  double volume_over = 0, volume_under = 0;
};

/// A log of the archive without its files.
struct KeptLog {
  std::int64_t id = 0;
  LogCard card;
  std::string added;                  ///< UTC
  std::optional<std::string> binned;  ///< when it went into the bin
  LogSizes sizes;
  std::string scan_sha256, shape_sha256;
  int plans = 0, tallies = 0;
};

/// A file of a log as a list tells it.
struct FileEntry {
  std::string name, kind, added, sha256;
  std::uint64_t size = 0;  ///< bytes
};

/// A log that is to be kept: `files` holds a shape.json.
struct NewLog {
  LogCard card;
  std::vector<KeptFile> files;
  std::string added = {};  ///< as in KeptFile
};

enum class LogOrder { name, added, species, length, diameter, sweep, volume };

/// What is looked for; an empty optional is no condition. Limits are inclusive.
struct LogQuery {
  std::string species;  ///< a part of it, capitals do not matter
  std::string text;     ///< words that must stand in name, species, place or note
  std::optional<double> min_length, max_length;      ///< mm
  std::optional<double> min_diameter, max_diameter;  ///< mm, mean in the middle, over bark
  std::optional<double> min_sweep, max_sweep;        ///< mm
  std::optional<double> min_volume, max_volume;      ///< m3, under bark
  std::optional<PieceSize> gives;                    ///< see kerfwright::gives
  LogOrder order = LogOrder::name;
  bool descending = false;
  bool binned = false;  ///< what lies in the bin instead
};

/// Logs kept for years: one SQLite file. Every change is one transaction, which is on the disk when
/// the call returns. All members throw UserError: bad_archive, archive_busy, cannot_write, and what
/// is said beside them.
class Archive {
 public:
  enum class Access {
    existing,  ///< it must be there
    made       ///< made where it is not, its folder too
  };

  /// Opens the file and brings an older schema up to date.
  /// @throws UserError no_file where there is none
  static Archive open(const std::string& path, Access access);
  Archive(Archive&&) noexcept;
  ~Archive();

  /// Where the archive lies if nothing else is said: $XDG_DATA_HOME/kerfwright/archive.sqlite, or
  /// that below ~/.local/share.
  /// @throws UserError usage where the environment names no such place
  static std::string default_path();

  /// Keeps a log.
  /// @param again  keep it even where the archive seems to have it
  /// @throws UserError name_exists, kept_before, bad_shape, bad_plan
  void add(const NewLog& log, bool again);

  /// Keeps one more file of a log under the next free number of its kind, or finds it there.
  /// @returns its name
  std::string keep(const KeptLog& log, const std::string& kind, const std::string& ending,
                   const std::string& bytes);

  /// Writes another card for a log.
  /// @throws UserError name_exists
  void change(const KeptLog& log, const LogCard& card);

  /// Keeps a file of that very name, in the place of the one that was there.
  /// @returns whether there was one
  bool replace(const KeptLog& log, const KeptFile& file);

  std::vector<KeptLog> find(const LogQuery& query) const;
  /// @throws UserError not_in_archive, which says what names come near
  KeptLog log(const std::string& name) const;
  /// The log with that very shape, if any.
  std::optional<KeptLog> log_of_shape(const std::string& shape_sha256) const;

  /// In the order of their names; numbers count as numbers.
  std::vector<FileEntry> files(const KeptLog& log) const;
  /// The bytes, checked against their checksum.
  /// @throws UserError not_in_archive
  std::string file(const KeptLog& log, const std::string& name) const;

  void remove(const KeptLog& log);          ///< into the bin
  void take_back(const std::string& name);  ///< the one that was removed last, out of it
  int empty_bin();                          ///< for good; returns how many logs that were

  /// Everything that is wrong, a sentence each: the file itself, references, checksums, shapes and
  /// plans that cannot be read, measures and sketches that are not those of the shape.
  std::vector<std::string> check() const;

 private:
  struct Store;
  explicit Archive(std::unique_ptr<Store> store);
  std::unique_ptr<Store> store_;
};

}  // namespace kerfwright
