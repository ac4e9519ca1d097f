#pragma once

#include <omp.h>

#include <cstddef>
#include <exception>

namespace kerfwright::yard {

/// Visits the logs 0 to logs - 1, several at once; rethrows what a visit threw once all are done.
/// @param threads 0 = as many as the machine has
template <class Visit>
void visit_all_logs(std::size_t logs, int threads, Visit visit) {
  std::exception_ptr failure;
  const int team = threads > 0 ? threads : omp_get_max_threads();
#pragma omp parallel for schedule(dynamic, 1) num_threads(team)
  for (std::size_t l = 0; l < logs; ++l) {
    try {
      visit(l);
    } catch (...) {
#pragma omp critical
      failure = std::current_exception();
    }
  }
  if (failure) std::rethrow_exception(failure);
}

}  // namespace kerfwright::yard
