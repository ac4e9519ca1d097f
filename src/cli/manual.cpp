#include "manual.hpp"

#include <algorithm>
#include <sstream>
#include <vector>

#include "help.hpp"
#include "kerfwright/saw/pattern.hpp"

namespace kerfwright::cli {
namespace {

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

/// "--mill TEXT" and the like.
std::string option_head(const CLI::Option& option) {
  std::string head = "\\fB" + troff(option.get_name(false, true)) + "\\fR";
  const std::string type = takes(option);
  if (!type.empty()) head += " \\fI" + troff(type) + "\\fR";
  return head;
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

void add_options(const CLI::App& command, std::string& text) {
  for (const CLI::Option* option : command.get_options()) {
    text += ".TP\n" + option_head(*option) + "\n" + troff(told_in_full(*option)) + "\n";
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
  std::string text = ".TH KERFWRIGHT 1 \"\" \"kerfwright " + version + "\" \"User Commands\"\n";
  text +=
      ".SH NAME\nkerfwright \\- how to turn, set and saw a log so that its boards are worth the "
      "most\n.SH SYNOPSIS\n";
  for (const CLI::App* command : all_commands(app)) {
    text += ".B kerfwright " + troff(full_name(*command)) + "\n.RI [ options ]\n.br\n";
  }
  text += ".SH DESCRIPTION\n" + troff(app.get_description()) + "\n.SH COMMANDS\n";
  for (const CLI::App* command : all_commands(app)) {
    text += ".SS " + troff(full_name(*command)) + "\n";
    for (const std::string& line : lines_of(command->get_description())) {
      text += troff(line) + "\n.br\n";
    }
    add_options(*command, text);
  }
  text +=
      ".SH EXIT STATUS\n0 where all went well; every other number stands in README.md. One "
      "sentence on standard error says what is wrong and what to do.\n"
      ".SH CAUTIONS\nSawing kills. Chock the log, keep clear of its rolling and of the blade, "
      "guard eyes, ears, hands and legs, never work alone. A scan sees neither metal nor rot. "
      "Lumber that carries load must be graded by someone entitled to, after the local code.\n";
  return text;
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
