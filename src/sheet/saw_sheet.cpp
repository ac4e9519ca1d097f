#include "kerfwright/sheet/saw_sheet.hpp"

#include "html.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "look.hpp"
#include "model_part.hpp"
#include "sheet_parts.hpp"
#include "turn_plot.hpp"

namespace kerfwright {
namespace {

using namespace sheet;

std::string head(const SawPlan& plan, const LogShape& shape) {
  const std::string id = sha256_hex(plan_to_json(plan)).substr(0, 16);
  return html::page_head(" data-plan=\"" + id + "\"", "; script-src 'unsafe-inline'; img-src data:",
                         "Saw sheet: " + shape.source.file, sheet_style);
}

std::string summary(const SawPlan& plan, const LogShape& shape) {
  const Lengths lengths(plan.mill);
  const LogMeasures measures = measure(shape);
  std::string text = html::element("h1", "", "Saw sheet: " + xml_text(shape.source.file)) + "\n";
  std::string log = "Log of " + lengths.text(measures.length) + ", ⌀ under bark " +
                    lengths.number(measures.butt.mean_under_bark) + " at the butt, " +
                    lengths.number(measures.top.mean_under_bark) + " at the top. ";
  log +=
      std::to_string(plan.boards.size()) + " boards, " +
      html::strong("", look::rounded(plan.totals.value, 2) + " " + xml_text(plan.order.currency)) +
      ", about " + look::rounded(plan.totals.hours, 1) + " hours.";
  for (const auto& words : {expectation_words(plan), bound_words(plan)}) {
    if (words) log += " " + xml_text(*words);
  }
  text += html::element("p", "sum", log) + "\n";
  if (plan.done == 0) return text;
  const std::string made = std::to_string(plan.done);
  return text +
         html::element("p", "sum",
                       html::strong("", "Go on after cut " + made) +
                           ": the cuts up to it are made, and this sheet takes the place of the "
                           "one before. Boards and value are those of the whole log.") +
         "\n";
}

/// The hatches of the drawings, once for all of them.
std::string hatches(const SawPlan& plan) {
  return "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\">\n" +
         look::hatch_definitions(static_cast<int>(look::hatches(plan).size())) + "</svg>\n";
}

}  // namespace

std::string saw_sheet_html(const SawPlan& plan, const LogShape& shape,
                           const std::vector<TurnWorth>& by_turn) {
  const Steps steps = told_steps(plan, shape);
  std::string text = head(plan, shape) + "<body>\n" + hatches(plan) + summary(plan, shape);
  text += plan.done > 0 ? remains_part(steps, shape) : preparation_part(steps, shape);
  for (std::size_t i = 0; i < steps.groups.size(); ++i) {
    if (steps.steps.stages[i].cuts.back().n > plan.done) text += stage_part(steps, shape, i);
  }
  text += otherwise_part(plan) + bench_part(steps, shape);
  if (plan.done == 0) text += turn_part(plan, by_turn);
  text += model_part(steps, shape);
  text.append("<script>").append(sheet_script).append("</script>\n</body>\n</html>\n");
  return text;
}

}  // namespace kerfwright
