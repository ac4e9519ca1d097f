#include "manual.hpp"

#include <algorithm>
#include <sstream>
#include <vector>

#include "help.hpp"
#include "kerfwright/saw/pattern.hpp"

namespace kerfwright::cli {
namespace {

// As kerfwright/error.hpp has them, and the README.
const char* const exit_codes =
    "One sentence on standard error says what is wrong and what to do.\n"
    ".TP\n0\ndone\n"
    ".TP\n2\nthe command line cannot be understood\n"
    ".TP\n10 to 14\nfile missing, empty, of no known type, damaged, with coordinates that are no "
    "numbers\n"
    ".TP\n15, 16\nno log in the scan, a log of impossible size\n"
    ".TP\n20 to 25\norder, mill or marks: not TOML, unknown key, bad order, bad mill, unknown "
    "species, bad marks\n"
    ".TP\n30, 31\nshape or plan file not usable\n"
    ".TP\n40\nno product of the order comes out of the log\n"
    ".TP\n41\nthe plan does not replay\n"
    ".TP\n42\nthe mill cannot hold the log\n"
    ".TP\n50\nthe output cannot be written\n"
    ".TP\n60, 70\nstopped by Ctrl\\-C before there was anything to keep, a fault of the program\n"
    ".TP\n80 to 84\narchive: not usable or damaged, name exists, log seems to be there already, "
    "another program is writing, no such log\n"
    ".TP\n85\ntally not usable\n";

/// Text for troff: no line may begin with a point or an apostrophe, and a dash that is typed is
/// one.
std::string troff(const std::string& text) {
  std::string safe;
  bool begins = true;
  for (const char c : text) {
    if (begins && (c == '.' || c == '\'')) safe += "\\&";
    if (c == '\\') {
      safe += "\\e";
    } else if (c == '-') {
      safe += "\\-";
    } else {
      safe += c;
    }
    begins = c == '\n';
  }
  return safe;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

/// Commands and the commands within them, each behind the one it belongs to.
std::vector<const CLI::App*> all_commands(const CLI::App& app) {
  std::vector<const CLI::App*> all;
  for (const CLI::App* command : commands_of(app)) {
    all.push_back(command);
    for (const CLI::App* inner : all_commands(*command)) all.push_back(inner);
  }
  return all;
}

void add_options(const CLI::App& command, const std::string& group, std::string& text) {
  for (const CLI::Option* option : options_in(command, group)) {
    const std::string head = head_of(*option);
    const std::size_t blank = std::min(head.find(' '), head.size());
    text += ".TP\n\\fB" + troff(head.substr(0, blank)) + "\\fR";
    if (blank < head.size()) text += " \\fI" + troff(head.substr(blank + 1)) + "\\fR";
    text += "\n" + troff(told_in_full(*option)) + "\n";
  }
}

void add_command(const CLI::App& command, std::string& text) {
  text += ".SS " + troff(full_name(command)) + "\n";
  for (const std::string& line : lines_of(command.get_description())) {
    text += troff(line) + "\n.br\n";
  }
  add_options(command, "", text);
  for (const std::string& group : groups_of(command)) {
    text += ".PP\n" + troff(group) + ":\n";
    add_options(command, group, text);
  }
}

std::vector<std::string> option_names(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::Option* option : command.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
  }
  return names;
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : " ") + word;
  return text;
}

}  // namespace

std::string manual_page(const CLI::App& app, const std::string& version) {
  std::string text =
      ".TH KERFWRIGHT 1 \"\" \"kerfwright " + version + "\" \"User Commands\"\n.nh\n.ad l\n";
  text +=
      ".SH NAME\nkerfwright \\- how to turn, set and saw a log so that its boards are worth the "
      "most\n.SH SYNOPSIS\n";
  for (const CLI::App* command : all_commands(app)) {
    if (commands_of(*command).empty()) text += troff(usage(*command)) + "\n.br\n";
  }
  text += ".SH DESCRIPTION\n";
  for (const std::string& line : lines_of(app.get_description())) {
    text += troff(line) + "\n.br\n";
  }
  text +=
      ".PP\nA length in mm may have its unit instead, as in \"8 3/8 in\" or \"2.6 m\". Each "
      "command "
      "tells what it takes with \\-\\-help, and every option with \\-\\-help\\-all.\n.SH "
      "COMMANDS\n";
  for (const CLI::App* command : all_commands(app)) add_command(*command, text);
  return text + ".SH EXIT STATUS\n" + exit_codes +
         ".SH CAUTIONS\nSawing kills. Chock the log, keep clear of its rolling and of the blade, "
         "guard eyes, ears, hands and legs, never work alone. A scan sees neither metal nor rot. "
         "Lumber that carries load must be graded by someone entitled to, after the local code.\n";
}

std::string bash_completion(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* command : commands_of(app)) names.push_back(command->get_name());
  std::vector<std::string> patterns;
  for (const std::string_view name : pattern_names) patterns.emplace_back(name);
  std::string text =
      "# bash completion for kerfwright\n"
      "_kerfwright() {\n"
      "  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} options=\n"
      "  case $before in\n"
      "    --pattern) COMPREPLY=($(compgen -W \"" +
      joined(patterns) +
      "\" -- \"$word\")); return ;;\n"
      "    --unit) COMPREPLY=($(compgen -W \"m cm mm\" -- \"$word\")); return ;;\n"
      "    --sort) COMPREPLY=($(compgen -W \"name added species length diameter sweep volume\" -- "
      "\"$word\")); return ;;\n"
      "    --up) COMPREPLY=($(compgen -W \"x y z -x -y -z\" -- \"$word\")); return ;;\n"
      "  esac\n"
      "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
      "    COMPREPLY=($(compgen -W \"" +
      joined(names) + " " + joined(option_names(app)) +
      "\" -- \"$word\"))\n"
      "    return\n"
      "  fi\n"
      "  case \"${COMP_WORDS[1]} ${COMP_WORDS[2]}\" in\n";
  for (const CLI::App* command : all_commands(app)) {
    if (!commands_of(*command).empty()) continue;  // those are completed below
    const bool within = full_name(*command) != command->get_name();
    text += "    \"" + full_name(*command) + (within ? "\"" : " \"*") + ") options=\"" +
            joined(option_names(*command)) + "\" ;;\n";
  }
  text += "  esac\n";
  for (const CLI::App* command : commands_of(app)) {
    std::vector<std::string> inner;
    for (const CLI::App* each : commands_of(*command)) inner.push_back(each->get_name());
    if (inner.empty()) continue;
    text += "  if [ \"${COMP_WORDS[1]}\" = " + command->get_name() +
            " ] && [ \"$COMP_CWORD\" -eq 2 ]; then\n    COMPREPLY=($(compgen -W \"" +
            joined(inner) + " --help\" -- \"$word\"))\n    return\n  fi\n";
  }
  return text +
         "  [[ $word == -* ]] && COMPREPLY=($(compgen -W \"$options\" -- \"$word\"))\n"
         "}\n"
         "complete -o default -F _kerfwright kerfwright\n";
}

}  // namespace kerfwright::cli
