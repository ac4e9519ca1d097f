#include "interrupt.hpp"

#include <unistd.h>

#include <csignal>
#include <string_view>

#include "kerfwright/error.hpp"

namespace kerfwright::cli {
namespace {

extern "C" void end_now(int) {
  constexpr std::string_view sentence = "kerfwright: Stopped by hand before it was done.\n";
  [[maybe_unused]] const ssize_t written = write(STDERR_FILENO, sentence.data(), sentence.size());
  _exit(static_cast<int>(Fault::interrupted));
}

}  // namespace

void end_at_interrupt() { std::signal(SIGINT, end_now); }

Undisturbed::Undisturbed() { std::signal(SIGINT, SIG_IGN); }

Undisturbed::~Undisturbed() { end_at_interrupt(); }

}  // namespace kerfwright::cli
