#pragma once

#include <functional>
#include <vector>

#include "demand.hpp"
#include "kerfwright/saw/watch.hpp"
#include "master.hpp"

/// Column generation: logs are asked for plans at the prices that the master programme finds, until
/// none has a better one; then whole plans are chosen, and each log is asked once more what it
/// could do for what the others leave open.
namespace kerfwright::yard {

enum class Care { coarse, middle, fine };

/// What a log is asked.
struct Ask {
  std::vector<double> prices;              ///< of a piece of each kind
  std::vector<std::optional<int>> limits;  ///< of each line: pieces more fetch only what a piece
                                           ///< beyond the list does; none = no limit
  Care care = Care::coarse;
  int threads = 1;
};

/// The best plan of a log at those prices; none where nothing pays. Called from several threads at
/// once, for different logs; the same question always gets the same answer.
using Oracle = std::function<std::optional<Offer>(std::size_t log, const Ask& ask)>;

struct ChooseSettings {
  int rounds = 10;   ///< of questions to all logs until nothing is missing, and as many after
  int nodes = 4000;  ///< of the search for whole plans
  int spread = 60;   ///< questions beside those, at prices drawn at random, all logs together
  int sweeps = 2;    ///< how often each log is asked for what the others leave open, at most
  int threads = 0;   ///< 0 = as many as the machine has
  Watch watch{};
};

/// What is known so far. The demand may change between the steps.
struct Search {
  Demand demand;
  std::size_t logs = 0;
  Oracle oracle;
  ChooseSettings settings;
  std::vector<Offer> pool;
  std::vector<double> wood;    ///< of each log: what it costs if it is sawn; empty = nothing
  std::vector<double> prices;  ///< of the last round, of each kind

  /// What the oracle says, the wood paid.
  std::optional<Offer> asked(std::size_t log, const Ask& ask) const;
  /// Counts another price of wood from now on.
  void price_wood(std::vector<double> costs);

  bool stopped() const { return settings.watch.stopped(); }
};

/// While it lives, a search may take no more than a share of the time that is left; that matters
/// only where time has an end.
class TimeShare {
 public:
  TimeShare(Search& search, double share) : search_(search), whole_(search.settings.watch) {
    search.settings.watch = whole_.within(share);
  }
  ~TimeShare() { search_.settings.watch = whole_; }
  TimeShare(const TimeShare&) = delete;
  TimeShare& operator=(const TimeShare&) = delete;

 private:
  Search& search_;
  Watch whole_;
};

/// Prices for a planner, who knows nothing of a list.
Ask question(const Demand& demand, const std::vector<double>& prices, Care care);

/// Whether a choice is better; of two that bring the same the one with fewer pieces that nobody
/// wants.
bool better(const Demand& demand, const Choice& now, const Choice& before);

/// What the whole list fetches at most.
double value_of_list(const Demand& demand);

constexpr double near_share = 3e-3;  ///< of the list's value: what it is not worth to go on for

/// Adds an offer unless the pool has one as good that gives the same.
/// @returns whether it was added
bool add_offer(std::vector<Offer>& pool, const Offer& offer);

/// Asks what every log gives at the list's own prices.
void seed(Search& search);

/// Rounds of questions until no log has a better plan, or the rounds are used up.
Relaxed generate(Search& search);

/// One round at the last prices with more care.
void refine(Search& search);

/// Asks every log what it gives of what is missing alone.
void ask_for_missing(Search& search, const Demand& missing);

/// Chooses whole plans among the pool and betters them log by log, at last with all care.
Choice choose(Search& search);

/// Asks many logs with all care, whatever it brings, until none has a better plan or the search is
/// stopped: for who said how long it may take.
void use_time_left(Search& search, Choice& choice);

}  // namespace kerfwright::yard
