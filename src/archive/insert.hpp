#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include "kerfwright/archive/archive.hpp"

namespace kerfwright::archive {

/// Archive::add in a transaction of its own.
void add_log(SQLite::Database& database, const NewLog& log, bool again);

/// Archive::change in a transaction of its own.
void change_log(SQLite::Database& database, const KeptLog& log, const LogCard& card);

/// What a file of this name is, "shape", "scan", "plan", "tally", "picture"; empty where a log has
/// no file of such a name. So no name leads out of a folder.
std::string kind_of(const std::string& name);

}  // namespace kerfwright::archive
