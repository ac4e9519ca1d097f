#include "sheet_reader.hpp"

#include <libxml/HTMLparser.h>
#include <libxml/xpath.h>

#include <memory>
#include <regex>

namespace kerfwright::sheet_reader {
namespace {

struct Closer {
  void operator()(xmlDoc* doc) const { xmlFreeDoc(doc); }
  void operator()(xmlXPathContext* context) const { xmlXPathFreeContext(context); }
  void operator()(xmlXPathObject* object) const { xmlXPathFreeObject(object); }
};

const xmlChar* chars(const char* text) { return reinterpret_cast<const xmlChar*>(text); }

std::string text_of(xmlNode* node) {
  xmlChar* content = xmlNodeGetContent(node);
  std::string text(reinterpret_cast<const char*>(content));
  xmlFree(content);
  // Read as a person reads it: a blank that keeps a line from breaking is a blank.
  const std::string no_break = "\u00a0";
  for (std::size_t at = 0; (at = text.find(no_break, at)) != std::string::npos;) {
    text.replace(at, no_break.size(), " ");
  }
  return text;
}

/// "5 3/8" as mm, read without the program's own help.
double inches_in(const std::string& text) {
  std::smatch match;
  const std::regex form("(?:(\\d+))?(?:(?:^| )(\\d+)/(\\d+))?(?: in)?");
  if (!std::regex_match(text, match, form)) return std::stod(text);
  double inches = match[1].matched ? std::stod(match[1]) : 0.0;
  if (match[2].matched) inches += std::stod(match[2]) / std::stod(match[3]);
  return 25.4 * inches;
}

class Page {
 public:
  explicit Page(const std::string& html)
      : doc_(htmlReadMemory(html.data(), static_cast<int>(html.size()), nullptr, "UTF-8",
                            HTML_PARSE_NOERROR | HTML_PARSE_NOWARNING | HTML_PARSE_NONET)),
        context_(xmlXPathNewContext(doc_.get())) {
    for (const std::string& rule : texts("//section[@class='lengths']/p")) {
      inches_ = inches_ || rule.find(", in inches.") != std::string::npos;
    }
  }

  std::vector<xmlNode*> find(const std::string& path, xmlNode* within = nullptr) const {
    context_->node = within == nullptr ? xmlDocGetRootElement(doc_.get()) : within;
    const std::unique_ptr<xmlXPathObject, Closer> found(
        xmlXPathEval(chars(path.c_str()), context_.get()));
    std::vector<xmlNode*> nodes;
    if (found == nullptr || found->nodesetval == nullptr) return nodes;
    for (int i = 0; i < found->nodesetval->nodeNr; ++i) {
      nodes.push_back(found->nodesetval->nodeTab[i]);
    }
    return nodes;
  }

  std::vector<std::string> texts(const std::string& path, xmlNode* within = nullptr) const {
    std::vector<std::string> found;
    for (xmlNode* node : find(path, within)) found.push_back(text_of(node));
    return found;
  }

  std::vector<double> numbers(const std::string& path, xmlNode* within) const {
    std::vector<double> found;
    for (const std::string& text : texts(path, within)) found.push_back(std::stod(text));
    return found;
  }

  std::vector<double> lengths(const std::string& path, xmlNode* within) const {
    std::vector<double> found;
    for (const std::string& text : texts(path, within)) found.push_back(length(text));
    return found;
  }

  /// mm; in a list the unit stands above it and not beside each length.
  double length(const std::string& text) const {
    return inches_ || text.ends_with(" in") ? inches_in(text) : std::stod(text);
  }

