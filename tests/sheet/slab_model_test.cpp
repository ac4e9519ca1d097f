#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "browser.hpp"
#include "kerfwright/saw/live_edge.hpp"
#include "kerfwright/saw/plan_log.hpp"
#include "kerfwright/shape/section.hpp"
#include "kerfwright/sheet/saw_sheet.hpp"
#include "samples.hpp"
#include "saw/shapes.hpp"

namespace kerfwright {
namespace {

using nlohmann::json;

/// Slabs of a bowed log that tapers: their edges are neither straight nor parallel.
struct Slabs {
  LogShape shape;
  SawPlan plan;
  std::string html;
};

const Slabs& slabs() {
  static const Slabs made = [] {
    samples::LogForm form;
    form.length = 1900;
    form.butt_radius = 190;
    form.top_radius = 150;
    form.bow = 60;
    form.bow_direction = 40;
    Slabs all{samples::bowed_log(form), {}, {}};
    Order order;
    order.products = {shapes::product("slab", 65, 170, {1500}, 900)};
    order.products[0].live_edge = true;
    PlanSettings settings;
    settings.turn_step = 45;
    settings.lifts = 3;
    settings.patterns = {Pattern::slabs};
    all.plan = plan_log(all.shape, order, Mill{}, settings);
    all.html = saw_sheet_html(all.plan, all.shape);
    return all;
  }();
  return made;
}

json model() {
  const std::string& html = slabs().html;
  const auto begins = html.find('>', html.find("id=\"model-data\"")) + 1;
  return json::parse(html.substr(begins, html.find("</script", begins) - begins));
}

TEST(SlabModel, HasTheEdgesOfTheLogAndNotThoseOfABox) {
  ASSERT_GE(slabs().plan.boards.size(), 3U);
  const json made = model();
  ASSERT_EQ(made["boards"].size(), slabs().plan.boards.size());
  for (const json& board : made["boards"]) {
    const std::vector<double> points = board["sections"];
    ASSERT_EQ(points.size() % 12, 0U);
    ASSERT_GE(points.size() / 12, 30U) << "every 50 mm or nearer";
    for (std::size_t k = 0; k < points.size(); k += 3) {
      // A round log of 64 corners, its points told in whole mm: the wood ends at the bark's inside.
      const Eigen::Vector3d point(points[k], points[k + 1], points[k + 2]);
      EXPECT_NEAR(depth_inside(slabs().shape, point, Bark::off), 0.0, 2.0) << k;
    }
  }
}

/// What the browser draws of a sheet once all is sawn: dark pixels, and a sum over all.
std::string drawn(std::string html) {
  const std::string probe = R"(<script>
addEventListener('load', function () {
  var step = document.getElementById('step');
  step.value = step.max;
  step.dispatchEvent(new Event('input'));
  document.body.setAttribute('data-seen', ink(document.getElementById('view')));
});
</script>
)";
  html.insert(html.rfind("</body>"), browser::ink_script + probe);
  const auto visit = browser::visit(html, 390, 844);
  EXPECT_EQ(visit.console, "");
  const auto at = visit.dom.find("data-seen=\"");
  return at == std::string::npos
             ? ""
             : visit.dom.substr(at + 11, visit.dom.find('"', at + 11) - at - 11);
}

TEST(SlabModel, IsDrawnAsItIsAndNotAsABox) {
  const std::string slabs_drawn = drawn(slabs().html);
  ASSERT_FALSE(slabs_drawn.empty());
  EXPECT_GT(std::stoi(slabs_drawn), 3000) << "hardly anything is drawn";
  std::string boxes = slabs().html;
  const std::string key = "\"sections\"";
  for (std::size_t at = 0; (at = boxes.find(key, at)) != std::string::npos;) {
    boxes.replace(at, key.size(), "\"unread\"");
  }
  EXPECT_NE(drawn(boxes), slabs_drawn);
}

}  // namespace
}  // namespace kerfwright
