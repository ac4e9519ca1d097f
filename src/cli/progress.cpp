#include "progress.hpp"

#include <unistd.h>

#include <iostream>

namespace kerfwright::cli {

Progress::Progress(std::size_t steps) : steps_(steps), shown_(isatty(STDERR_FILENO) == 1) {}

void Progress::step(const std::string& what) {
  ++at_;
  if (!shown_) return;
  std::cerr << "\r\033[K[" << at_ << '/' << steps_ << "] " << what << std::flush;
}

void Progress::done() {
  if (!shown_ || at_ == 0) return;
  std::cerr << "\r\033[K" << std::flush;
  at_ = 0;
}

}  // namespace kerfwright::cli
