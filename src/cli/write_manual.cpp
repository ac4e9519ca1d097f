// Usage: write_manual MANUAL COMPLETION. Part of the build: writes what `cmake --install` puts
// beside the program, from the options that the program has.
#include <iostream>

#include "command_line.hpp"
#include "help.hpp"
#include "kerfwright/files.hpp"
#include "manual.hpp"

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "Usage: write_manual MANUAL COMPLETION\n";
    return 2;
  }
  try {
    CLI::App app{kerfwright::cli::about};
    kerfwright::cli::tell_help(app);
    app.set_version_flag("--version", KERFWRIGHT_VERSION);
    kerfwright::cli::Action action;
    kerfwright::cli::add_commands(app, action);
    kerfwright::write_file(argv[1], kerfwright::cli::manual_page(app, KERFWRIGHT_VERSION));
    kerfwright::write_file(argv[2], kerfwright::cli::bash_completion(app));
  } catch (const std::exception& error) {
    std::cerr << "write_manual: " << error.what() << '\n';
    return 1;
  }
  return 0;
}
