#include "turn_plot.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "html.hpp"
#include "look.hpp"
#include "pieces.hpp"
#include "stage_words.hpp"

namespace kerfwright::sheet {
namespace {

constexpr double size = 100.0;   // mm of paper, shown as wide as the page allows
constexpr double radius = 40.0;  // of the best worth
const Point centre(size / 2, size / 2);

Point at(double turn, double share) {
  const double angle = turn * std::numbers::pi / 180.0;
  return centre + radius * share * Point(std::sin(angle), -std::cos(angle));
}

double worth_at(const std::vector<TurnWorth>& curve, double turn) {
  const double step = 360.0 / static_cast<double>(curve.size());
  const double place = (turn - 360.0 * std::floor(turn / 360.0)) / step;
  const auto i = static_cast<std::size_t>(place) % curve.size();
  const double share = place - std::floor(place);
  return (1.0 - share) * curve[i].worth + share * curve[(i + 1) % curve.size()].worth;
}

void draw_rings(Svg& svg) {
  for (const double share : {0.25, 0.5, 0.75, 1.0}) {
    svg.circle(centre, radius * share, share < 1.0 ? look::leader : look::rule);
    svg.text(at(0.0, share) + Point(0.8, 3.2), look::rounded(100.0 * share) + " %", {3.0});
  }
  for (int hour = 0; hour < 12; ++hour) {
    svg.line(at(30.0 * hour, 1.0), at(30.0 * hour, 1.03), look::rule);
    const std::string name = std::to_string(hour == 0 ? 12 : hour);
    svg.text(at(30.0 * hour, 1.1) + Point(0, 1.5), name, {4.0, Anchor::middle});
  }
}

std::string figure(const SawPlan& plan, const std::vector<TurnWorth>& curve, double best) {
  Svg svg;
  Path outline;
  for (const TurnWorth& point : curve) outline.push_back(at(point.turn, point.worth / best));
  svg.path(outline, true,
           "fill=\"#e4e4e4\" stroke=\"#1a1a1a\" stroke-width=\"0.6\" "
           "stroke-linejoin=\"round\"");
  draw_rings(svg);
  const double roll = main_setup(plan).roll;
  const Point place = at(roll, 0.88);
  svg.line(centre, at(roll, 1.0), "stroke=\"#1a1a1a\" stroke-width=\"1\"");
  svg.circle(place, 3.4, "fill=\"#1a1a1a\" stroke=\"none\"");
  svg.text(place + Point(0, 1.8), "T", {5.0, Anchor::middle, true, "#fff"});
  std::string text =
      "<svg class=\"figure plot\" role=\"img\" aria-label=\"Worth by turn\" viewBox=\"0 0 ";
  return text.append(paper(size))
      .append(" ")
      .append(paper(size))
      .append("\">\n")
      .append(svg.body())
      .append("</svg>\n");
}

bool limited(const Order& order) {
  return std::any_of(order.products.begin(), order.products.end(),
                     [](const Product& product) { return product.wanted.has_value(); });
}

}  // namespace

double forgiven(const std::vector<TurnWorth>& curve, double turn, double share) {
  const double least = share * worth_at(curve, turn);
  double most = 0.0;
  while (most < 90.0 && worth_at(curve, turn - most - 0.5) >= least &&
         worth_at(curve, turn + most + 0.5) >= least) {
    most += 0.5;
  }
  return most;
}

std::string turn_part(const SawPlan& plan, const std::vector<TurnWorth>& curve) {
  double best = 0.0;
  for (const TurnWorth& point : curve) best = std::max(best, point.worth);
  if (best <= 0.0) return "";
  const double roll = main_setup(plan).roll;
  const double free = forgiven(curve, roll, 0.95);
  std::string text =
      "<section class=\"turns\">\n<h2>Worth by turn</h2>\n" + figure(plan, curve, best);
  std::string words =
      "How much comes out, net, with T at each hour, sawn through and through with the best "
      "opening "
      "there; the outer ring is the best turn, " +
      look::rounded(best, 2) + " " + xml_text(plan.order.currency) + ". ";
  if (limited(plan.order)) words += "Limits of the order on how many it wants are left aside. ";
  if (free >= 90.0) {
    words += html::strong("forgiven", "At any turn") + " nineteen parts of twenty are left.";
  } else if (free >= 2.0) {
    words += "Nineteen parts of twenty are left when the turn is off by up to " +
             html::strong("forgiven", degrees_text(std::floor(free))) + ".";
  } else {
    words += html::strong("forgiven", "Turn it with care:") +
             " a degree or two off costs more than one part in twenty.";
  }
  return text + html::element("p", "rule", words) + "\n</section>\n";
}

}  // namespace kerfwright::sheet
