#pragma once

#include <algorithm>
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

  /// Which share of the time that it may take is gone, from 0 on; asked often and from several
  /// threads. Empty = there is no end of time.
  std::function<double()> gone;
  /// Hears that something was cut short so that time is left for what comes after it; called from
  /// several threads.
  std::function<void()> hurried;

  bool stopped() const { return stop && stop(); }
  /// The same for what may take only this share, 0 to 1, of the time that is left.
  Watch within(double share) const;
  void say(const std::string& what, double share) const {
    if (progress) progress(what, share);
  }
};

inline Watch Watch::within(double share) const {
  if (!gone) return *this;
  const double start = gone();
  const double end = start + share * std::max(0.0, 1.0 - start);
  Watch part = *this;
  part.stop = [whole = stop, now = gone, tell = hurried, end] {
    if (whole && whole()) return true;
    if (now() < end) return false;
    if (tell) tell();
    return true;
  };
  part.gone = [now = gone, start, end] {
    return end > start ? (now() - start) / (end - start) : 1.0;
  };
  return part;
}

}  // namespace kerfwright
