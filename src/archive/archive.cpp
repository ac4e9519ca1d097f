#include "kerfwright/archive/archive.hpp"

#include <algorithm>
#include <cstdlib>
#include <filesystem>

#include "check.hpp"
#include "database.hpp"
#include "insert.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "query.hpp"
#include "rows.hpp"
#include "trade/words.hpp"

namespace kerfwright {

using archive::guarded;

struct Archive::Store {
  std::string path;
  SQLite::Database database;
};

namespace {

using Immediate = SQLite::Transaction;
constexpr auto at_once = SQLite::TransactionBehavior::IMMEDIATE;

std::optional<KeptLog> first_of(SQLite::Statement& statement) {
  if (!statement.executeStep()) return std::nullopt;
  return archive::log_row(statement);
}

std::optional<KeptLog> named(SQLite::Database& database, const std::string& name, bool binned) {
  SQLite::Statement statement(
      database,
      std::string("SELECT ") + archive::log_columns + " FROM logs WHERE name = ? AND " +
          (binned ? "binned IS NOT NULL ORDER BY binned DESC, id DESC" : "binned IS NULL"));
  statement.bind(1, name);
  return first_of(statement);
}

[[noreturn]] void refuse_unknown(SQLite::Database& database, const std::string& name, bool binned) {
  SQLite::Statement statement(database, std::string("SELECT name FROM logs WHERE binned IS ") +
                                            (binned ? "NOT NULL" : "NULL") + " ORDER BY name, id");
  std::vector<std::string> names;
  while (statement.executeStep()) names.push_back(statement.getColumn(0).getString());
  std::string near;
  for (const std::string& word : close_words(name, names, 3))
    near += (near.empty() ? "; did you mean " : ", ") + in_quotes(word);
  throw UserError(Fault::not_in_archive,
                  std::string(binned ? "The bin of the archive" : "The archive") +
                      " has no log called " + in_quotes(name) +
                      (near.empty() ? "; 'kerfwright archive list' shows all." : near + "?"));
}

std::vector<FileEntry> entries(SQLite::Database& database, std::int64_t log) {
  SQLite::Statement statement(database,
                              "SELECT name, kind, added, sha256, size FROM files WHERE log = ?");
  statement.bind(1, log);
  std::vector<FileEntry> all;
  while (statement.executeStep()) {
    all.push_back({statement.getColumn(0).getString(), statement.getColumn(1).getString(),
                   statement.getColumn(2).getString(), statement.getColumn(3).getString(),
                   static_cast<std::uint64_t>(statement.getColumn(4).getInt64())});
  }
  std::sort(all.begin(), all.end(),
            [](const FileEntry& a, const FileEntry& b) { return archive::before(a.name, b.name); });
  return all;
}

}  // namespace

Archive::Archive(std::unique_ptr<Store> store) : store_(std::move(store)) {}
Archive::Archive(Archive&&) noexcept = default;
Archive::~Archive() = default;

Archive Archive::open(const std::string& path, Access access) {
  return guarded(path, [&] {
    return Archive(std::unique_ptr<Store>(new Store{path, archive::open_database(path, access)}));
  });
}

std::string Archive::default_path() {
  namespace fs = std::filesystem;
  const auto variable = [](const char* name) {
    const char* value = std::getenv(name);
    return std::string(value == nullptr ? "" : value);
  };
  // The XDG Base Directory Specification: a place that is not absolute does not count.
  fs::path data(variable("XDG_DATA_HOME"));
  if (!data.is_absolute()) {
    const fs::path home(variable("HOME"));
    if (!home.is_absolute())
      throw UserError(Fault::usage,
                      "Neither XDG_DATA_HOME nor HOME says where the archive lies; give its file "
                      "with --archive.");
    data = home / ".local" / "share";
  }
  return (data / "kerfwright" / "archive.sqlite").string();
}

void Archive::add(const NewLog& log, bool again) {
  guarded(store_->path, [&] { archive::add_log(store_->database, log, again); });
}

std::string Archive::keep(const KeptLog& log, const std::string& kind, const std::string& ending,
                          const std::string& bytes) {
  return guarded(store_->path, [&] {
    Immediate transaction(store_->database, at_once);
    const std::string sha256 = sha256_hex(bytes);
    int number = 1;
    for (const FileEntry& entry : entries(store_->database, log.id)) {
      if (entry.kind != kind) continue;
      if (entry.sha256 == sha256) return entry.name;
      const std::size_t dash = entry.name.find('-');
      number = std::max(number, std::atoi(entry.name.c_str() + dash + 1) + 1);
    }
    const std::string name = kind + "-" + std::to_string(number) + "." + ending;
    if (archive::kind_of(name) != kind)
      throw UserError(Fault::usage, "A log keeps no file called " + in_quotes(name) +
                                        "; its ending has up to 8 small letters or digits.");
    archive::insert_file(store_->database, log.id, {name, kind, bytes, {}});
    transaction.commit();
    return name;
  });
}

void Archive::change(const KeptLog& log, const LogCard& card) {
  guarded(store_->path, [&] { archive::change_log(store_->database, log, card); });
}

bool Archive::replace(const KeptLog& log, const KeptFile& file) {
  return guarded(store_->path, [&] {
    Immediate transaction(store_->database, at_once);
    SQLite::Statement former(store_->database, "DELETE FROM files WHERE log = ? AND name = ?");
    former.bind(1, log.id);
    former.bind(2, file.name);
    const bool there = former.exec() > 0;
    if (file.kind.empty() || archive::kind_of(file.name) != file.kind)
      throw UserError(Fault::internal, "'" + file.name + "' is no name of a kept file.");
    archive::insert_file(store_->database, log.id, file);
    transaction.commit();
    return there;
  });
}

std::vector<KeptLog> Archive::find(const LogQuery& query) const {
  return guarded(store_->path, [&] { return archive::find_logs(store_->database, query); });
}

KeptLog Archive::log(const std::string& name) const {
  return guarded(store_->path, [&] {
    auto found = named(store_->database, name, false);
    if (!found) refuse_unknown(store_->database, name, false);
    return *found;
  });
}

std::optional<KeptLog> Archive::log_of_shape(const std::string& shape_sha256) const {
  return guarded(store_->path, [&] {
    SQLite::Statement statement(store_->database,
                                std::string("SELECT ") + archive::log_columns +
                                    " FROM logs WHERE shape_sha256 = ? AND binned IS NULL "
                                    "ORDER BY id");
    statement.bind(1, shape_sha256);
    return first_of(statement);
  });
}

std::vector<FileEntry> Archive::files(const KeptLog& log) const {
  return guarded(store_->path, [&] { return entries(store_->database, log.id); });
}

std::string Archive::file(const KeptLog& log, const std::string& name) const {
  return guarded(store_->path, [&] { return archive::file_bytes(store_->database, log.id, name); });
}

void Archive::remove(const KeptLog& log) {
  guarded(store_->path, [&] {
    SQLite::Statement statement(store_->database,
                                "UPDATE logs SET binned = ? WHERE id = ? AND binned IS NULL");
    statement.bind(1, archive::now());
    statement.bind(2, log.id);
    statement.exec();
  });
}

void Archive::take_back(const std::string& name) {
  guarded(store_->path, [&] {
    Immediate transaction(store_->database, at_once);
    const auto found = named(store_->database, name, true);
    if (!found) refuse_unknown(store_->database, name, true);
    if (named(store_->database, name, false))
      throw UserError(Fault::name_exists, "The archive has another log called " + in_quotes(name) +
                                              " by now; remove that one first.");
    SQLite::Statement statement(store_->database, "UPDATE logs SET binned = NULL WHERE id = ?");
    statement.bind(1, found->id);
    statement.exec();
    transaction.commit();
  });
}

int Archive::empty_bin() {
  return guarded(store_->path, [&] {
    SQLite::Statement statement(store_->database, "DELETE FROM logs WHERE binned IS NOT NULL");
    return statement.exec();
  });
}

std::vector<std::string> Archive::check() const {
  return guarded(store_->path, [&] { return archive::check_all(store_->database); });
}

}  // namespace kerfwright
