#pragma once

#include <vector>

#include "choose.hpp"
#include "kerfwright/yard/yard_plan.hpp"

namespace kerfwright::yard {

/// How many more logs like one at hand would give what is missing, the three that take the least
/// wood first; where no kind of log gives all of it, the best for each line alone. Reckoned with
/// the offers of the pool and one more question to each log, and by shares of plans, so that it may
/// be one too few.
std::vector<MoreLogs> more_logs(Search& search, const std::vector<int>& counts,
                                const std::vector<double>& wood_m3);

/// The least number of logs, not whole, whose offers give all that a demand wants; none where they
/// give nothing of some line. All offers are taken to be of one log.
std::optional<double> logs_for(const Demand& demand, const std::vector<Offer>& offers);

}  // namespace kerfwright::yard
