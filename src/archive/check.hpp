#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <string>
#include <vector>

namespace kerfwright::archive {

/// Archive::check.
std::vector<std::string> check_all(SQLite::Database& database);

}  // namespace kerfwright::archive
