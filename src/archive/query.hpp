#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <vector>

#include "kerfwright/archive/archive.hpp"

namespace kerfwright::archive {

/// Archive::find.
std::vector<KeptLog> find_logs(SQLite::Database& database, const LogQuery& query);

}  // namespace kerfwright::archive
