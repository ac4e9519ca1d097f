#pragma once

#include <string>

namespace kerfwright::fuzz {

/// Feeds any bytes to one reader of files from outside.
/// @param reader scan, order, mill, marks, shape, plan, tally or archive
/// @return false where they were refused with a sentence
/// @throws anything else: a fault of the reader
bool takes(const std::string& reader, const std::string& bytes);

}  // namespace kerfwright::fuzz
