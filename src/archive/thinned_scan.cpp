#include "kerfwright/archive/thinned_scan.hpp"

namespace kerfwright {

std::string thinned_log_ply(const Scan& scan, const std::vector<PointLabel>& labels,
                            std::size_t most) {
  std::vector<std::size_t> log;
  for (std::size_t i = 0; i < labels.size(); ++i)
    if (labels[i] == PointLabel::log) log.push_back(i);
  const std::size_t kept = std::min(most, log.size());
  Scan thinned;
  thinned.file_to_scan = scan.file_to_scan;
  for (std::size_t k = 0; k < kept; ++k)
    thinned.points.push_back(scan.points[log[k * log.size() / kept]]);
  return labelled_ply(thinned, std::vector<PointLabel>(kept, PointLabel::log));
}

}  // namespace kerfwright
