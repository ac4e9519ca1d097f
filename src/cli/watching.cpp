#include "watching.hpp"

#include <unistd.h>

#include <algorithm>
#include <csignal>
#include <cstdio>

#include "interrupt.hpp"
#include "progress.hpp"

namespace kerfwright::cli {
namespace {

// A signal reaches no object, so that this one flag has to be known to all.
volatile std::sig_atomic_t interrupted = 0;

extern "C" void note_interrupt(int) {
  interrupted = 1;
  end_at_interrupt();
}

}  // namespace

Watching::Watching(std::optional<double> seconds)
    : seconds_(seconds), terminal_(isatty(STDERR_FILENO) == 1) {
  interrupted = 0;
  std::signal(SIGINT, note_interrupt);
}

Watching::~Watching() {
  end_at_interrupt();
  if (shown_) std::fputs("\r\033[K", stderr);
}

double Watching::elapsed() const {
  return std::chrono::duration<double>(Clock::now() - start_).count();
}

Watch Watching::watch() {
  Watch watch;
  watch.stop = [this] {
    if (interrupted != 0) return true;
    if (!seconds_ || elapsed() < *seconds_) return false;
    out_of_time_ = true;
    return true;
  };
  if (seconds_) {
    watch.gone = [this] { return *seconds_ > 0.0 ? elapsed() / *seconds_ : 1.0; };
    watch.hurried = [this] { out_of_time_ = true; };
  }
  watch.progress = [this](const std::string& what, double share) { show(what, share); };
  watch.better = [this](double net) { best_ = net; };
  watch.bound = [this](double net) {
    bound_ = net;
    show("how near to the best", 0.0);
  };
  return watch;
}

std::string Watching::ended_early() const {
  if (interrupted != 0) return "stopped by hand";
  return out_of_time_ ? "out of time" : "";
}

std::string ended_early_words(const std::string& why, const std::string& what) {
  if (why.empty()) return "";
  return "The search was ended early (" + why + "): this is the best " + what +
         " by then, not the best there is.\n";
}

void Watching::show(const std::string& what, double share) {
  if (!terminal_) return;
  const auto now = Clock::now();
  if (shown_ && now - last_shown_ < std::chrono::milliseconds(100)) return;
  last_shown_ = now;
  shown_ = true;
  const auto text = [](const char* format, double value) {
    char words[64];
    std::snprintf(words, sizeof words, format, value);
    return std::string(words);
  };
  std::string line = what;
  if (!bound_) line += text(": %.0f %%", 100.0 * share);
  if (best_) line += text(", best so far %.2f", *best_);
  if (bound_) line += text(" of at most %.2f", *bound_);
  if (seconds_) {
    line += text(", %.0f s left", std::max(0.0, *seconds_ - elapsed()));
  } else {
    line += text(", %.0f s", elapsed());
  }
  show_line(line + "; Ctrl-C keeps the best so far");
}

}  // namespace kerfwright::cli
