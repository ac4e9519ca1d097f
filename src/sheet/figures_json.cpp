#include "kerfwright/sheet/figures_json.hpp"

#include "comparison_rows.hpp"
#include "json_text.hpp"
#include "kerfwright/shape/measure.hpp"

namespace kerfwright {
namespace {

using namespace json_text;

std::string texts(const std::vector<std::string>& all) {
  std::vector<std::string> items;
  for (const std::string& text : all) items.push_back(quoted(text));
  return list(items);
}

std::string section(const SectionMeasure& m) {
  return object({member("x", number(m.x)), member("mean_over_bark", number(m.mean_over_bark)),
                 member("smallest_over_bark", number(m.smallest_over_bark)),
                 member("mean_under_bark", number(m.mean_under_bark)),
                 member("smallest_under_bark", number(m.smallest_under_bark)),
                 member("square_under_bark", number(m.square_under_bark))});
}

}  // namespace

std::string measures_json(const LogShape& shape) {
  const LogMeasures m = measure(shape);
  return document(
      {member("file", quoted(shape.source.file)), member("length", number(m.length)),
       member("butt", section(m.butt)), member("middle", section(m.middle)),
       member("top", section(m.top)), member("sweep", number(m.sweep)),
       member("sweep_per_m", number(m.sweep_per_m)), member("sweep_x", number(m.sweep_x)),
       member("sweep_clock", number(m.sweep_clock)), member("taper", number(m.taper)),
       member("ovality", number(m.ovality)), member("volume_over_bark", number(m.volume_over_bark)),
       member("volume_under_bark", number(m.volume_under_bark)),
       member("seen_share", number(m.seen_share)), member("sigma_seen", number(m.sigma_seen)),
       member("sigma_inferred", number(m.sigma_inferred)), member("notes", texts(shape.notes))});
}

std::string plan_figures_json(const SawPlan& plan, const LogShape& shape,
                              const std::vector<std::string>& files) {
  std::vector<std::string> members = {member("file", quoted(shape.source.file))};
  for (std::string& figure : sheet::figure_members(plan)) members.push_back(std::move(figure));
  members.push_back(member("notes", texts(shape.notes)));
  members.push_back(member("written", texts(files)));
  return document(members);
}

}  // namespace kerfwright
