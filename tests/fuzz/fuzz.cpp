// Changed files for one reader, by libFuzzer; which one says KERFWRIGHT_FUZZED. Built and run by
// tools/fuzz.

#include <cstdint>
#include <cstdlib>

#include "readers.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const char* const reader = std::getenv("KERFWRIGHT_FUZZED");
  kerfwright::fuzz::takes(reader == nullptr ? "" : reader,
                          {reinterpret_cast<const char*>(data), size});
  return 0;
}
