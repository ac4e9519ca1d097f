#include "kerfwright/trade/species.hpp"

#include <algorithm>
#include <cctype>
#include <span>

#include "kerfwright/error.hpp"
#include "species_figures.hpp"
#include "words.hpp"

namespace kerfwright {
namespace {

Evidence evidence_of(char seen) {
  return seen == 'l' ? Evidence::looked_up : Evidence::from_memory;
}

Figure looked_up(double value, std::string_view source) {
  return {value, Evidence::looked_up, std::string(source)};
}

Figure neutral_bark() {
  return {neutral_bark_ratio, Evidence::stand_in,
          "neutral: middle of the 0.89 to 0.95 that a bark share of 10 to 20 % of the volume "
          "implies (Brack "
          "and Wood, Forest Mensuration, Australian National University, 1998); measure the bark"};
}

Species from_handbook(const figures::Shrinkage& row) {
  const auto figure = [&row](double value, std::size_t i) {
    return Figure{value, evidence_of(row.seen[i]), std::string(figures::shrinkage_source)};
  };
  Species species;
  species.name = row.name;
  species.radial = figure(row.radial, 0);
  species.tangential = figure(row.tangential, 1);
  species.volumetric = figure(row.volumetric, 2);
  species.bark_ratio = neutral_bark();
  if (row.name.ends_with("Douglas-fir")) {
    species.bark_ratio =
        looked_up(0.91,
                  "B.C. Ministry of Forests, Research Branch note, 1993: about 0.91, "
                  "near constant along the stem");
  }
  if (row.name == "coast Douglas-fir") species.other_names = {"Douglas-fir"};
  return species;
}

std::vector<std::string> split(std::string_view names) {
  std::vector<std::string> parts;
  while (!names.empty()) {
    const std::size_t end = std::min(names.find(", "), names.size());
    parts.emplace_back(names.substr(0, end));
    names.remove_prefix(std::min(end + 2, names.size()));
  }
  return parts;
}

Species from_genus(const figures::Genus& row) {
  Species species;
  species.name = row.name;
  species.other_names = split(row.other_names);
  species.radial = looked_up(row.radial, figures::genus_source);
  species.tangential = looked_up(row.tangential, figures::genus_source);
  species.bark_ratio = neutral_bark();
  return species;
}

Species from_change(const figures::Change& row) {
  const auto figure = [](double change) {
    return Figure{3000 / (1 / change + 20), Evidence::computed,
                  std::string(figures::change_source)};
  };
  Species species;
  species.name = row.name;
  species.radial = figure(row.radial);
  species.tangential = figure(row.tangential);
  species.bark_ratio = neutral_bark();
  return species;
}

/// The middle of the hardwoods' figures (of an even count the mean of the middle two).
Figure median_of_hardwoods(double figures::Shrinkage::*member) {
  std::vector<double> values;
  for (const auto& row : figures::hardwoods()) values.push_back(row.*member);
  std::sort(values.begin(), values.end());
  const std::size_t half = values.size() / 2;
  const double median =
      values.size() % 2 == 1 ? values[half] : (values[half - 1] + values[half]) / 2;
  return {median, Evidence::stand_in,
          "no figure for this tree was seen: the median of the hardwoods of " +
              std::string(figures::shrinkage_source)};
}

Species pear() {
  Species species;
  species.name = "pear";
  species.radial = median_of_hardwoods(&figures::Shrinkage::radial);
  species.tangential = median_of_hardwoods(&figures::Shrinkage::tangential);
  species.bark_ratio = neutral_bark();
  return species;
}

Species plum(Species cherry) {
  cherry.name = "plum";
  cherry.other_names = {"damson"};
  for (Figure* figure : {&cherry.radial, &cherry.tangential}) {
    figure->evidence = Evidence::stand_in;
    figure->source =
        "no figure for this tree was seen: that of cherry, same genus (Prunus); " + figure->source;
  }
  return cherry;
}

Species* find_exactly(std::vector<Species>& table, std::string_view name) {
  const auto found = std::find_if(table.begin(), table.end(),
                                  [name](const Species& species) { return species.name == name; });
  return found == table.end() ? nullptr : &*found;
}

/// Heart and sap in equal parts, or the one that is given.
Figure density_from_gravity(const figures::Mass& row) {
  const bool both = row.moisture_heart > 0 && row.moisture_sap > 0;
  const double moisture = (row.moisture_heart + row.moisture_sap) / (both ? 2 : 1);
  const bool all_seen = row.seen == "ll";
  return {
      green_density(row.gravity, moisture), all_seen ? Evidence::computed : Evidence::from_memory,
      "computed as 1000 G (1 + M/100), M the mean of heart and sap or the one given; G from " +
          std::string(figures::gravity_source) + ", M from " +
          std::string(figures::moisture_source) + (all_seen ? "" : "; not all of them seen there")};
}

void add_masses(std::vector<Species>& table) {
  for (const auto& row : figures::masses()) {
    Species& species = *find_exactly(table, row.name);
    const auto moisture = [&row](double value) -> std::optional<Figure> {
      if (value <= 0) return std::nullopt;
      return Figure{value, evidence_of(row.seen[1]), std::string(figures::moisture_source)};
    };
    species.gravity =
        Figure{row.gravity, evidence_of(row.seen[0]), std::string(figures::gravity_source)};
    species.moisture_heart = moisture(row.moisture_heart);
    species.moisture_sap = moisture(row.moisture_sap);
    species.green_density = density_from_gravity(row);
  }
  for (const auto& row : figures::densities()) {
    Species& species = *find_exactly(table, row.name);
    if (species.green_density && species.green_density->value >= row.value) continue;
    species.green_density = Figure{row.value, evidence_of(row.seen[0]), std::string(row.source)};
  }
}

void add_barks(std::vector<Species>& table) {
  for (const auto& row : figures::barks()) {
    find_exactly(table, row.name)->bark_model =
        BarkModel{row.a, row.b, row.c, Evidence::looked_up, std::string(figures::bark_source)};
  }
}

/// Bark of a relative of the same genus.
void lend_bark(std::vector<Species>& table, std::string_view to, std::string_view from) {
  BarkModel model = *find_exactly(table, from)->bark_model;
  model.evidence = Evidence::stand_in;
  model.source = "no figure for this tree was seen: that of " + std::string(from) +
                 ", same genus; " + model.source;
  find_exactly(table, to)->bark_model = std::move(model);
}

void lend_density(std::vector<Species>& table, std::string_view to, std::string_view from) {
  Figure figure = *find_exactly(table, from)->green_density;
  figure.evidence = Evidence::stand_in;
  figure.source =
      "no figure for this tree was seen: that of " + std::string(from) + "; " + figure.source;
  find_exactly(table, to)->green_density = std::move(figure);
}

std::vector<Species> build_table() {
  std::vector<Species> table;
  for (const auto& row : figures::genera()) table.push_back(from_genus(row));
  table.push_back(plum(*find_exactly(table, "cherry")));
  table.push_back(pear());
  for (const auto& row : figures::changes()) table.push_back(from_change(row));
  for (const auto& row : figures::hardwoods()) table.push_back(from_handbook(row));
  for (const auto& row : figures::softwoods()) table.push_back(from_handbook(row));
  add_masses(table);
  add_barks(table);
  lend_bark(table, "plum", "cherry");
  for (const auto& row : figures::genera()) {
    if (!row.relative.empty()) lend_density(table, row.name, row.relative);
  }
  lend_density(table, "plum", "black cherry");
  return table;
}

std::vector<std::string> words_of(std::string_view name) {
  std::vector<std::string> words(1);
  for (const char c : name) {
    const auto letter = static_cast<unsigned char>(c);
    if (c == '-' || c == '_' || c == ',' || std::isspace(letter) != 0) {
      if (!words.back().empty()) words.emplace_back();
    } else {
      words.back() += static_cast<char>(letter < 128 ? std::tolower(letter) : letter);
    }
  }
  if (words.back().empty()) words.pop_back();
  std::sort(words.begin(), words.end());
  return words;
}

std::vector<std::string> names_of(const Species& species) {
  std::vector<std::string> names = species.other_names;
  names.insert(names.begin(), species.name);
  return names;
}

/// Names that hold every word of what was asked for, then those that differ by a few letters.
std::vector<std::string> near_names(const std::string& asked) {
  constexpr std::size_t most = 6;
  const auto words = words_of(asked);
  std::vector<std::string> near, all;
  for (const Species& species : species_table()) {
    for (const std::string& name : names_of(species)) {
      const auto its = words_of(name);
      all.push_back(name);
      if (!words.empty() && std::includes(its.begin(), its.end(), words.begin(), words.end())) {
        near.push_back(name);
      }
    }
  }
  for (std::string& name : close_words(asked, all, most)) {
    if (std::find(near.begin(), near.end(), name) == near.end()) near.push_back(std::move(name));
  }
  near.resize(std::min(near.size(), most));
  return near;
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
  return text;
}

}  // namespace

std::string_view words_for(Evidence evidence) {
  switch (evidence) {
    case Evidence::looked_up:
      return "looked up";
    case Evidence::from_memory:
      return "from memory";
    case Evidence::computed:
      return "computed";
    case Evidence::stand_in:
      break;
  }
  return "stand-in";
}

const std::vector<Species>& species_table() {
  static const std::vector<Species> table = build_table();
  return table;
}

const Species& find_species(const std::string& name) {
  const auto asked = words_of(name);
  for (const Species& species : species_table()) {
    for (const std::string& known : names_of(species)) {
      if (words_of(known) == asked) return species;
    }
  }
  const auto near = near_names(name);
  const std::string advice =
      near.empty()
          ? "; among those that are known: cherry, walnut, apple, oak, larch, spruce, pine, beech."
          : "; did you mean " + joined(near) + "?";
  throw UserError(Fault::unknown_species, "No table lists the species " + in_quotes(name) + advice);
}

double bark_volume_share(double bark_ratio) { return 1 - bark_ratio * bark_ratio; }

double green_density(double gravity, double moisture) {
  return 1000 * gravity * (1 + moisture / 100);
}

double shrinkage_at(double total, double moisture) {
  constexpr double fibre_saturation = 30;  // %, average (FPL-GTR-190 chapter 4)
  return total * std::max(0.0, fibre_saturation - moisture) / fibre_saturation;
}

double dimensional_change(double total) { return 1 / (3000 / total - 20); }

}  // namespace kerfwright
