#include "archived_log.hpp"

#include <algorithm>

#include "kerfwright/error.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "kerfwright/trade/species.hpp"

namespace kerfwright::cli {
namespace {

constexpr std::string_view mark = "archive:";

KeptLog kept_log(const Archive& archive, const std::string& scan) {
  return archive.log(scan.substr(mark.size()));
}

}  // namespace

bool is_archived(const std::string& scan) { return scan.starts_with(mark); }

Archive open_archive(const std::string& place, Archive::Access access) {
  return Archive::open(place.empty() ? Archive::default_path() : place, access);
}

LogShape archived_shape(const ScanOptions& options) {
  const Archive archive = open_archive(options.archive, Archive::Access::existing);
  return shape_from_json(archive.file(kept_log(archive, options.file), "shape.json"), options.file);
}

std::string species_of(const ScanOptions& options) {
  if (!options.species.empty() || !is_archived(options.file)) return options.species;
  const Archive archive = open_archive(options.archive, Archive::Access::existing);
  const std::string species = kept_log(archive, options.file).card.species;
  if (species.empty()) return {};
  try {
    find_species(species);
  } catch (const UserError&) {
    return {};  // a log of a tree that no table lists may be kept too
  }
  return species;
}

std::string keep_plan(const ScanOptions& options, const std::string& shape_sha256,
                      const std::string& plan) {
  if (!is_archived(options.file)) return {};
  Archive archive = open_archive(options.archive, Archive::Access::existing);
  const KeptLog log = kept_log(archive, options.file);
  if (log.shape_sha256 != shape_sha256)
    return "Not kept in the archive: bark or marks were changed for this plan; add the log with "
           "them under another name to keep its plans.\n";
  return "Kept in the archive as " + archive.keep(log, "plan", "json", plan) + " of '" +
         log.card.name + "'\n";
}

}  // namespace kerfwright::cli
