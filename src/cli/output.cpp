#include "output.hpp"

#include <algorithm>
#include <cctype>
#include <filesystem>

#include "interrupt.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/sheet/shape_file.hpp"

namespace kerfwright::cli {
namespace {

namespace fs = std::filesystem;

/// @param made receives what had to be made, outermost first
void make_folder(const fs::path& folder, std::vector<fs::path>& made) {
  std::error_code error;
  std::vector<fs::path> missing;
  for (fs::path at = fs::absolute(folder).lexically_normal(); !at.empty() && !fs::exists(at, error);
       at = at.parent_path()) {
    missing.push_back(at);
  }
  fs::create_directories(folder, error);
  made.insert(made.end(), missing.rbegin(), missing.rend());
  if (error || !fs::is_directory(folder)) {
    throw UserError(Fault::cannot_write, "Cannot make the folder '" + folder.string() + "'" +
                                             (error ? ": " + error.message() : std::string()) +
                                             ".");
  }
}

bool is_drawing(const std::string& name) {
  return name == "saw-sheet.html" || name == "template.html" ||
         (name.starts_with("cut-map") && name.ends_with(".svg"));
}

/// The scan of the log whose plan lies in a folder; empty where none of ours lies there.
std::string log_of_plan_in(const std::string& folder) {
  const fs::path shape_file = fs::path(folder) / "shape.json";
  std::error_code error;
  if (!fs::is_regular_file(fs::path(folder) / "plan.json", error) ||
      !fs::is_regular_file(shape_file, error)) {
    return {};
  }
  try {
    return shape_from_json(read_file(shape_file.string()), shape_file.string()).source.file;
  } catch (const UserError&) {
    return {};
  }
}

[[noreturn]] void refuse_folder(const std::string& folder, const std::string& what,
                                const std::string& log) {
  throw UserError(Fault::cannot_write, "The folder '" + folder + "' holds " + what +
                                           " of another log, '" + log +
                                           "'; give --out another folder, or take that " +
                                           what.substr(what.find(' ') + 1) + " away first.");
}

}  // namespace

std::vector<std::string> drawings_in(const std::string& folder) {
  std::vector<std::string> drawings;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    if (is_drawing(entry.path().filename().string())) drawings.push_back(entry.path().string());
  }
  std::sort(drawings.begin(), drawings.end());
  return drawings;
}

void refuse_plan_of_another_log(const std::string& folder, const std::string& source) {
  const std::string other = log_of_plan_in(folder);
  if (source.empty() || other.empty() || other == source) return;
  refuse_folder(folder, "the plan", other);
}

std::vector<std::string> compared_before(const std::string& folder) {
  std::vector<std::string> folders;
  std::error_code error;
  if (!fs::exists(fs::path(folder) / "comparison.json", error)) return folders;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const std::string name = entry.path().filename().string();
    const bool of_way = std::isdigit(static_cast<unsigned char>(name.front())) != 0 &&
                        name.find('-') != std::string::npos;
    if (of_way && entry.is_directory(error)) folders.push_back(entry.path().string());
  }
  std::sort(folders.begin(), folders.end());
  return folders;
}

void refuse_comparison_of_another_log(const std::string& folder, const std::string& source) {
  refuse_plan_of_another_log(folder, source);
  for (const std::string& of_way : compared_before(folder)) {
    const std::string other = log_of_plan_in(of_way);
    if (!source.empty() && !other.empty() && other != source) {
      refuse_folder(folder, "the comparison", other);
    }
  }
}

void write_all(const std::vector<Output>& outputs, std::vector<std::string> outdated) {
  const Undisturbed undisturbed;
  std::vector<FileText> files;
  std::vector<fs::path> made;
  try {
    for (const auto& [folder, texts] : outputs) {
      make_folder(folder, made);
      for (const auto& [name, text] : texts) {
        files.push_back({(fs::path(folder) / name).string(), text});
        if (name != "saw-sheet.html") continue;
        for (std::string& drawing : drawings_in(folder)) outdated.push_back(std::move(drawing));
      }
    }
    write_together(files, outdated);
  } catch (const UserError&) {
    std::error_code error;
    for (auto at = made.rbegin(); at != made.rend(); ++at) fs::remove(*at, error);  // where empty
    throw;
  }
}

void write_all(const std::string& folder, const std::vector<NamedText>& files) {
  write_all({{folder, files}}, {});
}

}  // namespace kerfwright::cli
