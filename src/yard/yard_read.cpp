#include "kerfwright/yard/yard_sheets.hpp"
#include "sheet/json_read.hpp"

namespace kerfwright {

std::vector<std::string> folders_of_yard(const std::string& json, const std::string& name) {
  const json_read::Reading reading{Fault::bad_plan, "yard-plan", name, "plan the list again"};
  json_read::json document;
  const auto root = json_read::open_document(reading, json, document);
  std::vector<std::string> folders;
  for (const auto& log : json_read::items(json_read::member(root, "logs"), 0, 1000000)) {
    if (!json_read::has(log, "folder")) continue;
    folders.push_back(json_read::text(json_read::member(log, "folder")));
  }
  return folders;
}

}  // namespace kerfwright
