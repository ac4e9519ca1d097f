#include "scan_options.hpp"

#include <locale>
#include <optional>
#include <sstream>

#include "help.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/trade/species.hpp"
#include "length_option.hpp"

namespace kerfwright::cli {
namespace {

const char* const scan_group = "How the scan is read";

/// "x", "+x", "-x" and so on as a direction of the scan's own axes.
Eigen::Vector3d direction(const std::string& text) {
  const bool down = text.front() == '-';
  const char axis = text.back();
  const Eigen::Vector3d unit = axis == 'x'   ? Eigen::Vector3d::UnitX()
                               : axis == 'y' ? Eigen::Vector3d::UnitY()
                                             : Eigen::Vector3d::UnitZ();
  return down ? Eigen::Vector3d(-unit) : unit;
}

/// What a person can measure on the log, mm over bark.
void add_tape_options(CLI::App* command, TapedSizes& taped) {
  command->add_option("--length", taped.length, "Taped length; scales a cloud that has no scale")
      ->type_name("MM")
      ->transform(with_unit())
      ->check(mm_from(50.0, 30000.0));
  const auto add = [&](const std::string& name, std::optional<double>& size,
                       const std::string& what) {
    command->add_option(name, size, what + " over bark; scales the cloud too, or is compared")
        ->type_name("MM")
        ->group("More that was taped")
        ->transform(with_unit())
        ->check(mm_from(20.0, 15000.0));
  };
  add("--butt-diameter", taped.butt_diameter, "Diameter at the thicker end");
  add("--butt-girth", taped.butt_girth, "Girth at the thicker end");
  add("--top-diameter", taped.top_diameter, "Diameter at the thinner end");
  add("--top-girth", taped.top_girth, "Girth at the thinner end");
}

}  // namespace

void add_common_scan_options(CLI::App* command, ScanOptions& options, ScanFlags& flags) {
  command
      ->add_option("--unit", flags.unit,
                   "Unit of the scan: m, cm or mm; guessed from its size if not given")
      ->type_name("UNIT")
      ->check(one_of({"m", "cm", "mm"}))
      ->group(scan_group);
  command
      ->add_option(
          "--up", flags.up,
          "Which way of the scan is up: x, y, z, -x, -y or -z; from the ground if not given")
      ->type_name("AXIS")
      ->check(one_of({"x", "y", "z", "+x", "+y", "+z", "-x", "-y", "-z"}))
      ->group(scan_group);
  command->add_option("--bark", flags.bark, "How thick the bark is")
      ->type_name("MM")
      ->transform(with_unit())
      ->check(mm_from(0.0, 150.0));
  command->add_option("--species", options.species, "For bark (without --bark), mass and shrinkage")
      ->type_name("NAME");
}

void add_scan_options(CLI::App* command, ScanOptions& options, ScanFlags& flags) {
  command
      ->add_option(
          "scan", options.file,
          "Scan (PLY, PCD, LAS, OBJ, STL, GLB, glTF or text), shape file (.json) or archive:NAME")
      ->required();
  add_common_scan_options(command, options, flags);
  add_tape_options(command, options.to_shape.find.taped);
  command
      ->add_option("--marks", options.marks,
                   "What was seen in the log: pith, rot, metal, splits, knots, figure (TOML)")
      ->type_name("FILE");
  put_aside(scan_group,
            {command
                 ->add_option("--near", flags.near,
                              "Of several logs the one nearest to this point of the scan, in "
                              "its own axes and unit; the longest if not given")
                 ->type_name("X,Y,Z"),
             command
                 ->add_option("--cleaned", options.cleaned_out,
                              "Also write the scan to this PLY file with a label and a colour "
                              "for each point: what is the log and what was taken away")
                 ->type_name("FILE"),
             command->add_flag("--take-knots", options.take_knots,
                               "Take the stubs and bumps that the surface shows for knots")});
}

namespace {

/// "X,Y,Z" as three numbers and nothing else.
Eigen::Vector3d point(const std::string& text) {
  Eigen::Vector3d place;
  std::istringstream stream(text);
  stream.imbue(std::locale::classic());
  char comma = ',';
  for (int k = 0; k < 3; ++k) {
    if (k > 0) stream >> comma;
    if (!(stream >> place[k]) || comma != ',')
      throw UserError(Fault::usage,
                      "--near takes three numbers with commas between, X,Y,Z in the "
                      "scan's axes and unit, not '" +
                          text + "'.");
  }
  if (!stream.eof() || !place.allFinite())
    throw UserError(Fault::usage,
                    "--near takes three numbers and nothing after them, not '" + text + "'.");
  return place;
}

}  // namespace

void finish(ScanOptions& options, const ScanFlags& flags) {
  ScanToShape& to_shape = options.to_shape;
  if (flags.unit == "m") to_shape.read.unit = LengthUnit::metre;
  if (flags.unit == "cm") to_shape.read.unit = LengthUnit::centimetre;
  if (flags.unit == "mm") to_shape.read.unit = LengthUnit::millimetre;
  if (!flags.up.empty()) to_shape.find.up = direction(flags.up);
  if (!flags.near.empty()) to_shape.find.near = point(flags.near);
  options.bark_given = flags.bark.has_value();
  if (flags.bark) to_shape.shape.bark = {*flags.bark, 0.0, 0.0};
  if (options.species.empty()) return;
  const Species& species = find_species(options.species);
  if (!flags.bark) to_shape.shape.bark = bark_rule(species);
}

void add_archive_option(CLI::App* command, std::string& archive) {
  command
      ->add_option("--archive", archive,
                   "File of the archive; archive.sqlite where the platform keeps a person's "
                   "data if not given")
      ->type_name("FILE")
      ->group(archive_group);
}

}  // namespace kerfwright::cli
