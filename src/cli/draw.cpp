#include <algorithm>
#include <cctype>
#include <filesystem>
#include <iostream>

#include "commands.hpp"
#include "kerfwright/saw/value_by_turn.hpp"
#include "kerfwright/sheet/boards_csv.hpp"
#include "kerfwright/sheet/cut_map.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/saw_sheet.hpp"
#include "kerfwright/sheet/setup_maps.hpp"
#include "kerfwright/sheet/template_sheet.hpp"
#include "plan_given.hpp"

namespace kerfwright::cli {

std::vector<NamedText> drawings_of(const SawPlan& plan, const LogShape& shape) {
  // Parts of a log are turned each by itself: there the whole log's curve would mislead.
  const bool whole = std::none_of(plan.setups.begin(), plan.setups.end(),
                                  [](const Setup& setup) { return setup.part.has_value(); });
  const bool opens = plan.done == 0;  // else the opening face is made
  const auto by_turn =
      whole && opens ? value_by_turn(shape, plan.order, plan.mill) : std::vector<TurnWorth>();
  std::vector<NamedText> files = {{"saw-sheet.html", saw_sheet_html(plan, shape, by_turn)},
                                  {"boards.csv", boards_csv(plan, shape)},
                                  {"cut-map.svg", cut_map_svg(plan, shape)}};
  if (opens) files.push_back({"template.html", template_html(plan, shape)});
  for (SetupMap& map : setup_maps(plan, shape)) {
    files.push_back({"cut-map-" + map.name + ".svg", std::move(map.svg)});
  }
  return files;
}

std::vector<NamedText> files_of(const SawPlan& plan, const LogShape& shape,
                                const std::string& shape_text) {
  std::vector<NamedText> files = {{"shape.json", shape_text}, {"plan.json", plan_to_json(plan)}};
  for (NamedText& file : drawings_of(plan, shape)) files.push_back(std::move(file));
  return files;
}

std::vector<std::string> paths_of(const std::string& folder, const std::vector<NamedText>& files) {
  std::vector<std::string> paths;
  for (const NamedText& file : files) {
    paths.push_back((std::filesystem::path(folder) / file.name).string());
  }
  return paths;
}

std::string plain_name(const std::string& text) {
  std::string plain;
  for (const char c : text) {
    const bool letter = std::isalnum(static_cast<unsigned char>(c)) != 0 && c > 0;
    if (letter || (!plain.empty() && plain.back() != '-')) plain += letter ? c : '-';
  }
  while (!plain.empty() && plain.back() == '-') plain.pop_back();
  return plain.substr(0, 60);
}

int run_draw(const DrawOptions& options) {
  auto [plan, shape, shape_file, its_own] = read_plan_on_shape(options.plan, options.shape);
  refuse_plan_of_another_log(options.out, shape.source.file);
  if (options.inches) plan.mill = in_inches(plan.mill);
  const auto files = drawings_of(plan, shape);
  write_all(options.out, files);
  for (const std::string& path : paths_of(options.out, files)) {
    std::cout << "Written: " << path << '\n';
  }
  return 0;
}

}  // namespace kerfwright::cli
