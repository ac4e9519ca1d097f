#include "database.hpp"

#include <sqlite3.h>

#include <chrono>
#include <filesystem>
#include <thread>

#include "kerfwright/error.hpp"

namespace kerfwright::archive {
namespace {

namespace fs = std::filesystem;

constexpr int application = 0x4b657266;  // "Kerf": SQLite's own place to say whose a file is
constexpr int patience = 10'000;         // ms that one program waits for another

int pragma(SQLite::Database& database, const char* name) {
  return database.execAndGet(std::string("PRAGMA ") + name).getInt();
}

/// The path as a URI that SQLite opens without a lock or any file beside it.
std::string immutable_uri(const std::string& path) {
  std::string uri = "file:";
  constexpr const char* digits = "0123456789ABCDEF";
  for (const char c : fs::absolute(path).string()) {
    if (c == '%' || c == '?' || c == '#') {
      const auto byte = static_cast<unsigned char>(c);
      uri += {'%', digits[byte >> 4], digits[byte & 15]};
    } else {
      uri += c;
    }
  }
  return uri + "?immutable=1";
}

/// All is read at one moment: between two another program may have made the archive, whose tables
/// would then seem to be nobody's.
void refuse_strangers(SQLite::Database& database, const std::string& path) {
  const SQLite::Transaction moment(database);
  const int owner = pragma(database, "application_id");
  const bool empty = database.execAndGet("SELECT count(*) FROM sqlite_master").getInt() == 0;
  if (owner != application && !(owner == 0 && empty))
    throw UserError(Fault::bad_archive,
                    "'" + path +
                        "' is the database of another program and no archive of logs; "
                        "give the archive's own file with --archive.");
  if (pragma(database, "user_version") > newest_schema)
    throw UserError(Fault::bad_archive, "The archive '" + path +
                                            "' was written by a newer kerfwright; use that one, "
                                            "nothing was changed.");
}

bool is_blank(SQLite::Database& database) { return pragma(database, "user_version") == 0; }

/// Write-ahead logging, which SQLite remembers in the file. While another program changes the same
/// it says so at once instead of waiting.
void use_log(SQLite::Database& database) {
  for (int waited = 0;; waited += 20) {
    try {
      if (database.execAndGet("PRAGMA journal_mode").getString() == "wal") return;
      database.execAndGet("PRAGMA journal_mode = WAL");
      return;
    } catch (const SQLite::Exception& error) {
      if (error.getErrorCode() != SQLITE_BUSY || waited > patience) throw;
      std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
  }
}

void set_up(SQLite::Database& database) {
  database.exec("PRAGMA trusted_schema = OFF");
  database.exec("PRAGMA foreign_keys = ON");
  database.exec("PRAGMA synchronous = FULL");  // a commit is on the disk when it returns
}

/// An archive in a place that takes no files beside it, to be read only.
SQLite::Database open_unchanging(const std::string& path) {
  SQLite::Database database(immutable_uri(path), SQLite::OPEN_READONLY | SQLite::OPEN_URI);
  database.exec("PRAGMA trusted_schema = OFF");
  refuse_strangers(database, path);
  if (pragma(database, "user_version") < newest_schema)
    throw UserError(Fault::cannot_write,
                    "The archive '" + path +
                        "' is of an older kerfwright and must be brought up "
                        "to date, but its place takes no writing; copy it elsewhere first.");
  return database;
}

bool has_unfinished_log(const std::string& path) {
  std::error_code ignored;
  const auto size = fs::file_size(path + "-wal", ignored);
  return !ignored && size > 0;
}

void refuse_odd_places(const std::string& path, Archive::Access access) {
  std::error_code error;
  const fs::file_status status = fs::status(path, error);
  if (fs::is_regular_file(status)) {
    const bool empty = fs::file_size(path, error) == 0 && !has_unfinished_log(path);
    if (!empty || access == Archive::Access::made) return;
  } else if (fs::exists(status)) {
    throw UserError(Fault::bad_archive, "'" + path + "' is not a plain file and no archive.");
  }
  if (access == Archive::Access::existing)
    throw UserError(Fault::no_file, "There is no archive in '" + path +
                                        "' yet; 'kerfwright archive add SCAN' makes one, "
                                        "--archive names another place.");
  const fs::path folder = fs::absolute(path).parent_path();
  fs::create_directories(folder, error);
  if (!fs::is_directory(folder))
    throw UserError(Fault::cannot_write, "Cannot make the folder '" + folder.string() +
                                             "' for the archive; --archive names another place.");
}

SQLite::Database open_writable(const std::string& path, Archive::Access access) {
  const int make = access == Archive::Access::made ? SQLite::OPEN_CREATE : 0;
  SQLite::Database database(path, SQLite::OPEN_READWRITE | make, patience);
  refuse_strangers(database, path);
  set_up(database);
  if (is_blank(database) && access == Archive::Access::existing)
    throw UserError(Fault::no_file, "The archive '" + path +
                                        "' is empty yet; 'kerfwright archive add SCAN' keeps a "
                                        "log in it.");
  if (pragma(database, "user_version") < newest_schema) {
    use_log(database);
    migrate(database);
  }
  return database;
}

}  // namespace

UserError explained(const SQLite::Exception& error, const std::string& path) {
  const std::string which = "the archive '" + path + "'";
  switch (error.getErrorCode()) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return {Fault::archive_busy, "Another program has been writing to " + which +
                                       " for more than ten seconds; try again when it is done, "
                                       "nothing was changed."};
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      return {Fault::cannot_write, "Cannot write to " + which +
                                       ": its place takes no writing; --archive names another "
                                       "place, nothing was changed."};
    case SQLITE_FULL:
    case SQLITE_IOERR:
      return {Fault::cannot_write, "Cannot write to " + which +
                                       ": the disk is full or fails; make room and try again, "
                                       "nothing was changed."};
    case SQLITE_TOOBIG:
      return {Fault::cannot_write, "A file is too large for " + which + "; thin it first."};
    case SQLITE_NOTADB:
      return {Fault::bad_archive, "'" + path +
                                      "' is no archive of logs; give the archive's own "
                                      "file with --archive."};
    case SQLITE_NOMEM:
      return {Fault::internal, "Not enough memory for " + which + "; close other programs."};
    default:
      return {Fault::bad_archive, "The file of " + which + " is damaged (" +
                                      std::string(error.what()) +
                                      "); 'kerfwright archive check' says where, and a copy or an "
                                      "export brings it back."};
  }
}

SQLite::Database open_database(const std::string& path, Archive::Access access) {
  refuse_odd_places(path, access);
  try {
    return open_writable(path, access);
  } catch (const SQLite::Exception& error) {
    const int code = error.getErrorCode();
    const bool closed = code == SQLITE_CANTOPEN || code == SQLITE_READONLY;
    if (!closed || access == Archive::Access::made || has_unfinished_log(path)) throw;
  }
  return open_unchanging(path);
}

void migrate(SQLite::Database& database) {
  SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
  // Asked again under the lock: another program may have been quicker.
  const int version = pragma(database, "user_version");
  if (version < 1) {
    database.exec(schema_1);
    database.exec("PRAGMA application_id = " + std::to_string(application));
  }
  if (version < 2) {
    database.exec(schema_2);
    add_sketches(database);
  }
  if (version < newest_schema)
    database.exec("PRAGMA user_version = " + std::to_string(newest_schema));
  transaction.commit();
}

}  // namespace kerfwright::archive
