// Usage: feed CORPUS. Every file of the corpus once through every reader: CORPUS/READER holds what
// this reader takes, CORPUS/READER-refused what it refuses with a sentence (what a fuzzer found,
// small). Cut off at any tenth of its length a file is taken or refused as well.

#include <algorithm>
#include <array>
#include <exception>
#include <filesystem>
#include <iostream>
#include <vector>

#include "kerfwright/files.hpp"
#include "readers.hpp"

namespace {

namespace fs = std::filesystem;
using kerfwright::fuzz::takes;

constexpr std::array<const char*, 8> readers{"scan",  "order", "mill",  "marks",
                                             "shape", "plan",  "tally", "archive"};

/// @return what went wrong, empty where nothing did
std::string feed(const std::string& reader, const std::string& folder, const std::string& bytes) {
  try {
    const bool taken = takes(reader, bytes);
    if (folder == reader && !taken) return "refused";
    if (folder == reader + "-refused" && taken) return "taken";
    for (std::size_t tenth = 1; tenth < 10; ++tenth) {
      takes(reader, bytes.substr(0, bytes.size() * tenth / 10));
    }
  } catch (const std::exception& fault) {
    return fault.what();
  }
  return {};
}

std::vector<fs::path> files_below(const fs::path& corpus) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::recursive_directory_iterator(corpus)) {
    if (entry.is_regular_file()) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  const auto files = files_below(argv[1]);
  int failed = 0;
  for (const fs::path& file : files) {
    const std::string bytes = kerfwright::read_file(file.string());
    for (const char* reader : readers) {
      const auto wrong = feed(reader, file.parent_path().filename().string(), bytes);
      if (wrong.empty()) continue;
      ++failed;
      std::cout << "FAILED: " << file.string() << " as " << reader << ": " << wrong << '\n';
    }
  }
  std::cout << files.size() << " files through " << readers.size() << " readers, " << failed
            << " faults\n";
  return failed == 0 && !files.empty() ? 0 : 1;
}
