#include "kerfwright/archive/folder.hpp"

#include <unistd.h>

#include <filesystem>

#include "insert.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "packing.hpp"
#include "sheet/json_read.hpp"
#include "sheet/json_text.hpp"
#include "trade/words.hpp"

namespace kerfwright {
namespace {

namespace fs = std::filesystem;
namespace read = json_read;
namespace write = json_text;

constexpr const char* card_file = "log.json";
constexpr std::size_t longest_text = 100'000;  // bytes; what a card may have is asked later

std::string card_text(const KeptLog& log, const std::vector<FileEntry>& files) {
  using write::member;
  std::vector<std::string> members = {
      member("format", write::quoted("kerfwright-log")) + ", " + member("version", "1"),
      member("name", write::quoted(log.card.name)),
      member("species", write::quoted(log.card.species)),
      member("place", write::quoted(log.card.place)),
      member("felled", write::quoted(log.card.felled))};
  if (log.card.moisture) members.push_back(member("moisture", write::number(*log.card.moisture)));
  members.push_back(member("note", write::quoted(log.card.note)));
  members.push_back(member("added", write::quoted(log.added)));
  std::vector<std::string> rows;
  for (const FileEntry& file : files) {
    rows.push_back(write::object({member("name", write::quoted(file.name)),
                                  member("sha256", write::quoted(file.sha256)),
                                  member("added", write::quoted(file.added))}));
  }
  members.push_back(member("files", write::lines(rows)));
  return write::document(members);
}

[[noreturn]] void refuse(const std::string& folder, const std::string& why) {
  throw UserError(Fault::bad_archive,
                  "The folder '" + folder + "' cannot be taken in: " + why + ".");
}

/// A time of day in figures, as it is written.
std::string read_time(const std::string& folder, const read::Node& object) {
  const std::string time = read::text(read::member(object, "added"), 40);
  if (time.find_first_not_of("0123456789-:TZ") != std::string::npos)
    refuse(folder, in_quotes(time) + " is no time");
  return time;
}

/// A plain file within the folder, not a link to anywhere else.
std::string read_inside(const std::string& folder, const std::string& name) {
  const fs::path path = fs::path(folder) / name;
  std::error_code error;
  const fs::file_status status = fs::symlink_status(path, error);
  if (!fs::exists(status)) refuse(folder, "it has no '" + name + "'");
  if (!fs::is_regular_file(status)) refuse(folder, "'" + name + "' is a link or no plain file");
  if (fs::file_size(path, error) > archive::largest_file)
    refuse(folder, "'" + name + "' has more than 900 MB");
  return read_file(path.string());
}

KeptFile read_kept(const std::string& folder, const read::Node& node) {
  KeptFile file;
  file.name = read::text(read::member(node, "name"));
  file.kind = archive::kind_of(file.name);
  if (file.kind.empty())
    refuse(folder, in_quotes(file.name) + " is no name that a file of a log may have");
  file.added = read_time(folder, node);
  file.bytes = read_inside(folder, file.name);
  if (sha256_hex(file.bytes) != read::digest(read::member(node, "sha256")))
    refuse(folder, "'" + file.name +
                       "' is not the file that was exported; its checksum in log.json "
                       "is another");
  return file;
}

/// An empty folder that takes everything before it gets its name.
fs::path beside(const fs::path& folder) {
  fs::path parent = fs::absolute(folder).lexically_normal();
  if (parent.filename().empty()) parent = parent.parent_path();
  std::error_code error;
  fs::create_directories(parent.parent_path(), error);
  const fs::path temporary = parent.string() + ".part-" + std::to_string(::getpid());
  fs::remove_all(temporary, error);
  if (!fs::create_directory(temporary, error))
    throw UserError(Fault::cannot_write, "Cannot make the folder '" + folder.string() + "'.");
  return temporary;
}

}  // namespace

void export_log(const Archive& archive, const KeptLog& log, const std::string& folder) {
  std::error_code error;
  if (fs::exists(folder) && (!fs::is_directory(folder) || !fs::is_empty(folder, error)))
    throw UserError(Fault::cannot_write, "'" + folder +
                                             "' is there already and has something in "
                                             "it; name a folder that is not.");
  const auto files = archive.files(log);
  const fs::path temporary = beside(folder);
  try {
    for (const FileEntry& file : files)
      write_file((temporary / file.name).string(), archive.file(log, file.name));
    write_file((temporary / card_file).string(), card_text(log, files));
    fs::rename(temporary, fs::path(folder).lexically_normal());
  } catch (const UserError&) {
    fs::remove_all(temporary, error);
    throw;
  } catch (const fs::filesystem_error& fault) {
    fs::remove_all(temporary, error);
    throw UserError(Fault::cannot_write,
                    "Cannot make the folder '" + folder + "': " + fault.code().message() + ".");
  }
}

NewLog read_log_folder(const std::string& folder) {
  std::error_code error;
  if (!fs::is_directory(folder, error))
    throw UserError(Fault::no_file, "There is no folder '" + folder + "'.");
  const std::string place = (fs::path(folder) / card_file).string();
  const read::Reading reading{Fault::bad_archive, "log", place, "export it again", 1};
  read::json document;
  const auto root = read::open_document(reading, read_inside(folder, card_file), document);
  const auto text = [&](const char* key) {
    return read::text(read::member(root, key), longest_text);
  };
  NewLog log;
  log.card = {text("name"), text("species"), text("place"), text("felled"), {}, text("note")};
  if (read::has(root, "moisture"))
    log.card.moisture = read::number(read::member(root, "moisture"), 0.0, 300.0);
  try {
    if (log.card.name.empty()) refuse(folder, "the log has no name");
    log.card = checked(log.card, folder);
  } catch (const UserError& fault) {
    throw UserError(Fault::bad_archive, "'" + place + "': " + fault.what());
  }
  log.added = read_time(folder, root);
  for (const auto& node : read::items(read::member(root, "files"), 1, 100'000))
    log.files.push_back(read_kept(folder, node));
  return log;
}

}  // namespace kerfwright
