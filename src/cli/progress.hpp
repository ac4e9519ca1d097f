#pragma once

#include <cstddef>
#include <string>

namespace kerfwright::cli {

/// Takes the place of the line on the terminal, cut where the terminal ends: a line that went on
/// below could not be wiped.
void show_line(const std::string& text);

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
  /// Says what the step is doing now and its share so far, 0 to 1.
  void within(const std::string& what, double share);
  /// Wipes the line.
  void done();

 private:
  void show(const std::string& more) const;

  std::size_t steps_, at_ = 0;
  std::string step_;
  bool shown_;
};

}  // namespace kerfwright::cli
