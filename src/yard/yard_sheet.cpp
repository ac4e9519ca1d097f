#include <algorithm>
#include <functional>

#include "kerfwright/trade/amounts.hpp"
#include "kerfwright/yard/yard_sheets.hpp"
#include "sheet/html.hpp"
#include "sheet/look.hpp"
#include "sheet/sheet_parts.hpp"
#include "yard_counts.hpp"
#include "yard_phrases.hpp"

namespace kerfwright {
namespace {

using namespace sheet;
using html::element;
using look::rounded;

std::string row(const std::string& tag, const std::vector<std::string>& cells) {
  std::string text;
  for (const std::string& cell : cells) text += element(tag, "", cell);
  return element("tr", "", text) + "\n";
}

/// What stands over a table, again on every page that it runs on to.
std::string heads(const std::vector<std::string>& cells) {
  return element("thead", "", row("th", cells)) + "\n";
}

std::string whole(int n) { return std::to_string(n); }

/// What is counted of a line of the list, by its head; a column of nothing but 0 is left out.
struct Count {
  std::string head;
  std::function<int(const ListLine&)> number;
  bool always = true;
};

std::vector<Count> counts_of(const YardPlan& plan) {
  std::vector<Count> counts = {
      {"wanted", [](const ListLine& line) { return line.wanted; }},
      {"made before", [](const ListLine& line) { return line.before; }, false},
      {"from these logs", [](const ListLine& line) { return line.made; }},
      {"missing", [](const ListLine& line) { return line.missing(); }},
      {"beyond", [](const ListLine& line) { return line.beyond(); }, false}};
  std::erase_if(counts, [&](const Count& count) {
    return !count.always && std::all_of(plan.list.begin(), plan.list.end(),
                                        [&](const auto& line) { return count.number(line) == 0; });
  });
  return counts;
}

std::string list_part(const YardPlan& plan, const std::vector<YardLog>& logs) {
  const std::vector<Count> counts = counts_of(plan);
  std::vector<std::string> names = {"piece, size green"};
  for (const Count& count : counts) names.push_back(count.head);
  std::string text = element("h2", "", "The list") + "\n<table>\n" + heads(names);
  for (const ListLine& line : plan.list) {
    const Product& product = plan.order.products[line.product];
    std::string piece = html::strong("", xml_text(product.name));
    for (const double length : product.lengths) {
      piece += "<br/>" + xml_text(yard::size_words(product, length, plan.mill));
    }
    std::vector<std::string> cells = {piece};
    for (const Count& count : counts) {
      const bool lacks = count.head == "missing" && line.missing() > 0;
      const std::string number = whole(count.number(line));
      cells.push_back(lacks ? html::strong("", number) : number);
    }
    text += row("td", cells);
  }
  text += "</table>\n";
  for (const std::string& sentence : yard::missing_words(plan, logs)) {
    text += element("p", "rule", xml_text(sentence)) + "\n";
  }
  return text;
}

std::string log_row(const YardPlan& plan, const YardLog& log, const YardSource& source,
                    std::size_t turn, std::size_t index) {
  const SawPlan& of_log = *plan.plans[index];
  std::string pieces;
  for (const auto& [stick, count] : yard::sticks_of(of_log, plan.order)) {
    const Product& product = plan.order.products[stick.product];
    pieces += html::tick(whole(count) + " × " + xml_text(product.name) + ", " +
                         xml_text(yard::size_words(product, stick.length, plan.mill)));
  }
  const std::string name =
      "<a href=\"" + xml_text(source.folder) + "/saw-sheet.html\">" + xml_text(log.name) + "</a>";
  return row("td",
             {html::strong("", whole(static_cast<int>(turn) + 1) + "."),
              html::strong("", name) + "<br/>" + xml_text(yard::log_words(log.shape, plan.mill)) +
                  "<br/>" + rounded(of_log.totals.hours, 1) + " hours",
              pieces});
}

std::string logs_part(const YardPlan& plan, const std::vector<YardLog>& logs,
                      const std::vector<YardSource>& sources) {
  std::string text = element("h2", "", "Log by log") + "\n" +
                     element("p", "",
                             "In this order: the logs that fetch the most come first, so that "
                             "others are left should one turn out worse. Each has a saw sheet of "
                             "its own in the folder of its name. What a log really gave goes into "
                             "its tally; the rest is then planned again without it.") +
                     "\n<table>\n" + heads({"", "log", "gives"});
  for (std::size_t turn = 0; turn < plan.sawing.size(); ++turn) {
    const std::size_t l = plan.sawing[turn];
    text += log_row(plan, logs[l], sources[l], turn, l);
  }
  text += "</table>\n";
  const std::string uncut = yard::uncut_words(plan, logs);
  if (!uncut.empty()) text += element("p", "rule", html::strong("", xml_text(uncut))) + "\n";
  return text;
}

std::string stack_part(const YardPlan& plan, const std::vector<YardLog>& logs) {
  const Amounts amounts{plan.mill.inches};
  std::string text =
      element("h2", "", "Stack by piece and length") + "\n" +
      element("p", "",
              "A pile for each thickness, the long pieces below. Stickers of one thickness in line "
              "over the bearers, one at each end. Tick a piece when its pile is whole.") +
      "\n<table>\n" + heads({"", "pile", "pieces", amounts.boards_unit(), "from"});
  for (const yard::Pile& pile : yard::piles_of(plan)) {
    const Product& product = plan.order.products[pile.stick.product];
    std::string from;
    for (const auto& [log, count] : pile.from) {
      from += (from.empty() ? "" : ", ") + whole(count) + " of " + xml_text(logs[log].name);
    }
    text += row("td", {html::tick(""),
                       html::strong("", xml_text(product.name)) + "<br/>" +
                           xml_text(yard::size_words(product, pile.stick.length, plan.mill)),
                       html::strong("", whole(pile.pieces)), amounts.boards_number(pile.m3), from});
  }
  return text + "</table>\n";
}

}  // namespace

std::string yard_sheet_html(const YardPlan& plan, const std::vector<YardLog>& logs,
                            const std::vector<YardSource>& sources) {
  const char* const title = "Sheet of the whole list";
  std::string text =
      html::page_head("", "", title, sheet_style) + "<body>\n" + element("h1", "", title) + "\n";
  text += element("p", "sum", xml_text(yard::verdict(plan))) + "\n";
  text += element("p", "sum", xml_text(yard::sums(plan))) + "\n";
  if (plan.stopped) {
    text += element("p", "rule", "The search was ended early: a longer one may do better.") + "\n";
  }
  text += element("p", "rule", xml_text(yard::cautions())) + "\n";
  text += list_part(plan, logs) + logs_part(plan, logs, sources) + stack_part(plan, logs);
  text += element("p", "", xml_text(yard::bound_words(plan))) + "\n";
  return text + "</body>\n</html>\n";
}

}  // namespace kerfwright
