#pragma once

#include <string>
#include <vector>

namespace kerfwright::cli {

/// A file to write: its name within a folder, and what is in it.
struct NamedText {
  std::string name, text;
};

struct Output {
  std::string folder;
  std::vector<NamedText> files;
};

/// What a person could saw from in a folder, as it was written of a plan.
std::vector<std::string> drawings_in(const std::string& folder);

/// A plan of another log may be on the saw just now: it is not written over.
/// @param source of the log that is planned, empty where that is not known
/// @throws UserError cannot_write
void refuse_plan_of_another_log(const std::string& folder, const std::string& source);

/// Folders of plans that a comparison wrote to `folder` before, in order of their names: none where
/// it holds no comparison.
std::vector<std::string> compared_before(const std::string& folder);

/// As refuse_plan_of_another_log, for a folder that gets a comparison.
/// @throws UserError cannot_write
void refuse_comparison_of_another_log(const std::string& folder, const std::string& source);

/// Makes the folders that are not there and writes all files or none; drawings of an older plan in
/// a folder that gets a sheet, and what is `outdated`, are taken away. A folder that was made for
/// nothing is taken away again.
/// @throws UserError cannot_write
void write_all(const std::vector<Output>& outputs, std::vector<std::string> outdated);
void write_all(const std::string& folder, const std::vector<NamedText>& files);

}  // namespace kerfwright::cli
