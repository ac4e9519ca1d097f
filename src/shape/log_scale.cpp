#include "kerfwright/shape/log_scale.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "text_line.hpp"

namespace kerfwright {
namespace {

double area_of(double diameter_mm) { return circle_area(1e-3 * diameter_mm); }

/// A section as seen from its own middle: the radius in any direction.
struct Section {
  Eigen::Vector2d middle;
  std::vector<double> radius;  ///< at each angle
  double least = 0;

  bool holds(const Eigen::Vector2d& place) const {
    const Eigen::Vector2d arm = place - middle;
    const double distance = arm.norm();
    if (distance <= least) return true;
    const double turns = std::atan2(arm.y(), arm.x()) / (2.0 * std::numbers::pi);
    const double position = (turns - std::floor(turns)) * static_cast<double>(radius.size());
    const auto j = static_cast<std::size_t>(position) % radius.size();
    const double share = position - std::floor(position);
    return distance <= (1.0 - share) * radius[j] + share * radius[(j + 1) % radius.size()];
  }
};

std::vector<Section> sections_of(const LogShape& shape, bool straightened) {
  std::vector<Section> sections;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    Section section{straightened ? Eigen::Vector2d(0, 0) : shape.axis[i], {}, 1e9};
    for (const float r : shape.radius[i]) {
      section.radius.push_back(std::max(0.0, static_cast<double>(r) - bark_at(shape, i)));
      section.least = std::min(section.least, section.radius.back());
    }
    // The straight side between two samples comes nearer to the middle than both.
    section.least *= std::cos(std::numbers::pi / static_cast<double>(section.radius.size()));
    sections.push_back(std::move(section));
  }
  return sections;
}

/// Area that all sections have in common, mm2, counted in squares.
double common_area(const std::vector<Section>& sections) {
  constexpr double square = 2.0;  // mm
  const auto& smallest =
      *std::min_element(sections.begin(), sections.end(),
                        [](const Section& a, const Section& b) { return a.least < b.least; });
  const double reach = *std::max_element(smallest.radius.begin(), smallest.radius.end());
  const int squares = static_cast<int>(std::ceil(reach / square));
  long count = 0;
  for (int row = -squares; row <= squares; ++row) {
    for (int column = -squares; column <= squares; ++column) {
      const Eigen::Vector2d place = smallest.middle + square * Eigen::Vector2d(column, row);
      count += std::all_of(sections.begin(), sections.end(),
                           [&](const Section& section) { return section.holds(place); })
                   ? 1
                   : 0;
    }
  }
  return square * square * static_cast<double>(count);
}

}  // namespace

LogScale scale_log(const LogShape& shape) {
  const LogMeasures m = measure(shape);
  const double small = area_of(m.top.mean_under_bark), large = area_of(m.butt.mean_under_bark);
  const double middle = area_of(m.middle.mean_under_bark);
  const double metres = 1e-3 * m.length;
  LogScale scale;
  scale.model = m.volume_under_bark;
  scale.huber = huber_volume(middle, metres);
  scale.smalian = smalian_volume(small, large, metres);
  scale.newton = newton_volume(small, middle, large, metres);
  scale.diameter = 0.5 * (m.top.smallest_under_bark + m.top.square_under_bark) / mm_per_inch;
  scale.length = m.length / mm_per_foot;
  scale.scaled_diameter = scaling_diameter(scale.diameter);
  scale.scaled_length = static_cast<int>(scale.length);
  scale.doyle = doyle(scale.diameter, scale.length);
  scale.international = international_quarter(scale.diameter, scale.length);
  scale.scribner = scribner(scale.diameter, scale.length);
  scale.doyle_table = doyle_table(scale.scaled_diameter, scale.scaled_length);
  scale.international_table =
      international_quarter_table(scale.scaled_diameter, scale.scaled_length);
  scale.scribner_table =
      static_cast<int>(std::lround(scribner(scale.scaled_diameter, scale.scaled_length)));
  const auto tens = scribner_decimal_c(scale.scaled_diameter, scale.scaled_length / 2 * 2);
  if (tens) scale.decimal_c = 10.0 * *tens;
  return scale;
}

