#include <algorithm>
#include <cctype>
#include <map>
#include <memory>

#include "archive_commands.hpp"
#include "help.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/trade/species.hpp"
#include "length_option.hpp"
#include "scan_options.hpp"

namespace kerfwright::cli {
namespace {

/// THICKNESSxWIDTHxLENGTH in mm, or each with its unit.
PieceSize piece_size(const std::string& text) {
  std::vector<double> sizes;
  for (std::size_t at = 0; at <= text.size() && sizes.size() < 4;) {
    const std::size_t end = std::min(text.find_first_of("xX", at), text.size());
    sizes.push_back(mm_of(text.substr(at, end - at)).value_or(0.0));
    at = end + 1;
  }
  const bool good = sizes.size() == 3 && std::all_of(sizes.begin(), sizes.end(), [](double size) {
                      return size > 0.0 && size <= 30000.0;
                    });
  if (!good)
    throw UserError(Fault::usage,
                    "--gives takes a thickness, a width and a length in mm as in "
                    "60x350x1500, or each with its unit as in '2 in x 14 in x 5 ft', not '" +
                        text + "'.");
  return {sizes[0], sizes[1], sizes[2]};
}

void add_add(CLI::App& archive, Action& action) {
  struct Asked {
    ArchiveAddOptions options;
    ScanFlags scan;
  };
  const auto asked = std::make_shared<Asked>();
  ArchiveAddOptions& add = asked->options;
  auto* command = archive.add_subcommand(
      "add",
      "Keep a log: its shape, its scan and what is said of it.\n"
      "Example: kerfwright archive add cherry.ply --species cherry --note 'burl at the butt'");
  add_scan_options(command, add.scan, asked->scan);
  command->add_option("--name", add.card.name, "Name of the log; that of its file if not given")
      ->type_name("NAME");
  command->add_option("--place", add.card.place, "Where it was felled")->type_name("TEXT");
  command->add_option("--felled", add.card.felled, "When: YYYY, YYYY-MM or YYYY-MM-DD")
      ->type_name("DATE");
  command->add_option("--moisture", add.card.moisture, "% of the oven-dry mass")
      ->type_name("PERCENT");
  command->add_option("--note", add.card.note, "What else there is to say")->type_name("TEXT");
  command->add_option("--picture", add.pictures, "A picture; several times for several")
      ->type_name("FILE")
      ->take_all();
  command->add_flag("--whole", add.whole,
                    "Keep the whole file of the scan, not only points of the log");
  command->add_flag("--again", add.again, "Keep it though the archive seems to have it");
  add_archive_option(command, add.scan.archive);
  add_inch(command, add.scan.inches, false);
  command->callback([asked, &action] {
    action = [asked] {
      ScanOptions& scan = asked->options.scan;
      asked->options.card.species = scan.species;
      try {
        finish(scan, asked->scan);
      } catch (const UserError& error) {
        // A tree that no table lists is kept as it is called; it only has no bark of its own.
        if (error.fault() != Fault::unknown_species) throw;
        scan.species.clear();
        finish(scan, asked->scan);
      }
      return run_archive_add(asked->options);
    };
  });
}

void add_limits(CLI::App* command, LogQuery& query) {
  const auto add = [&](const std::string& name, std::optional<double>& limit,
                       const std::string& unit, const std::string& what) {
    return command->add_option(name, limit, what)->type_name(unit)->check(number_from(0.0, 1e9));
  };
  const auto add_length = [&](const std::string& name, std::optional<double>& limit,
                              const std::string& what) {
    add(name, limit, "MM", what)->transform(with_unit());
  };
  add_length("--min-length", query.min_length, "The shortest");
  add_length("--max-length", query.max_length, "The longest");
  add_length("--min-diameter", query.min_diameter, "Mean in the middle, over bark");
  add_length("--max-diameter", query.max_diameter, "Likewise");
  add_length("--min-sweep", query.min_sweep, "Greatest distance of the axis from the chord");
  add_length("--max-sweep", query.max_sweep, "Likewise");
  add("--min-volume", query.min_volume, "M3", "Under bark");
  add("--max-volume", query.max_volume, "M3", "Likewise");
}

void add_order(CLI::App* command, ArchiveFindOptions& find) {
  const std::map<std::string, LogOrder> orders = {
      {"name", LogOrder::name},         {"added", LogOrder::added},
      {"species", LogOrder::species},   {"length", LogOrder::length},
      {"diameter", LogOrder::diameter}, {"sweep", LogOrder::sweep},
      {"volume", LogOrder::volume}};
  command
      ->add_option("--sort", find.query.order,
                   "By name, added, species, length, diameter, sweep or volume")
      ->transform(CLI::Transformer(orders).description(""))
      ->type_name("KEY");
  command->add_flag("--descending", find.query.descending, "The largest or last first");
  add_inch(command, find.inches, false);
  command->add_flag("--json", find.json, "Print JSON for a program");
  add_archive_option(command, find.archive);
}

void add_list(CLI::App& archive, Action& action) {
  const auto options = std::make_shared<ArchiveFindOptions>();
  auto* command = archive.add_subcommand(
      "list", "Print all logs.\nExample: kerfwright archive list --sort volume --descending");
  command->add_flag("--bin", options->query.binned, "Those in the bin instead");
  add_order(command, *options);
  run_with(command, options, action, run_archive_find);
}

void add_find(CLI::App& archive, Action& action) {
  struct Asked {
    ArchiveFindOptions options;
    std::string gives;
    std::vector<std::string> words;
  };
  const auto asked = std::make_shared<Asked>();
  ArchiveFindOptions& find = asked->options;
  auto* command = archive.add_subcommand(
      "find",
      "Print the logs that meet every condition.\n"
      "Example: kerfwright archive find burl --gives 60x350x1500 --species cherry --sort volume");
  command->add_option("words", asked->words,
                      "Words that all stand in the name, the species, the place or the note");
  command->add_option("--species", find.query.species, "Species, or a part of its name")
      ->type_name("NAME");
  add_limits(command, find.query);
  command
      ->add_option("--gives", asked->gives,
                   "A piece that the log could give, as 60x350x1500 or each with its unit, by a "
                   "quick test of "
                   "its sections under bark; a plan says for certain")
      ->type_name("SIZE");
  add_order(command, find);
  command->callback([asked, &action] {
    action = [asked] {
      LogQuery& query = asked->options.query;
      for (const std::string& word : asked->words) query.text += word + " ";
      if (!asked->gives.empty()) query.gives = piece_size(asked->gives);
      return run_archive_find(asked->options);
    };
  });
}

void add_show(CLI::App& archive, Action& action) {
  const auto options = std::make_shared<ArchiveNamesOptions>();
  auto* command =
      archive.add_subcommand("show",
                             "Print what is known of a log, and draw it.\n"
                             "Example: kerfwright archive show cherry --drawing cherry.svg");
  command->add_option("name", options->names, "Name of the log")->required()->expected(1);
  command->add_option("--drawing", options->drawing, "Write a drawing of it (SVG)")
      ->type_name("FILE");
  add_inch(command, options->inches, false);
  add_archive_option(command, options->archive);
  run_with(command, options, action, run_archive_show);
}

void add_change(CLI::App& archive, Action& action) {
  const auto options = std::make_shared<ArchiveChangeOptions>();
  auto* command = archive.add_subcommand(
      "change",
      "Write down something else of a log; what is not given stays.\n"
      "Example: kerfwright archive change cherry --moisture 18 --picture end.jpg");
  command->add_option("log", options->name, "Name of the log")->required();
  command->add_option("--name", options->new_name, "Its name from now on")->type_name("NAME");
  command->add_option("--species", options->species, "Species")->type_name("NAME");
  command->add_option("--place", options->place, "Where it was felled")->type_name("TEXT");
  command->add_option("--felled", options->felled, "When: YYYY, YYYY-MM or YYYY-MM-DD")
      ->type_name("DATE");
  command->add_option("--moisture", options->moisture, "% of the oven-dry mass")
      ->type_name("PERCENT");
  command->add_option("--note", options->note, "What else there is to say")->type_name("TEXT");
  command->add_option("--picture", options->pictures, "One more picture; several times for several")
      ->type_name("FILE")
      ->take_all();
  add_archive_option(command, options->archive);
  run_with(command, options, action, run_archive_change);
}

void add_export(CLI::App& archive, Action& action) {
  const auto options = std::make_shared<ArchiveExportOptions>();
  auto* command = archive.add_subcommand("export",
                                         "Write a log to a folder that needs no program to read.\n"
                                         "Example: kerfwright archive export cherry --out cherry");
  command->add_option("name", options->name, "Name of the log");
  command->add_flag("--all", options->all, "Every log, each in a folder of its own");
  command->add_option("--out", options->out, "Folder, which must not be there or be empty")
      ->type_name("FOLDER")
      ->required();
  add_archive_option(command, options->archive);
  run_with(command, options, action, run_archive_export);
}

void add_import(CLI::App& archive, Action& action) {
  const auto options = std::make_shared<ArchiveImportOptions>();
  auto* command = archive.add_subcommand(
      "import", "Take in what export wrote.\nExample: kerfwright archive import cherry");
  command->add_option("folders", options->folders, "Folders of logs, or of such folders")
      ->required();
  command->add_option("--name", options->name, "Another name for the log")->type_name("NAME");
  command->add_flag("--again", options->again, "Keep it though the archive seems to have it");
  add_archive_option(command, options->archive);
  run_with(command, options, action, run_archive_import);
}

void add_remove(CLI::App& archive, Action& action) {
  const auto options = std::make_shared<ArchiveNamesOptions>();
  auto* command = archive.add_subcommand(
      "remove", "Move logs into the bin.\nExample: kerfwright archive remove cherry");
  command->add_option("names", options->names, "Names of logs")->required();
  command->add_flag("--undo", options->undo, "Take them back out of the bin");
  add_archive_option(command, options->archive);
  run_with(command, options, action, run_archive_remove);
}

void add_plain(CLI::App& archive, Action& action, const char* name, const char* what,
               int (*run)(const std::string&)) {
  const auto place = std::make_shared<std::string>();
  auto* command =
      archive.add_subcommand(name, std::string(what) + "\nExample: kerfwright archive " + name);
  add_archive_option(command, *place);
  command->callback([place, run, &action] { action = [place, run] { return run(*place); }; });
}

}  // namespace

void add_archive(CLI::App& app, Action& action) {
  auto* archive = app.add_subcommand("archive",
                                     "Keep logs for years and find them again.\n"
                                     "Example: kerfwright archive find --gives 60x350x1500");
  archive->require_subcommand(0, 1);
  archive->callback([archive, &action] {
    if (archive->get_subcommands().empty()) {
      action = [archive]() -> int {
        std::fputs(archive->help().c_str(), stdout);
        return 0;
      };
    }
  });
  add_add(*archive, action);
  add_list(*archive, action);
  add_find(*archive, action);
  add_show(*archive, action);
  add_change(*archive, action);
  add_export(*archive, action);
  add_import(*archive, action);
  add_remove(*archive, action);
  add_plain(*archive, action, "empty-bin", "Delete for good what lies in the bin.",
            run_archive_empty_bin);
  add_plain(*archive, action, "check",
            "Look at every checksum, every reference, every shape and every plan.",
            run_archive_check);
}

}  // namespace kerfwright::cli
