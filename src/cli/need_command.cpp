#include "need_command.hpp"

#include <cstdio>
#include <iostream>

#include "commands.hpp"
#include "help.hpp"
#include "kerfwright/shape/bark.hpp"
#include "kerfwright/trade/scaling.hpp"
#include "kerfwright/trade/species.hpp"
#include "kerfwright/yard/yard_sheets.hpp"
#include "length_option.hpp"
#include "search_options.hpp"

namespace kerfwright::cli {
namespace {

BarkRule bark_of(const std::string& species) {
  if (species.empty()) return {0.0, 1.0 - neutral_bark_ratio, 0.0};
  return bark_rule(find_species(species));
}

}  // namespace

int run_need(const NeedOptions& options) {
  Order order = read_order(options.order);
  if (!options.species.empty()) order.species = options.species;
  const Mill mill = load_mill(options.mill, options.inches);
  NeedSettings settings = options.settings;
  if (mill.inches && settings.diameters == NeedSettings{}.diameters) {
    settings.diameters.clear();
    for (const double inches : {8, 10, 12, 14, 16, 18}) {
      settings.diameters.push_back(inches * mm_per_inch);
    }
  }
  settings.bark = bark_of(order.species);
  const Need need = need_of(order, mill, settings);
  std::cout << (options.json ? need_json(need) : need_words(need, mill));
  return 0;
}

void add_need(CLI::App& app, Action& action) {
  const auto options = std::make_shared<NeedOptions>();
  auto* command = app.add_subcommand(
      "need",
      "Say about how many logs of which sizes a list takes, before any is scanned.\n"
      "Example: kerfwright need house.toml --diameter 250 --diameter 350 --length 4200");
  command->add_option("order", options->order, "What is wanted, with numbers (TOML)")->required();
  command
      ->add_option("--mill", options->mill,
                   "What the mill can do (TOML): its kerf; a chain-saw mill if not given")
      ->type_name("FILE");
  command
      ->add_option("--species", options->species,
                   "For the bark and the shrinkage; that of the list if not given")
      ->type_name("NAME");
  command
      ->add_option("--diameter", options->settings.diameters,
                   "Diameter in the middle over bark; several times for several")
      ->type_name("MM")
      ->transform(with_unit())
      ->check(mm_from(30.0, 2000.0))
      ->take_all();
  command
      ->add_option("--length", options->settings.lengths,
                   "Length of the logs, several times for several; just longer than the list's "
                   "longest piece if not given")
      ->type_name("MM")
      ->transform(with_unit())
      ->check(mm_from(200.0, 30000.0))
      ->take_all();
  add_inch(command, options->inches);
  add_json(command, options->json);
  command->add_option("--threads", options->settings.plan.threads, "Threads; 0 = all")
      ->type_name("N")
      ->check(number_from(0, 1024));
  run_with(command, options, action, run_need);
}

}  // namespace kerfwright::cli