SweepLoss sweep_loss(const LogShape& shape) {
  const double to_m3 = 1e-9 * shape.length();
  return {common_area(sections_of(shape, false)) * to_m3,
          common_area(sections_of(shape, true)) * to_m3};
}

std::string describe_mass(const LogShape& shape, const Species& species,
                          const std::optional<Mill>& mill, bool inches) {
  const auto& density = species.green_density;
  if (!density) return text_line("Mass      no green density of %s was seen", species.name.c_str());
  const double over = density->value * solid_volume_m3(shape, Bark::on);
  const double under = density->value * solid_volume_m3(shape, Bark::off);
  const Amounts amounts{inches};
  std::string text = text_line(
      "Mass      %s green with bark, taken as heavy as the wood, %s without; one log may\n"
      "          differ by a fifth: %s to %s (%s, %s, %s)",
      amounts.mass(over).c_str(), amounts.mass(under).c_str(),
      amounts.mass_number(0.8 * over).c_str(), amounts.mass(1.2 * over).c_str(),
      species.name.c_str(), amounts.density(density->value).c_str(),
      density->evidence == Evidence::stand_in ? "figure of a relative"
                                              : std::string(words_for(density->evidence)).c_str());
  if (!mill) return text;
  const double most = mill->max_log_mass;
  const std::string takes = amounts.mass(most);
  if (over > most) {
    text += text_line("          too heavy for the mill, which takes %s: cross-cut the log first",
                      takes.c_str());
  } else if (1.2 * over > most) {
    text +=
        text_line("          the mill takes %s: weigh the log before it is lifted", takes.c_str());
  } else {
    text += text_line("          the mill takes %s", takes.c_str());
  }
  return text;
}

std::string describe(const LogScale& s, bool inches) {
  const Amounts amounts{inches};
  const auto volume = [&](const char* name, double m3) {
    return text_line("  %-26s %10s  %+9.1f %%", name, amounts.log_number(m3, 4).c_str(),
                     100.0 * (m3 / s.model - 1.0));
  };
  std::string text =
      text_line("%-28s %10s  %11s", "Volume under bark by", amounts.log_unit(), "to model");
  text += text_line("  %-26s %10s", "the model", amounts.log_number(s.model, 4).c_str());
  text += volume("Huber (middle)", s.huber) + volume("Smalian (both ends)", s.smalian) +
          volume("Newton (ends and middle)", s.newton);
  text += text_line("%-28s %10s  %11s", "Log rules, board feet", "measured", "scaled");
  text += text_line("  %-26s %10.1f  %11d", "small end, inches", s.diameter, s.scaled_diameter);
  text += text_line("  %-26s %10.1f  %11d", "length, feet", s.length, s.scaled_length);
  text += text_line("  %-26s %10.0f  %11d", "Doyle", s.doyle, s.doyle_table);
  text += text_line("  %-26s %10.0f  %11d", "International 1/4 inch", s.international,
                    s.international_table);
  text += text_line("  %-26s %10.0f  %11d", "Scribner", s.scribner, s.scribner_table);
  if (s.decimal_c) {
    text += text_line("  %-26s %10s  %11.0f", "Scribner Decimal C", "", *s.decimal_c);
  } else {
    text += text_line("  %-26s %10s  %11s", "Scribner Decimal C", "", "not listed");
  }
  return text;
}

std::string describe(const SweepLoss& loss, bool inches) {
  const Amounts amounts{inches};
  return text_line(
      "Straight  %s under bark runs straight from end to end; %s would if the log were\n"
      "          not crooked: sweep costs %.0f %% of it",
      amounts.log(loss.swept, 4).c_str(), amounts.log(loss.straight, 4).c_str(),
      100.0 * loss.share());
}

}  // namespace kerfwright
