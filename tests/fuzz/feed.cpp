// Usage: feed CORPUS [CHANGES [SEED]]. Every file of the corpus once through every reader:
// CORPUS/READER and CORPUS/READER-KIND hold what this reader takes, CORPUS/READER-refused what it
// refuses with a sentence (what a fuzzer found, small). Cut off at any tenth of its length a file
// is taken or refused as well, and so are so many changed ones of each file by its own reader, in
// 10 s and 2 GB each.

#include <sys/resource.h>
#include <sys/time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <exception>
#include <filesystem>
#include <iostream>
#include <vector>

#include "changes.hpp"
#include "kerfwright/files.hpp"
#include "readers.hpp"

namespace {

namespace fs = std::filesystem;
using kerfwright::fuzz::takes;

constexpr std::array<const char*, 8> readers{"scan",  "order", "mill",  "marks",
                                             "shape", "plan",  "tally", "archive"};

std::string folder_of(const fs::path& file) { return file.parent_path().filename().string(); }

/// The reader of a folder of the corpus: its name up to a hyphen.
std::string reader_of(const std::string& folder) { return folder.substr(0, folder.find('-')); }

/// @return what went wrong, empty where nothing did
std::string feed(const std::string& reader, const std::string& folder, const std::string& bytes) {
  try {
    const bool taken = takes(reader, bytes);
    if (reader_of(folder) == reader && taken == folder.ends_with("-refused"))
      return taken ? "taken" : "refused";
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

/// What is being read, for the last words of a reader that crashes or hangs.
std::array<char, 512> being_read{};

void say_what_was_read(int signal) {
  const auto written = write(STDOUT_FILENO, being_read.data(), std::strlen(being_read.data()));
  _exit(written > 0 ? 128 + signal : 1);
}

/// Sanitizers map terabytes of addresses.
#ifdef KERFWRIGHT_SANITIZED
constexpr bool limit_memory = false;
#else
constexpr bool limit_memory = true;
#endif

/// 2 GB beyond what libraries and threads map, and last words.
void set_limits() {
  for (const int signal : {SIGPROF, SIGSEGV, SIGABRT, SIGFPE, SIGBUS})
    std::signal(signal, say_what_was_read);
  if (!limit_memory) return;
  const rlimit memory{rlim_t{3} << 30, rlim_t{3} << 30};
  setrlimit(RLIMIT_AS, &memory);
}

/// Of the processor, so that a busy machine is no fault; 0 ends the limit.
void set_seconds(time_t seconds) {
  const itimerval left{{0, 0}, {seconds, 0}};
  setitimer(ITIMER_PROF, &left, nullptr);
}

/// @return how many changed files were neither taken nor refused with a sentence
int feed_changed(const std::vector<fs::path>& files, std::uint64_t changes, std::uint64_t seed) {
  int failed = 0;
  for (std::size_t f = 0; f < files.size(); ++f) {
    const std::string bytes = kerfwright::read_file(files[f].string());
    const std::string other = kerfwright::read_file(files[(f + 1) % files.size()].string());
    for (std::uint64_t change = seed; change < seed + changes; ++change) {
      std::snprintf(being_read.data(), being_read.size(),
                    "FAILED: %s, change %llu: crashed or took 10 s\n", files[f].c_str(),
                    static_cast<unsigned long long>(change));
      set_seconds(10);
      try {
        takes(reader_of(folder_of(files[f])), kerfwright::fuzz::changed(bytes, other, change));
      } catch (const std::exception& fault) {
        ++failed;
        std::cout << "FAILED: " << files[f].string() << ", change " << change << ": "
                  << fault.what() << '\n';
      }
    }
  }
  set_seconds(0);
  return failed;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2 || argc > 4) return 2;
  const auto files = files_below(argv[1]);
  int failed = 0;
  for (const fs::path& file : files) {
    const std::string bytes = kerfwright::read_file(file.string());
    for (const char* reader : readers) {
      const auto wrong = feed(reader, folder_of(file), bytes);
      if (wrong.empty()) continue;
      ++failed;
      std::cout << "FAILED: " << file.string() << " as " << reader << ": " << wrong << '\n';
    }
  }
  const std::uint64_t changes = argc > 2 ? std::stoull(argv[2]) : 0;
  set_limits();
  failed += feed_changed(files, changes, argc > 3 ? std::stoull(argv[3]) : 1);
  std::cout << files.size() << " files through " << readers.size() << " readers, " << changes
            << " changed ones of each through its own, " << failed << " faults\n";
  return failed == 0 && !files.empty() ? 0 : 1;
}
