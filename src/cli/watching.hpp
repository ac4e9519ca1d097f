#pragma once

#include <atomic>
#include <chrono>
#include <optional>
#include <string>

#include "kerfwright/saw/watch.hpp"

namespace kerfwright::cli {

/// Watches a search for the person at the terminal: one line on standard error, where that is a
/// terminal, with what is being done, the best so far and the time left; the first Ctrl-C, or the
/// end of the time that was given, ends the search and keeps the best so far. A second Ctrl-C ends
/// the program.
class Watching {
 public:
  /// @param seconds that the search may take; none = as long as it needs
  explicit Watching(std::optional<double> seconds);
  ~Watching();
  Watching(const Watching&) = delete;
  Watching& operator=(const Watching&) = delete;

  Watch watch();

  /// Why the search was ended early, as words for a sentence; empty where it was not.
  std::string ended_early() const;

 private:
  using Clock = std::chrono::steady_clock;
  void show(const std::string& what, double share);
  double elapsed() const;

  std::optional<double> seconds_;
  Clock::time_point start_ = Clock::now();
  std::atomic<bool> out_of_time_ = false;
  std::optional<double> best_, bound_;
  bool shown_ = false, terminal_;
  Clock::time_point last_shown_;
};

/// A line that says so to a person; empty where `why` is.
/// @param what was found: "plan"
std::string ended_early_words(const std::string& why, const std::string& what);

}  // namespace kerfwright::cli
