#include "check.hpp"

#include <cmath>

#include "insert.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "rows.hpp"
#include "trade/words.hpp"

namespace kerfwright::archive {
namespace {

using Sentences = std::vector<std::string>;

void check_file(SQLite::Database& database, Sentences& wrong) {
  SQLite::Statement pages(database, "PRAGMA integrity_check");
  while (pages.executeStep()) {
    const std::string line = pages.getColumn(0).getString();
    if (line != "ok") wrong.push_back("The file itself is damaged: " + one_line(line) + ".");
  }
  SQLite::Statement references(database, "PRAGMA foreign_key_check");
  while (references.executeStep()) {
    wrong.push_back("A row of '" + one_line(references.getColumn(0).getString()) +
                    "' belongs to a log that is not there.");
  }
}

/// The row and its checksum, which stands behind all other columns.
void check_row(const KeptLog& log, const std::string& sha256, Sentences& wrong) {
  if (sha256_hex(row_text(log)) != sha256)
    wrong.push_back("What is written of the log " + in_quotes(log.card.name) +
                    " does not match its checksum.");
}

/// A part of the check whose complaint is one of the sentences.
template <class Call>
void noting(const KeptLog& log, Sentences& wrong, Call&& call) {
  try {
    call();
  } catch (const SQLite::Exception&) {
    throw;
  } catch (const std::exception& error) {
    wrong.push_back(in_quotes(log.card.name) + ": " + error.what());
  }
}

void check_contents(SQLite::Database& database, const KeptLog& log, Sentences& wrong) {
  SQLite::Statement files(database, "SELECT name, kind FROM files WHERE log = ? ORDER BY name");
  files.bind(1, log.id);
  bool shape = false;
  while (files.executeStep()) {
    const std::string name = files.getColumn(0).getString(), kind = files.getColumn(1).getString();
    noting(log, wrong, [&] {
      if (kind_of(name) != kind || kind.empty())
        throw std::runtime_error("a file " + in_quotes(name) + " is of no kind that a log has.");
      const std::string bytes = file_bytes(database, log.id, name);
      if (kind == "plan") {
        if (plan_from_json(bytes, name).shape_sha256 != log.shape_sha256)
          throw std::runtime_error("'" + name + "' was made on another shape.");
      } else if (kind == "shape") {
        shape = true;
        if (sha256_hex(bytes) != log.shape_sha256)
          throw std::runtime_error("its shape is another than the one it was kept with.");
        shape_from_json(bytes, name);
      }
    });
  }
  if (!shape) wrong.push_back(in_quotes(log.card.name) + " has no shape that can be read.");
}

void check_sketch(SQLite::Database& database, const KeptLog& log, Sentences& wrong) {
  SQLite::Statement row(database, "SELECT widest, sha256, bytes FROM sketches WHERE log = ?");
  row.bind(1, log.id);
  if (!row.executeStep()) {
    wrong.push_back(in_quotes(log.card.name) + " has no sketch.");
    return;
  }
  noting(log, wrong, [&] {
    const std::string bytes = bytes_of(row.getColumn(2));
    const Sketch sketch = sketch_from_bytes(bytes);
    if (sha256_hex(bytes) != row.getColumn(1).getString() ||
        std::abs(widest(sketch) - row.getColumn(0).getDouble()) > 1e-6)
      throw std::runtime_error("its sketch does not match its checksum.");
  });
}

}  // namespace

Sentences check_all(SQLite::Database& database) {
  Sentences wrong;
  // One view of the archive, whatever others write meanwhile.
  SQLite::Transaction transaction(database);
  check_file(database, wrong);
  SQLite::Statement rows(
      database, std::string("SELECT ") + log_columns + ", logs.sha256 FROM logs ORDER BY logs.id");
  while (rows.executeStep()) {
    const KeptLog log = log_row(rows);
    check_row(log, rows.getColumn(rows.getColumnCount() - 1).getString(), wrong);
    check_contents(database, log, wrong);
    check_sketch(database, log, wrong);
  }
  return wrong;
}

}  // namespace kerfwright::archive
