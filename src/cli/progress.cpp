#include "progress.hpp"

#include <sys/ioctl.h>
#include <unistd.h>

#include <cmath>
#include <iostream>

namespace kerfwright::cli {

void show_line(const std::string& text) {
  winsize size{};
  const bool known = ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 1;
  const std::size_t columns = known ? size.ws_col : 80;
  std::size_t end = 0;
  for (std::size_t letters = 0; end < text.size(); ++end) {
    const bool begins = (text[end] & 0xC0) != 0x80;  // a character, not its further bytes
    if (begins && ++letters >= columns) break;
  }
  std::cerr << "\r\033[K" << text.substr(0, end) << std::flush;
}

Progress::Progress(std::size_t steps) : steps_(steps), shown_(isatty(STDERR_FILENO) == 1) {}

void Progress::step(const std::string& what) {
  ++at_;
  step_ = what;
  show("");
}

void Progress::within(const std::string& what, double share) {
  const long percent = std::lround(100.0 * share);
  show(": " + what + (percent > 0 ? ", " + std::to_string(percent) + " %" : ""));
}

void Progress::show(const std::string& more) const {
  if (!shown_ || at_ == 0) return;
  const std::string count =
      steps_ > 1 ? "[" + std::to_string(at_) + "/" + std::to_string(steps_) + "] " : "";
  show_line(count + step_ + more);
}

void Progress::done() {
  if (!shown_ || at_ == 0) return;
  std::cerr << "\r\033[K" << std::flush;
  at_ = 0;
}

}  // namespace kerfwright::cli
