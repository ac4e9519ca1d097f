#include "archive_commands.hpp"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <iostream>

#include "archived_log.hpp"
#include "kerfwright/archive/folder.hpp"
#include "kerfwright/archive/logs_json.hpp"
#include "kerfwright/archive/thinned_scan.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/shape/measure.hpp"
#include "kerfwright/sheet/log_drawing.hpp"
#include "kerfwright/sheet/shape_file.hpp"

namespace kerfwright::cli {
namespace {

namespace fs = std::filesystem;
using Access = Archive::Access;

/// The ending of a name in small letters, without its point.
std::string ending_of(const std::string& file) {
  std::string ending = fs::path(file).extension().string();
  if (!ending.empty()) ending.erase(0, 1);
  for (char& c : ending) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return ending;
}

void add_scan(const ArchiveAddOptions& options, const ShapeOfScan& log, NewLog& kept) {
  const bool from_scan = !log.labels.empty();
  if (options.whole && !from_scan)
    throw UserError(Fault::usage,
                    "'" + options.scan.file + "' is a shape: --whole needs the scan itself.");
  if (!from_scan) return;
  if (options.whole) {
    kept.files.push_back(
        {"scan." + ending_of(options.scan.file), "scan", read_file(options.scan.file)});
  } else {
    kept.files.push_back({"scan.ply", "scan", thinned_log_ply(log.scan, log.labels)});
  }
}

/// The ending of a picture's name.
/// @throws UserError unknown_format
std::string picture_ending(const std::string& file) {
  const std::string ending = ending_of(file);
  constexpr const char* known[] = {"jpg", "jpeg", "png", "webp", "heic", "tif", "tiff", "svg"};
  if (std::find(std::begin(known), std::end(known), ending) == std::end(known))
    throw UserError(Fault::unknown_format, "'" + file +
                                               "' is no picture that is kept; take JPEG, "
                                               "PNG, WebP, HEIC, TIFF or SVG.");
  return ending;
}

void add_pictures(const ArchiveAddOptions& options, NewLog& kept) {
  int number = 0;
  for (const std::string& file : options.pictures) {
    const std::string ending = picture_ending(file);
    kept.files.push_back(
        {"picture-" + std::to_string(++number) + "." + ending, "picture", read_file(file)});
  }
}

std::string megabytes(std::uint64_t bytes) {
  return bytes < 1'000'000 ? std::to_string((bytes + 999) / 1000) + " kB"
                           : std::to_string((bytes + 500'000) / 1'000'000) + " MB";
}

void print_line(const char* what, const std::string& text) {
  if (!text.empty()) std::cout << what << text << '\n';
}

/// The folder itself where it holds a log, else those in it that do.
std::vector<std::string> log_folders(const std::string& folder) {
  if (!fs::is_directory(folder) || fs::exists(fs::path(folder) / "log.json")) return {folder};
  std::vector<std::string> folders;
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (!entry.is_symlink() && entry.is_directory() && fs::exists(entry.path() / "log.json"))
      folders.push_back(entry.path().string());
  }
  if (folders.empty())
    throw UserError(Fault::no_file, "'" + folder +
                                        "' holds no log.json, nor does a folder in it; "
                                        "name a folder that 'kerfwright archive export' wrote.");
  std::sort(folders.begin(), folders.end());
  return folders;
}

}  // namespace

int run_archive_add(const ArchiveAddOptions& options) {
  if (is_archived(options.scan.file))
    throw UserError(Fault::usage, "'" + options.scan.file +
                                      "' is in the archive already; add "
                                      "takes the file of a scan or a shape.");
  ShapeOfScan log = load_shape(options.scan);
  const std::string& source = log.shape.source.file;
  NewLog kept;
  kept.card = checked(options.card, source.empty() ? options.scan.file : source);
  kept.files.push_back({"shape.json", "shape", shape_to_json(log.shape)});
  add_scan(options, log, kept);
  add_pictures(options, kept);
  open_archive(options.scan.archive, Access::made).add(kept, options.again);
  print_notes(log.shape, options.scan.inches);
  std::cout << "Kept as '" << kept.card.name << "'\n";
  return 0;
}

int run_archive_find(const ArchiveFindOptions& options) {
  const Archive archive = open_archive(options.archive, Access::existing);
  const auto logs = archive.find(options.query);
  if (options.json) {
    std::cout << logs_json(logs);
    return 0;
  }
  std::cout << log_table(logs, options.inches) << logs.size()
            << (logs.size() == 1 ? " log" : " logs");
  if (options.query.gives)
    std::cout << ", by a quick test of the sections under bark, less one sigma; a plan of "
                 "archive:NAME says for certain";
  std::cout << '\n';
  return 0;
}

int run_archive_show(const ArchiveNamesOptions& options) {
  const Archive archive = open_archive(options.archive, Access::existing);
  const KeptLog log = archive.log(options.names.front());
  const LogShape shape = shape_from_json(archive.file(log, "shape.json"), log.card.name);
  if (!options.drawing.empty())
    write_file(options.drawing, log_drawing_svg(shape, log.card.name, options.inches));
  std::cout << log.card.name << '\n';
  print_line("Species   ", log.card.species);
  print_line("Place     ", log.card.place);
  print_line("Felled    ", log.card.felled);
  if (log.card.moisture) std::cout << "Moisture  " << *log.card.moisture << " %\n";
  print_line("Note      ", log.card.note);
  std::cout << "Kept      " << log.added << '\n'
            << describe(measure(shape), options.inches) << "Files\n";
  for (const FileEntry& file : archive.files(log))
    std::cout << "  " << file.name << ", " << megabytes(file.size) << ", " << file.added << '\n';
  print_line("Written: ", options.drawing);
  return 0;
}

int run_archive_change(const ArchiveChangeOptions& options) {
  Archive archive = open_archive(options.archive, Access::existing);
  const KeptLog log = archive.log(options.name);
  LogCard card = log.card;
  card.name = options.new_name.value_or(card.name);
  card.species = options.species.value_or(card.species);
  card.place = options.place.value_or(card.place);
  card.felled = options.felled.value_or(card.felled);
  card.note = options.note.value_or(card.note);
  if (options.moisture) card.moisture = options.moisture;
  std::vector<std::pair<std::string, std::string>> pictures;  // ending, bytes
  for (const std::string& file : options.pictures)
    pictures.emplace_back(picture_ending(file), read_file(file));
  if (card.name.empty()) throw UserError(Fault::usage, "A log must have a name; give one.");
  archive.change(log, checked(card, ""));
  for (const auto& [ending, bytes] : pictures) archive.keep(log, "picture", ending, bytes);
  std::cout << "Changed: '" << card.name << "'\n";
  return 0;
}

int run_archive_export(const ArchiveExportOptions& options) {
  const Archive archive = open_archive(options.archive, Access::existing);
  if (options.all != options.name.empty())
    throw UserError(Fault::usage, "Name one log to export, or all of them with --all.");
  if (!options.all) {
    export_log(archive, archive.log(options.name), options.out);
    std::cout << "Written: " << options.out << '\n';
    return 0;
  }
  const auto logs = archive.find({});
  const std::size_t digits = std::to_string(logs.size()).size();
  for (std::size_t i = 0; i < logs.size(); ++i) {
    std::string folder = std::to_string(i + 1);
    folder.insert(0, digits - folder.size(), '0');
    const std::string name = plain_name(logs[i].card.name);
    if (!name.empty()) folder += "-" + name;
    export_log(archive, logs[i], (fs::path(options.out) / folder).string());
  }
  std::cout << "Written: " << logs.size() << " folders in " << options.out << '\n';
  return 0;
}

int run_archive_import(const ArchiveImportOptions& options) {
  std::vector<std::string> folders;
  for (const std::string& folder : options.folders)
    for (std::string& each : log_folders(folder)) folders.push_back(std::move(each));
  if (!options.name.empty() && folders.size() != 1)
    throw UserError(Fault::usage, "--name is for one log; import the others by themselves.");
  for (const std::string& folder : folders) {
    NewLog log = read_log_folder(folder);
    if (!options.name.empty()) {
      log.card.name = options.name;
      log.card = checked(log.card, folder);
    }
    open_archive(options.archive, Access::made).add(log, options.again);
    std::cout << "Kept as '" << log.card.name << "'\n" << std::flush;
  }
  return 0;
}

int run_archive_remove(const ArchiveNamesOptions& options) {
  Archive archive = open_archive(options.archive, Access::existing);
  for (const std::string& name : options.names) {
    if (options.undo) {
      archive.take_back(name);
      std::cout << "'" << name << "' is back in the archive\n" << std::flush;
    } else {
      archive.remove(archive.log(name));
      std::cout << "'" << name << "' is in the bin; --undo takes it back\n" << std::flush;
    }
  }
  return 0;
}

int run_archive_empty_bin(const std::string& place) {
  const int logs = open_archive(place, Access::existing).empty_bin();
  std::cout << logs << (logs == 1 ? " log is" : " logs are") << " gone for good\n";
  return 0;
}

int run_archive_check(const std::string& place) {
  const auto wrong = open_archive(place, Access::existing).check();
  for (const std::string& sentence : wrong) std::cout << sentence << '\n';
  if (!wrong.empty())
    throw UserError(Fault::bad_archive,
                    "The archive is damaged: see the sentences above; bring what they name back "
                    "from a copy or an export.");
  std::cout << "All is well: checksums, references, shapes and plans\n";
  return 0;
}

}  // namespace kerfwright::cli
