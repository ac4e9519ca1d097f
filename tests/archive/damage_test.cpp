#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <fstream>

#include "error_of.hpp"
#include "kept.hpp"

namespace kerfwright {
namespace {

/// An archive with two logs, one of them planned, which then is damaged by a statement.
std::vector<std::string> found_after(const std::string& statement) {
  const std::string place = kept::fresh_place();
  {
    Archive archive = kept::made(place);
    archive.add(kept::planned_log("planned"), false);
    archive.add(kept::new_log("other", kept::log_of({})), false);
    EXPECT_TRUE(archive.check().empty());
  }
  {
    SQLite::Database database(place, SQLite::OPEN_READWRITE);
    EXPECT_GT(database.exec(statement), 0) << statement;
  }
  return Archive::open(place, Archive::Access::existing).check();
}

TEST(ArchiveCheck, FindsEveryKindOfDamage) {
  const std::vector<std::string> damages = {
      "UPDATE logs SET note = 'changed' WHERE name = 'planned'",
      "UPDATE logs SET length = length + 1 WHERE name = 'planned'",
      "UPDATE logs SET name = 'renamed' WHERE name = 'planned'",
      "UPDATE logs SET shape_sha256 = 'a' WHERE name = 'planned'",
      "UPDATE files SET sha256 = 'a' WHERE kind = 'picture'",
      "UPDATE files SET size = 900000001 WHERE kind = 'picture'",
      "UPDATE files SET size = size - 1 WHERE kind = 'plan'",
      "UPDATE files SET kind = 'song' WHERE kind = 'picture'",
      "UPDATE files SET packed = zeroblob(100) WHERE kind = 'plan'",
      "UPDATE files SET packed = substr(packed, 1, length(packed) / 2) WHERE kind = 'picture'",
      "UPDATE files SET log = 1, name = 'plan-2.json', kind = 'plan' WHERE log = 2",
      "DELETE FROM files WHERE kind = 'shape' AND log = 1",
      "DELETE FROM sketches WHERE log = 1",
      "UPDATE sketches SET widest = 1 WHERE log = 1",
      "UPDATE sketches SET bytes = zeroblob(100) WHERE log = 1",
      "DELETE FROM logs WHERE name = 'planned'"};  // its files stay: references are not watched
                                                   // here
  for (const std::string& damage : damages) EXPECT_FALSE(found_after(damage).empty()) << damage;
}

TEST(ArchiveCheck, SaysNothingOfAChangeThatIsNone) {
  EXPECT_TRUE(found_after("UPDATE logs SET note = note").empty());
}

TEST(ArchiveDamage, OneFileNeverComesBackWrong) {
  const std::string place = kept::fresh_place();
  const NewLog log = kept::planned_log("log");
  kept::made(place).add(log, false);
  SQLite::Database(place, SQLite::OPEN_READWRITE)
      .exec(
          "UPDATE files SET packed = (SELECT packed FROM files WHERE kind = 'picture'), size = "
          "(SELECT size FROM files WHERE kind = 'picture') WHERE kind = 'plan'");
  const Archive archive = Archive::open(place, Archive::Access::existing);
  const auto error = error_of([&] { archive.file(archive.log("log"), "plan-1.json"); });
  EXPECT_EQ(error.fault(), Fault::bad_archive);
}

// Recipe: 300 archives, each with one byte changed at a place and to a value from a linear
// congruential sequence. Whatever is asked of them ends in an answer or in a sentence.
TEST(ArchiveDamage, AnyByteChangedEndsInAnAnswerOrASentence) {
  const std::string place = kept::fresh_place();
  const NewLog planned = kept::planned_log("log");
  const auto was_kept = [&](const std::string& bytes) {
    return std::any_of(planned.files.begin(), planned.files.end(),
                       [&](const KeptFile& file) { return file.bytes == bytes; });
  };
  kept::made(place).add(planned, false);
  const std::string sound = kept::bytes_at(place);
  unsigned state = 1;
  int noticed = 0;
  for (int i = 0; i < 300; ++i) {
    std::string bytes = sound;
    state = state * 1664525U + 1013904223U;
    const std::size_t at = (state >> 4) % (i % 3 == 0 ? 4096 : bytes.size());
    state = state * 1664525U + 1013904223U;
    bytes[at] = static_cast<char>(bytes[at] ^ (1U + (state >> 8) % 255U));
    for (const char* beside : {"-wal", "-shm"}) std::filesystem::remove(place + beside);
    std::ofstream(place, std::ios::binary) << bytes;
    try {
      Archive archive = Archive::open(place, Archive::Access::existing);
      if (!archive.check().empty()) ++noticed;
      LogQuery query;
      query.gives = PieceSize{50, 150, 1500};
      archive.find(query);
      const KeptLog log = archive.log("log");
      // Whoever gets a file gets the one that was kept.
      for (const FileEntry& file : archive.files(log))
        EXPECT_TRUE(was_kept(archive.file(log, file.name))) << file.name;
    } catch (const UserError& error) {
      EXPECT_NE(error.fault(), Fault::internal) << error.what();
      ++noticed;
    }
  }
  EXPECT_GT(noticed, 75);  // the rest hit free bytes of pages and what nothing depends on
}

}  // namespace
}  // namespace kerfwright
