#pragma once

#include <vector>

#include "rough_axis.hpp"
#include "survey.hpp"

namespace kerfwright {

/// Whether it is as round, and as surely so, as a smooth log is.
bool is_clean(const RoughAxis& axis);

/// What speaks for a round thing being the log: how much of it was seen, how cleanly it is round.
/// Points strewn evenly over the band in which circles take points have a spread of 0.069.
double merit(const RoughAxis& axis);

/// Round things in the yard, the one with the most merit first.
std::vector<RoughAxis> find_round_things(const Yard& yard, double longest_radius);

/// Poles are seen all round and may show more surface than a short log that lies across them: of
/// two round things that touch crosswise the thicker is the log.
void put_log_before_poles(std::vector<RoughAxis>& axes);

/// Indices of round things beside the one that is the log, as far as a person would call them logs.
std::vector<std::size_t> other_round_things(const std::vector<RoughAxis>& axes, std::size_t log);

}  // namespace kerfwright
