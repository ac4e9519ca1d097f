#include <SQLiteCpp/SQLiteCpp.h>

#include <fstream>

#include "archive/packing.hpp"
#include "archive/rows.hpp"
#include "error_of.hpp"
#include "kept.hpp"

namespace kerfwright {
namespace {

// Schema 1 as its files are, written down once more so that a change to the program's own text of
// it is noticed.
constexpr const char* schema_1 = R"(
CREATE TABLE logs (id INTEGER PRIMARY KEY, name TEXT NOT NULL CHECK (name <> ''),
  added TEXT NOT NULL, binned TEXT, species TEXT NOT NULL, place TEXT NOT NULL,
  felled TEXT NOT NULL, moisture REAL, note TEXT NOT NULL, length REAL NOT NULL, butt REAL NOT NULL,
  middle REAL NOT NULL, top REAL NOT NULL, sweep REAL NOT NULL, volume_over REAL NOT NULL,
  volume_under REAL NOT NULL, scan_sha256 TEXT NOT NULL, shape_sha256 TEXT NOT NULL,
  sha256 TEXT NOT NULL) STRICT;
CREATE UNIQUE INDEX logs_name ON logs (name) WHERE binned IS NULL;
CREATE INDEX logs_length ON logs (length);
CREATE INDEX logs_middle ON logs (middle);
CREATE INDEX logs_sweep ON logs (sweep);
CREATE INDEX logs_volume ON logs (volume_under);
CREATE INDEX logs_scan ON logs (scan_sha256);
CREATE INDEX logs_shape ON logs (shape_sha256);
CREATE TABLE files (id INTEGER PRIMARY KEY,
  log INTEGER NOT NULL REFERENCES logs (id) ON DELETE CASCADE, name TEXT NOT NULL,
  kind TEXT NOT NULL, added TEXT NOT NULL, size INTEGER NOT NULL, sha256 TEXT NOT NULL,
  packed BLOB NOT NULL, UNIQUE (log, name)) STRICT;
CREATE INDEX files_kind ON files (log, kind);
PRAGMA application_id = 0x4b657266;
PRAGMA user_version = 1;
)";

SQLite::Database opened(const std::string& place) {
  return {place, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
}

/// A file of schema 1 with a log in it.
void write_schema_1(const std::string& place, const std::string& shape) {
  SQLite::Database database = opened(place);
  database.exec(schema_1);
  KeptLog log;
  log.card = {"old one", "oak", "", "2019", {}, "felled in a storm"};
  log.added = "2020-01-02T03:04:05Z";
  log.sizes = {2000, 300, 290, 280, 30, 0.14, 0.13};
  log.shape_sha256 = sha256_hex(shape);
  archive::insert_log(database, log);
  archive::insert_file(database, 1, {"shape.json", "shape", shape, log.added});
}

TEST(ArchiveSchema, OneIsBroughtUpToDateWithNothingLost) {
  const std::string place = kept::fresh_place();
  const std::string shape = shape_to_json(kept::log_of({}));
  write_schema_1(place, shape);
  for (int time = 0; time < 2; ++time) {
    const Archive archive = Archive::open(place, Archive::Access::existing);
    const KeptLog log = archive.log("old one");
    EXPECT_EQ(log.card.note, "felled in a storm");
    EXPECT_EQ(log.added, "2020-01-02T03:04:05Z");
    EXPECT_EQ(archive.file(log, "shape.json"), shape);
    EXPECT_TRUE(archive.check().empty());
    LogQuery query;
    query.gives = PieceSize{50, 150, 1500};  // asks the sketch, which schema 1 has not
    EXPECT_EQ(archive.find(query).size(), 1U);
  }
  SQLite::Database database = opened(place);
  EXPECT_EQ(database.execAndGet("PRAGMA user_version").getInt(), 2);
}

TEST(ArchiveSchema, OneThatCannotBeBroughtUpStaysAsItIs) {
  const std::string place = kept::fresh_place();
  write_schema_1(place, "{\"format\": \"kerfwright-shape\", \"version\": 99}");
  EXPECT_EQ(error_of([&] { Archive::open(place, Archive::Access::existing); }).fault(),
            Fault::bad_shape);
  SQLite::Database database = opened(place);
  EXPECT_EQ(database.execAndGet("PRAGMA user_version").getInt(), 1);
  EXPECT_EQ(database.execAndGet("SELECT count(*) FROM logs").getInt(), 1);
  EXPECT_FALSE(database.tableExists("sketches"));
}

TEST(ArchiveSchema, ANewerOneIsRefusedAndNotTouched) {
  const std::string place = kept::fresh_place();
  kept::made(place).add(kept::new_log("log", kept::log_of({})), false);
  opened(place).exec("PRAGMA user_version = 3");
  const std::string before = kept::bytes_at(place);
  for (const auto access : {Archive::Access::existing, Archive::Access::made}) {
    const auto error = error_of([&] { Archive::open(place, access); });
    EXPECT_EQ(error.fault(), Fault::bad_archive);
    EXPECT_NE(std::string(error.what()).find("newer"), std::string::npos);
  }
  EXPECT_EQ(kept::bytes_at(place), before);
}

TEST(ArchiveSchema, WhatIsNoArchiveIsRefusedAndNotTouched) {
  const std::string place = kept::fresh_place();
  const auto refused = [&](const std::string& file, Fault fault) {
    const bool empty = std::filesystem::file_size(file) == 0;
    const std::string before = empty ? "" : kept::bytes_at(file);
    EXPECT_EQ(error_of([&] { Archive::open(file, Archive::Access::existing); }).fault(), fault);
    if (!empty) {
      EXPECT_EQ(error_of([&] { Archive::open(file, Archive::Access::made); }).fault(), fault);
      EXPECT_EQ(kept::bytes_at(file), before);
    }
    EXPECT_EQ(std::filesystem::file_size(file), before.size());
  };
  std::ofstream(place + ".txt") << "not an archive, but a text";
  refused(place + ".txt", Fault::bad_archive);
  std::ofstream(place + ".long") << std::string(10'000, 'x');
  refused(place + ".long", Fault::bad_archive);
  std::ofstream(place + ".none") << "";
  refused(place + ".none", Fault::no_file);
  opened(place + ".other").exec("CREATE TABLE birds (song TEXT)");
  refused(place + ".other", Fault::bad_archive);
  EXPECT_EQ(error_of([&] { Archive::open(place, Archive::Access::existing); }).fault(),
            Fault::no_file);
  EXPECT_FALSE(std::filesystem::exists(place));
  std::filesystem::create_directory(place);
  EXPECT_EQ(error_of([&] { Archive::open(place, Archive::Access::made); }).fault(),
            Fault::bad_archive);
}

}  // namespace
}  // namespace kerfwright
