#include "kerfwright/scan/find_log.hpp"

#include <gtest/gtest.h>

namespace kerfwright {
namespace {}  // namespace
}  // namespace kerfwright
