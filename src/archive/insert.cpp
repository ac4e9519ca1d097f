#include "insert.hpp"

#include <algorithm>
#include <cstdio>

#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "packing.hpp"
#include "rows.hpp"
#include "trade/words.hpp"

namespace kerfwright::archive {
namespace {

// Most pairs of scans of one log come out below this (DEVELOPERS.md); sketches alone see less.
constexpr double alike = 1.25, alike_in_small = 3.0;
constexpr std::size_t most_candidates = 5;

LogSizes sizes_of(const LogShape& shape) {
  const LogMeasures all = measure(shape);
  return {all.length, all.butt.mean_over_bark, all.middle.mean_over_bark, all.top.mean_over_bark,
          all.sweep,  all.volume_over_bark,    all.volume_under_bark};
}

const KeptFile& shape_file(const NewLog& log) {
  for (const KeptFile& file : log.files)
    if (file.name == "shape.json") return file;
  throw UserError(Fault::bad_shape, "The log '" + log.card.name +
                                        "' has no shape.json; a log is "
                                        "kept with its shape.");
}

void check_files(const NewLog& log) {
  const std::string shape_sha256 = sha256_hex(shape_file(log).bytes);
  std::vector<std::string> names;
  for (const KeptFile& file : log.files) {
    if (kind_of(file.name) != file.kind || file.kind.empty())
      throw UserError(Fault::internal, "'" + file.name + "' is no name of a kept file.");
    if (file.bytes.size() > largest_file)
      throw UserError(Fault::cannot_write, "'" + file.name + "' of '" + log.card.name +
                                               "' has more than 900 MB; thin it first.");
    names.push_back(file.name);
    if (file.kind != "plan") continue;
    const std::string called = log.card.name + "/" + file.name;
    if (plan_from_json(file.bytes, called).shape_sha256 != shape_sha256)
      throw UserError(Fault::bad_plan, "The plan '" + called +
                                           "' was made on another shape than "
                                           "the one beside it; take it away or put it right.");
  }
  std::sort(names.begin(), names.end());
  const auto twice = std::adjacent_find(names.begin(), names.end());
  if (twice != names.end())
    throw UserError(Fault::bad_archive, "'" + *twice + "' stands twice among the files of '" +
                                            log.card.name + "'; take one away.");
}

void refuse_name(SQLite::Database& database, const std::string& name) {
  SQLite::Statement statement(database, "SELECT 1 FROM logs WHERE name = ? AND binned IS NULL");
  statement.bind(1, name);
  if (!statement.executeStep()) return;
  throw UserError(Fault::name_exists, "The archive has a log called " + in_quotes(name) +
                                          "; give another name with --name.");
}

void refuse_same_checksum(SQLite::Database& database, const KeptLog& log) {
  SQLite::Statement statement(
      database,
      "SELECT name, shape_sha256 = ?2 FROM logs WHERE binned IS NULL AND (shape_sha256 = ?2 OR "
      "(scan_sha256 = ?1 AND scan_sha256 <> '')) ORDER BY id");
  statement.bind(1, log.scan_sha256);
  statement.bind(2, log.shape_sha256);
  if (!statement.executeStep()) return;
  const bool shape = statement.getColumn(1).getInt() != 0;
  throw UserError(Fault::kept_before, std::string("This very ") + (shape ? "shape" : "scan") +
                                          " is in the archive as " +
                                          in_quotes(statement.getColumn(0).getString()) +
                                          "; --again keeps it once more.");
}

struct Candidate {
  std::int64_t id = 0;
  std::string name;
  double unlike = 0;
};

/// Logs of about the same size, most alike first by their sketches.
std::vector<Candidate> candidates(SQLite::Database& database, const KeptLog& log,
                                  const Sketch& sketch) {
  SQLite::Statement statement(
      database,
      "SELECT logs.id, name, bytes FROM logs JOIN sketches ON log = logs.id WHERE binned IS NULL "
      "AND length BETWEEN ?1 * 0.98 AND ?1 * 1.02 AND volume_over BETWEEN ?2 * 0.95 AND ?2 * 1.05");
  statement.bind(1, log.sizes.length);
  statement.bind(2, log.sizes.volume_over);
  std::vector<Candidate> found;
  while (statement.executeStep()) {
    const Sketch other = sketch_from_bytes(bytes_of(statement.getColumn(2)));
    const double unlike = unlikeness(sketch, other);
    if (unlike <= alike_in_small)
      found.push_back(
          {statement.getColumn(0).getInt64(), statement.getColumn(1).getString(), unlike});
  }
  std::sort(found.begin(), found.end(), [](const Candidate& a, const Candidate& b) {
    return a.unlike < b.unlike || (a.unlike == b.unlike && a.id < b.id);
  });
  if (found.size() > most_candidates) found.resize(most_candidates);
  return found;
}

/// The same in full, on the shapes themselves.
void refuse_alike(SQLite::Database& database, const KeptLog& log, const LogShape& shape,
                  const Sketch& sketch) {
  const auto fine = [](const LogShape& of) { return sketch_of(of, 64, 64); };
  const Sketch own = fine(shape);
  for (const Candidate& candidate : candidates(database, log, sketch)) {
    const std::string text = file_bytes(database, candidate.id, "shape.json");
    const double unlike = unlikeness(own, fine(shape_from_json(text, candidate.name)));
    if (unlike > alike) continue;
    char times[32];
    std::snprintf(times, sizeof times, "%.1f", unlike);
    throw UserError(Fault::kept_before,
                    "Is this log in the archive as " + in_quotes(candidate.name) +
                        "? Turned about its axis its surface lies " + times +
                        " times as far away as two scans of one log do; --again keeps it all the "
                        "same.");
  }
}

}  // namespace

void change_log(SQLite::Database& database, const KeptLog& log, const LogCard& card) {
  SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
  if (card.name != log.card.name) refuse_name(database, card.name);
  KeptLog changed = log;
  changed.card = card;
  SQLite::Statement statement(database,
                              "UPDATE logs SET name = ?, species = ?, place = ?, felled = ?, "
                              "moisture = ?, note = ?, sha256 = ? WHERE id = ?");
  int at = 0;
  for (const std::string* text : {&card.name, &card.species, &card.place, &card.felled})
    statement.bind(++at, *text);
  ++at;
  if (card.moisture) statement.bind(at, *card.moisture);
  statement.bind(++at, card.note);
  statement.bind(++at, sha256_hex(row_text(changed)));
  statement.bind(++at, log.id);
  statement.exec();
  transaction.commit();
}

std::string kind_of(const std::string& name) {
  if (name == "shape.json") return "shape";
  const std::size_t point = name.find('.');
  if (point == std::string::npos) return {};
  const std::string stem = name.substr(0, point), ending = name.substr(point + 1);
  const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'); };
  if (ending.empty() || ending.size() > 8 || !std::all_of(ending.begin(), ending.end(), letter))
    return {};
  if (stem == "scan") return "scan";
  const std::size_t dash = stem.find('-');
  if (dash == std::string::npos) return {};
  const std::string kind = stem.substr(0, dash), number = stem.substr(dash + 1);
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  if (number.empty() || number.size() > 6 || number.front() == '0' ||
      !std::all_of(number.begin(), number.end(), digit))
    return {};
  if (kind == "plan" && ending == "json") return kind;
  if (kind == "tally" && ending == "csv") return kind;
  return kind == "picture" ? kind : std::string();
}

void add_log(SQLite::Database& database, const NewLog& log, bool again) {
  check_files(log);
  const KeptFile& file = shape_file(log);
  const LogShape shape = shape_from_json(file.bytes, log.card.name + "/shape.json");
  KeptLog row;
  row.card = log.card;
  row.added = log.added.empty() ? now() : log.added;
  row.sizes = sizes_of(shape);
  row.scan_sha256 = shape.source.sha256;
  row.shape_sha256 = sha256_hex(file.bytes);
  const Sketch sketch = sketch_of(shape);
  SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
  refuse_name(database, row.card.name);
  if (!again) {
    refuse_same_checksum(database, row);
    refuse_alike(database, row, shape, sketch);
  }
  const std::int64_t id = insert_log(database, row);
  for (const KeptFile& each : log.files) insert_file(database, id, each);
  insert_sketch(database, id, sketch);
  transaction.commit();
}

}  // namespace kerfwright::archive
