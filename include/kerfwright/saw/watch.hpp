#pragma once

#include <functional>
#include <string>

namespace kerfwright {

/// Somebody who watches a search: hears how far it is and may end it early. A search that is not
/// ended gives the same plan whether it is watched or not.
struct Watch {
  /// Whether to stop; asked often and from several threads. Empty = never.
  std::function<bool()> stop;
  /// Hears what is being done and its share so far, 0 to 1; called from one thread. Empty = nobody.
  std::function<void(const std::string& what, double share)> progress;
  /// Hears of each plan that is better than all before: its net value; called from one thread.
  std::function<void(double net)> better;
  /// Hears what no plan can exceed, net, as it comes down; called from one thread.
  std::function<void(double net)> bound;

  bool stopped() const { return stop && stop(); }
  void say(const std::string& what, double share) const {
    if (progress) progress(what, share);
  }
};

}  // namespace kerfwright
