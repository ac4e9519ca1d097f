#include <CLI/CLI.hpp>
#include <iostream>
#include <new>
#include <string>

#include "command_line.hpp"
#include "help.hpp"
#include "interrupt.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/keep_memory.hpp"
#include "kerfwright/trade/inches.hpp"
#include "told_in_inches.hpp"

namespace {

using namespace kerfwright;

int run(int argc, char** argv) {
  CLI::App app{cli::about};
  cli::tell_help(app);
  app.set_version_flag("--version", KERFWRIGHT_VERSION);
  cli::Action action;
  cli::add_commands(app, action);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);
    const std::string slip = cli::of_no_command(app, argc > 1 ? argv[1] : "");
    throw UserError(Fault::usage, (slip.empty() ? error.what() : slip) + " (" +
                                      cli::called(app, {argv + 1, argv + argc}) +
                                      " --help shows the way)");
  }
  if (action) return action();
  std::cout << app.help();  // alone it shows the way
  return 0;
}

/// What was printed has to have arrived too: a program that reads it would miss half of it.
int heard(int code) {
  if (std::cout.flush()) return code;
  throw UserError(Fault::cannot_write,
                  "Cannot write to the standard output: what was to be read there is lost; make "
                  "room, or send it elsewhere.");
}

}  // namespace

int main(int argc, char** argv) {
  keep_memory();
  cli::end_at_interrupt();
  Fault fault = Fault::internal;
  try {
    return heard(run(argc, argv));
  } catch (const UserError& error) {
    const bool inches = cli::told_in_inches({argv + 1, argv + argc});
    std::cerr << "kerfwright: " << (inches ? sentence_in_inches(error.what()) : error.what())
              << '\n';
    fault = error.fault();
  } catch (const std::bad_alloc&) {
    std::cerr << "kerfwright: Not enough memory for this; thin the scan or close other programs.\n";
  } catch (const std::exception& error) {
    std::cerr << "kerfwright: A fault of the program itself: " << error.what() << '\n';
  }
  return static_cast<int>(fault);
}
