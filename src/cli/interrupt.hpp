#pragma once

namespace kerfwright::cli {

/// From now on Ctrl-C ends the program at once, with a sentence and its exit code.
void end_at_interrupt();

/// While it lives Ctrl-C is not heard, so that files that belong together are all written.
class Undisturbed {
 public:
  Undisturbed();
  ~Undisturbed();
  Undisturbed(const Undisturbed&) = delete;
  Undisturbed& operator=(const Undisturbed&) = delete;
};

}  // namespace kerfwright::cli
