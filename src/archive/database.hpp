#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <string>

#include "kerfwright/archive/archive.hpp"
#include "kerfwright/error.hpp"

namespace kerfwright::archive {

/// Opens and verifies the file and brings its schema up to date.
/// @throws UserError, SQLite::Exception
SQLite::Database open_database(const std::string& path, Archive::Access access);

/// What a fault of SQLite means to a person.
UserError explained(const SQLite::Exception& error, const std::string& path);

/// Calls, and makes sentences of SQLite's faults.
template <class Call>
auto guarded(const std::string& path, Call&& call) {
  try {
    return call();
  } catch (const SQLite::Exception& error) {
    throw explained(error, path);
  }
}

/// The newest schema. A file of a newer one is refused, of an older one brought up to date.
inline constexpr int newest_schema = 2;

/// What each version adds to the one before.
extern const char* const schema_1;
extern const char* const schema_2;

/// Makes or brings up to date the schema, in one transaction.
void migrate(SQLite::Database& database);

/// Sketches of logs that have none yet.
void add_sketches(SQLite::Database& database);

}  // namespace kerfwright::archive
