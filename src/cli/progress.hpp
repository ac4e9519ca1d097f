#pragma once

#include <cstddef>
#include <string>

namespace kerfwright::cli {

/// One line on the terminal that says how far long work is; nothing where standard error is a file
/// or a pipe.
class Progress {
 public:
  explicit Progress(std::size_t steps);
  ~Progress() { done(); }
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  /// Begins the next step.
  void step(const std::string& what);
  /// Wipes the line.
  void done();

 private:
  std::size_t steps_, at_ = 0;
  bool shown_;
};

}  // namespace kerfwright::cli
