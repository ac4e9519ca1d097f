#include "kerfwright/sheet/log_drawing.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "kerfwright/shape/measure.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/trade/amounts.hpp"
#include "lengths.hpp"
#include "look.hpp"
#include "svg.hpp"

namespace kerfwright {
namespace {

using sheet::Anchor;
using sheet::Lengths;
using sheet::Path;
using sheet::Point;
using sheet::Svg;
namespace look = sheet::look;

constexpr double paper_width = 277;  // mm, A4 across less its margins
constexpr double margin = 10, gap = 8, caption = 5;

/// How far the log reaches at each station, from the chord.
struct Reach {
  std::vector<double> low, high;
};

/// Along y (0) or z (1), over bark.
Reach reach_along(const LogShape& shape, int side) {
  Reach reach;
  for (std::size_t i = 0; i < shape.stations.size(); ++i) {
    double low = 1e9, high = -1e9;
    for (const Eigen::Vector2d& point : section_outline(shape, i, Bark::on)) {
      low = std::min(low, point[side]);
      high = std::max(high, point[side]);
    }
    reach.low.push_back(low);
    reach.high.push_back(high);
  }
  return reach;
}

double height_of(const Reach& reach) {
  return *std::max_element(reach.high.begin(), reach.high.end()) -
         *std::min_element(reach.low.begin(), reach.low.end());
}

/// The log from the side or from above; `top` is the height of its upper edge on the paper.
void draw_length(Svg& svg, const LogShape& shape, const Reach& reach, int side, double top,
                 double scale) {
  const double high = *std::max_element(reach.high.begin(), reach.high.end());
  const auto at = [&](std::size_t i, double place) {
    return Point(margin + shape.stations[i] / scale, top + (high - place) / scale);
  };
  Path outline, axis;
  const std::size_t count = shape.stations.size();
  for (std::size_t i = 0; i < count; ++i) outline.push_back(at(i, reach.high[i]));
  for (std::size_t i = count; i-- > 0;) outline.push_back(at(i, reach.low[i]));
  for (std::size_t i = 0; i < count; ++i) axis.push_back(at(i, shape.axis[i][side]));
  svg.path(outline, true, look::wood);
  svg.path(axis, false, look::axis);
}

/// Seen from the butt: y to the left.
void draw_section(Svg& svg, const LogShape& shape, std::size_t station, const Point& centre,
                  double scale) {
  const Eigen::Vector2d middle = shape.axis[station];
  const auto on_paper = [&](const Outline& outline) {
    Path path;
    for (const Eigen::Vector2d& p : outline)
      path.push_back(centre + Point(-(p.x() - middle.x()), -(p.y() - middle.y())) / scale);
    return path;
  };
  const Path bark = on_paper(section_outline(shape, station, Bark::on));
  svg.path(bark, true, look::bark);
  svg.path(on_paper(section_outline(shape, station, Bark::off)), true, look::wood);
  const auto& seen = shape.seen[station];
  const auto was_seen = [&](std::size_t j) {
    return seen[j] != 0 && seen[(j + 1) % bark.size()] != 0;
  };
  // Runs of one kind as one line, so that dashes run on.
  for (std::size_t j = 0; j < bark.size();) {
    Path run = {bark[j]};
    const bool kind = was_seen(j);
    for (; j < bark.size() && was_seen(j) == kind; ++j) run.push_back(bark[(j + 1) % bark.size()]);
    svg.path(run, false, kind ? look::seen : look::unseen);
  }
}

double largest_radius(const LogShape& shape) {
  double largest = 0;
  for (const auto& row : shape.radius)
    largest = std::max(largest, double{*std::max_element(row.begin(), row.end())});
  return largest;
}

}  // namespace

std::string log_drawing_svg(const LogShape& shape, const std::string& name, bool inches) {
  const Lengths lengths(inches ? in_inches(Mill{}) : Mill{});
  const double radius = largest_radius(shape);
  const Reach side = reach_along(shape, 1), above = reach_along(shape, 0);
  const double scale = std::max({shape.length() / paper_width, radius / 75.0, 1.0});
  const double column = paper_width / 3.0;
  const double section_scale = std::max(2.0 * radius / (column - gap), 1.0);
  const LogMeasures all = measure(shape);
  Svg svg;
  double y = margin + 6;
  svg.text({margin, y}, sheet::fitted(name, 6, paper_width, true), {6, Anchor::start, true});
  y += 7;
  svg.text({margin, y}, "Length " + lengths.text(all.length) + ", middle " +
                            lengths.text(all.middle.mean_over_bark) + " over bark, sweep " +
                            lengths.text(all.sweep) + ", " +
                            Amounts{inches}.log(all.volume_under_bark) + " under bark");
  const std::array<std::pair<const char*, const Reach*>, 2> views = {
      {{"From the side, butt left", &side},
       {"From above (its left side, seen from the butt, is up)", &above}}};
  for (std::size_t i = 0; i < views.size(); ++i) {
    y += gap;
    svg.text({margin, y}, views[i].first);
    y += caption - 2;
    draw_length(svg, shape, *views[i].second, i == 0 ? 1 : 0, y, scale);
    y += height_of(*views[i].second) / scale;
  }
  y += gap;
  const std::size_t last = shape.stations.size() - 1;
  const std::array<std::pair<const char*, std::size_t>, 3> places = {
      {{"Butt", 0}, {"Middle", last / 2}, {"Top", last}}};
  const double across = 2.0 * radius / section_scale;
  for (std::size_t k = 0; k < places.size(); ++k) {
    const double x = margin + static_cast<double>(k) * column;
    svg.text({x, y}, std::string(places[k].first) + ", " +
                         lengths.text(shape.stations[places[k].second]) +
                         " from the butt, 1 : " + look::rounded(section_scale, 1));
    draw_section(svg, shape, places[k].second, Point(x + 0.5 * across, y + 3 + 0.5 * across),
                 section_scale);
  }
  y += across + 3 + margin;
  const std::string width = sheet::paper(paper_width + 2.0 * margin), height = sheet::paper(y);
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" "
         "width=\"" +
         width + "mm\" height=\"" + height + "mm\" viewBox=\"0 0 " + width + " " + height +
         "\" font-family=\"Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', "
         "sans-serif\">\n<title>" +
         sheet::xml_text(name) + "</title>\n<rect width=\"" + width + "\" height=\"" + height +
         "\" fill=\"#ffffff\"/>\n" + svg.body() + "</svg>\n";
}

}  // namespace kerfwright
