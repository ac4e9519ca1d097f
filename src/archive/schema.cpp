#include "database.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "rows.hpp"

namespace kerfwright::archive {

// Never change a schema that was once written: add the next one, and its test.
const char* const schema_1 = R"(
CREATE TABLE logs (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL CHECK (name <> ''),
  added TEXT NOT NULL,
  binned TEXT,
  species TEXT NOT NULL,
  place TEXT NOT NULL,
  felled TEXT NOT NULL,
  moisture REAL,
  note TEXT NOT NULL,
  length REAL NOT NULL,
  butt REAL NOT NULL,
  middle REAL NOT NULL,
  top REAL NOT NULL,
  sweep REAL NOT NULL,
  volume_over REAL NOT NULL,
  volume_under REAL NOT NULL,
  scan_sha256 TEXT NOT NULL,
  shape_sha256 TEXT NOT NULL,
  sha256 TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX logs_name ON logs (name) WHERE binned IS NULL;
CREATE INDEX logs_length ON logs (length);
CREATE INDEX logs_middle ON logs (middle);
CREATE INDEX logs_sweep ON logs (sweep);
CREATE INDEX logs_volume ON logs (volume_under);
CREATE INDEX logs_scan ON logs (scan_sha256);
CREATE INDEX logs_shape ON logs (shape_sha256);
CREATE TABLE files (
  id INTEGER PRIMARY KEY,
  log INTEGER NOT NULL REFERENCES logs (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  kind TEXT NOT NULL,
  added TEXT NOT NULL,
  size INTEGER NOT NULL,
  sha256 TEXT NOT NULL,
  packed BLOB NOT NULL,
  UNIQUE (log, name)
) STRICT;
CREATE INDEX files_kind ON files (log, kind);
)";

// Asked what a log could give, and whether it is there already, thousands of shapes would have to
// be read: a sketch of each is enough.
const char* const schema_2 = R"(
CREATE TABLE sketches (
  log INTEGER PRIMARY KEY REFERENCES logs (id) ON DELETE CASCADE,
  widest REAL NOT NULL,
  sha256 TEXT NOT NULL,
  bytes BLOB NOT NULL
) STRICT;
)";

void add_sketches(SQLite::Database& database) {
  SQLite::Statement missing(
      database, "SELECT id FROM logs WHERE id NOT IN (SELECT log FROM sketches) ORDER BY id");
  std::vector<std::int64_t> ids;
  while (missing.executeStep()) ids.push_back(missing.getColumn(0).getInt64());
  for (const std::int64_t id : ids) {
    const std::string text = file_bytes(database, id, "shape.json");
    insert_sketch(database, id, sketch_of(shape_from_json(text, "shape.json")));
  }
}

}  // namespace kerfwright::archive
