#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <string>
#include <vector>

#include "kerfwright/archive/archive.hpp"

namespace kerfwright::archive {

/// The columns of a log in the order that `log_row` reads, from `logs`.
extern const char* const log_columns;
/// The same with no plans and no tallies, for many logs at once.
extern const char* const log_columns_uncounted;
KeptLog log_row(SQLite::Statement& statement);

/// A blob or a text as bytes.
std::string bytes_of(const SQLite::Column& column);

/// Now, UTC.
std::string now();

/// What the checksum of a log's row is taken of: all of it but its number and the bin.
std::string row_text(const KeptLog& log);

/// The bytes of a file, unpacked and held against their checksum.
/// @throws UserError bad_archive, not_in_archive
std::string file_bytes(SQLite::Database& database, std::int64_t log, const std::string& name);

std::int64_t insert_log(SQLite::Database& database, const KeptLog& log);
void insert_file(SQLite::Database& database, std::int64_t log, const KeptFile& file);
void insert_sketch(SQLite::Database& database, std::int64_t log, const Sketch& sketch);

/// Names with numbers in them as people order them: plan-2 before plan-10.
bool before(const std::string& a, const std::string& b);

}  // namespace kerfwright::archive
