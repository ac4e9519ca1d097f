#include "help.hpp"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <sstream>

namespace kerfwright::cli {
namespace {

constexpr std::size_t screen = 80;  // columns
constexpr std::size_t left = 25;    // columns of what is explained
const char* const main_group = "Options";
const char* const example_mark = "Example: ";

/// Characters, not bytes.
std::size_t letters(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

/// Text in lines of the screen, all but the first moved in.
/// @param begun columns of the first line that are taken
std::string wrapped(const std::string& text, std::size_t begun, std::size_t in) {
  std::string all;
  std::size_t column = begun;
  bool first = true;
  std::istringstream words(text);
  for (std::string word; words >> word;) {
    if (!first && column + 1 + letters(word) > screen) {
      all += "\n" + std::string(in, ' ');
      column = in;
    } else if (!first) {
      all += " ";
      ++column;
    }
    all += word;
    column += letters(word);
    first = false;
  }
  return all + "\n";
}

/// A line that is typed; where it is too long it goes on behind an option's own word.
std::string example_text(const std::string& example) {
  std::string text = example_mark + example;
  if (letters(text) <= screen) return text + "\n";
  std::size_t at = text.rfind(" --", screen - 2);
  if (at == std::string::npos) return text + "\n";
  return text.substr(0, at) + " \\\n   " + text.substr(at) + "\n";
}

/// A head in the left columns and what it means beside it.
std::string row(const std::string& head, const std::string& meaning) {
  std::string text = "  " + head;
  if (letters(text) + 1 > left) {
    text += "\n" + std::string(left, ' ');
  } else {
    text += std::string(left - letters(text), ' ');
  }
  return text + wrapped(meaning, left, left);
}

/// The lines of a description: what a command does, and its example.
struct Description {
  std::string what, example;
};

Description description_of(const CLI::App& command) {
  Description description;
  std::istringstream lines(command.get_description());
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with(example_mark)) {
      description.example = line.substr(std::string(example_mark).size());
    } else {
      description.what += (description.what.empty() ? "" : " ") + line;
    }
  }
  return description;
}

bool is_help(const CLI::App& command, const CLI::Option* option) {
  return option == command.get_help_ptr() || option == command.get_help_all_ptr();
}

std::string positional_name(const CLI::Option& option) {
  std::string name = option.get_name(true, false);
  std::transform(name.begin(), name.end(), name.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return name;
}

std::string rows_of(const CLI::App& command, const std::string& group, bool all) {
  std::string text;
  for (const CLI::Option* option : options_in(command, group)) {
    text += row(head_of(*option), all ? told_in_full(*option) : option->get_description());
  }
  return text;
}

/// What `--help` leaves out, by name.
std::string last_words(const CLI::App& command) {
  std::string names;
  for (std::string group : groups_of(command)) {
    group.front() = static_cast<char>(std::tolower(static_cast<unsigned char>(group.front())));
    names += (names.empty() ? "" : "; ") + group;
  }
  if (names.empty()) return "";
  return "\n" + wrapped("More with --help-all: " + names + ".", 0, 0);
}

std::string command_help(const CLI::App& command, bool all) {
  const Description description = description_of(command);
  std::string text = wrapped(description.what, 0, 0);
  text +=
      example_text(description.example) + "\n" + wrapped("Usage: " + usage(command), 0, 7) + "\n";
  text += rows_of(command, "", all);
  if (!all) return text + last_words(command);
  for (const std::string& group : groups_of(command)) {
    text += "\n" + group + "\n" + rows_of(command, group, all);
  }
  const auto options = command.get_options();
  const bool any = std::any_of(options.begin(), options.end(), [](const CLI::Option* option) {
    return takes(*option).starts_with("MM");
  });
  if (!any) return text;
  return text + "\n" +
         wrapped("A length in mm may have its unit instead, as in \"8 3/8 in\" or \"2.6 m\".", 0,
                 0);
}

/// The way: what there is to do, and where to read on.
std::string overview(const CLI::App& app) {
  const std::string name = full_name(app);
  const Description description = description_of(app);
  std::string text = wrapped(description.what, 0, 0);
  text += example_text(description.example) + "\n";
  for (const CLI::App* command : commands_of(app)) {
    text += row(command->get_name(), description_of(*command).what);
  }
  const std::string call = "kerfwright " + (name.empty() ? "" : name + " ");
  return text + "\n" +
         wrapped("'" + call + "COMMAND --help' tells how each is called, with an example" +
                     (name.empty() ? "; 'man kerfwright' tells all of it; --version says which "
                                     "version this is."
                                   : "."),
                 0, 0);
}

}  // namespace

void tell_help(CLI::App& app) {
  app.set_help_flag("-h,--help", "What this screen says");
  app.set_help_all_flag("--help-all", "The same with every option there is");
  app.formatter_fn([](const CLI::App* command, const std::string&, CLI::AppFormatMode mode) {
    if (!commands_of(*command).empty()) return overview(*command);
    return command_help(*command, mode == CLI::AppFormatMode::All);
  });
}

void put_aside(const std::string& group, const std::vector<CLI::Option*>& options) {
  for (CLI::Option* option : options) option->group(group);
}

std::string usage(const CLI::App& command) {
  std::string text = "kerfwright " + full_name(command);
  for (const CLI::Option* option : options_in(command, "")) {
    const bool positional = !option->nonpositional();
    if (!positional && !option->get_required()) continue;
    const std::string several = positional && option->get_items_expected_max() > 1 ? " ..." : "";
    const std::string head = head_of(*option) + several;
    text += " " + (option->get_required() ? head : "[" + head + "]");
  }
  return text + " [options]";
}

std::vector<std::string> groups_of(const CLI::App& command) {
  std::vector<std::string> groups;
  for (const std::string& group : command.get_groups()) {
    if (group != main_group && !group.empty()) groups.push_back(group);
  }
  return groups;
}

std::vector<const CLI::Option*> options_in(const CLI::App& command, const std::string& group) {
  const std::string name = group.empty() ? main_group : group;
  std::vector<const CLI::Option*> options;
  for (const CLI::Option* option : command.get_options()) {
    if (option->get_group() == name && !is_help(command, option)) options.push_back(option);
  }
  std::stable_partition(options.begin(), options.end(),
                        [](const CLI::Option* option) { return !option->nonpositional(); });
  return options;
}

std::string head_of(const CLI::Option& option) {
  if (!option.nonpositional()) return positional_name(option);
  const std::string type = takes(option);
  return option.get_name(false, true) + (type.empty() ? "" : " " + type);
}

std::string takes(const CLI::Option& option) {
  const std::string type = option.get_type_name();
  return type.substr(0, type.find(':'));
}

std::string told_in_full(const CLI::Option& option) {
  const std::string type = option.get_type_name();
  const std::size_t colon = type.find(':');
  std::string more = colon == std::string::npos ? "" : type.substr(colon + 1);
  if (!option.get_default_str().empty()) {
    more += (more.empty() ? "" : "; ") + option.get_default_str() + " if not given";
  }
  return option.get_description() + (more.empty() ? "" : " (" + more + ")");
}

std::string full_name(const CLI::App& command) {
  const CLI::App* parent = command.get_parent();
  if (parent == nullptr) return "";
  const std::string before = full_name(*parent);
  return before.empty() ? command.get_name() : before + " " + command.get_name();
}

std::vector<const CLI::App*> commands_of(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

std::string called(const CLI::App& app, const std::vector<std::string>& words) {
  std::string text = "kerfwright";
  const CLI::App* at = &app;
  for (const std::string& word : words) {
    const auto commands = commands_of(*at);
    const auto found = std::find_if(commands.begin(), commands.end(),
                                    [&](const auto* each) { return each->get_name() == word; });
    if (found == commands.end()) break;
    at = *found;
    text += " " + word;
  }
  return text;
}

CLI::Validator number_from(double low, double high) {
  const auto shown = [](double value) {
    char text[32];
    const auto end = std::to_chars(text, text + sizeof text, value, std::chars_format::fixed).ptr;
    return std::string(text, end);
  };
  const std::string range = shown(low) + " to " + shown(high);
  // Written so that what is no number is refused too.
  const auto check = [low, high, range](const std::string& text) {
    double value = low - 1.0;
    const bool read = CLI::detail::lexical_cast(text, value);
    if (read && value >= low && value <= high) return std::string();
    return "'" + text + "' is no number from " + range;
  };
  const bool worth_telling = high < 1e6;
  return {check, worth_telling ? range : "", ""};
}

CLI::Validator one_of(const std::vector<std::string>& words) {
  const auto check = [words](const std::string& text) {
    if (std::find(words.begin(), words.end(), text) != words.end()) return std::string();
    std::string all;
    for (const std::string& word : words) all += (all.empty() ? "" : ", ") + word;
    return "'" + text + "' is none of " + all;
  };
  return {check, "", ""};
}

}  // namespace kerfwright::cli