 private:
  bool inches_ = false;
  std::unique_ptr<xmlDoc, Closer> doc_;
  std::unique_ptr<xmlXPathContext, Closer> context_;
};

int number_in(const std::string& text, const std::string& pattern) {
  std::smatch match;
  return std::regex_search(text, match, std::regex(pattern)) ? std::stoi(match[1]) : 0;
}

/// "1–3, 7" as 1, 2, 3, 7.
std::vector<int> board_numbers(const std::string& text) {
  std::vector<int> numbers;
  const std::regex run("(\\d+)(?:–(\\d+))?");
  for (std::sregex_iterator it(text.begin(), text.end(), run), end; it != end; ++it) {
    const int first = std::stoi((*it)[1]);
    const int last = (*it)[2].matched ? std::stoi((*it)[2]) : first;
    for (int n = first; n <= last; ++n) numbers.push_back(n);
  }
  return numbers;
}

ReadStage stage_of(const Page& page, xmlNode* node) {
  ReadStage stage;
  stage.setup = number_in(page.texts("h2", node).at(0), "Setup (\\d+)");
  const auto clock = page.texts(".//*[@class='clock']", node);
  if (!clock.empty()) {
    stage.clock = clock[0];
    const std::string words = page.texts(".//*[@class='clock']/ancestor::li", node).at(0);
    stage.turn = page.numbers(".//*[@class='turn']", node).at(0);
    if (std::regex_search(words, std::regex("° anticlockwise from how"))) stage.turn *= -1.0;
  }
  for (const std::string& item : page.texts(".//ul[@class='do']/li", node)) {
    if (item.find("flat on its sawn face") != std::string::npos) stage.on_face = true;
    std::smatch match;
    if (std::regex_search(item, match, std::regex("face of cut (\\d+) down, on the bed"))) {
      stage.face_below = std::stoi(match[1]);
    }
  }
  const auto spacers = page.lengths(".//*[@class='spacer']", node);
  if (!spacers.empty()) stage.spacer = spacers.at(0);
  stage.raises = page.lengths(".//*[@class='raise']", node);
  stage.bunks = page.lengths(".//*[@class='bunk']", node);
  for (xmlNode* item : page.find(".//li[@class='cut']", node)) {
    ReadCut cut;
    cut.n = number_in(page.texts(".//*[@class='n']", item).at(0), "Cut (\\d+)");
    cut.height = page.lengths(".//*[@class='height']", item).at(0);
    cut.faces = page.texts(".//*[@class='at']", item);
    stage.cuts.push_back(cut);
  }
  return stage;
}

ReadFlitch flitch_of(const Page& page, xmlNode* node) {
  ReadFlitch flitch;
  flitch.letter = page.texts("h3/b", node).at(0);
  for (xmlNode* item : page.find(".//li[@class='lane']", node)) {
    ReadLane lane;
    lane.words = text_of(item);
    lane.distances = page.lengths(".//*[@class='distance']", item);
    lane.places = page.lengths(".//*[@class='place']", item);
    lane.wide = page.lengths(".//*[@class='wide']", item).at(0);
    lane.boards = board_numbers(lane.words.substr(lane.words.rfind("board")));
    flitch.lanes.push_back(lane);
  }
  return flitch;
}

}  // namespace

ReadSheet read(const std::string& html) {
  const Page page(html);
  ReadSheet sheet;
  for (xmlNode* node : page.find("//section[@class='stage']")) {
    sheet.stages.push_back(stage_of(page, node));
  }
  for (xmlNode* node : page.find("//section[@class='flitch']")) {
    sheet.flitches.push_back(flitch_of(page, node));
  }
  for (xmlNode* item : page.find("//section[@class='across']//li")) {
    sheet.across.push_back({static_cast<int>(page.numbers(".//*[@class='n']", item).at(0)),
                            page.lengths(".//*[@class='place']", item).at(0)});
  }
  for (xmlNode* row : page.find("//tr[@class='length']")) {
    const std::string from = page.texts(".//*[@class='from']", row).at(0);
    ReadLength length;
    length.letter = page.texts(".//*[@class='letter']", row).at(0);
    length.board = static_cast<int>(page.numbers(".//*[@class='board']", row).at(0));
    if (std::isdigit(static_cast<unsigned char>(from[0])) != 0) length.from = page.length(from);
    length.square = !page.find(".//small[.='square the end']", row).empty();
    length.length = page.lengths(".//*[@class='long']", row).at(0);
    sheet.lengths.push_back(length);
  }
  sheet.addresses = page.texts("//@src|//@href|//@data|//@srcset|//@action");
  return sheet;
}

}  // namespace kerfwright::sheet_reader
