#include "kerfwright/sheet/boards_csv.hpp"

#include <algorithm>

#include "lengths.hpp"
#include "look.hpp"
#include "pieces.hpp"

namespace kerfwright {
namespace {

using namespace sheet;

/// Text as a field. Spreadsheets take what begins like a formula for one, and would run it: an
/// apostrophe before it keeps it text (OWASP, CSV injection).
std::string field(const std::string& text) {
  std::string safe = text;
  const auto first = safe.find_first_not_of(' ');
  if (first != std::string::npos &&
      std::string("=+-@\t\r\n|").find(safe[first]) != std::string::npos) {
    safe.insert(0, "'");
  }
  std::string quoted = "\"";
  for (const char c : safe) {
    if (c == '"') quoted += '"';
    quoted += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  }
  return quoted + "\"";
}

}  // namespace

std::string boards_csv(const SawPlan& plan, const LogShape& shape) {
  const Lengths lengths(plan.mill);
  const auto flitches = find_flitches(plan, shape);
  std::string unit = " (" + lengths.unit() + ")";
  std::string text =
      "\xEF\xBB\xBF"
      "board,product,thickness" +
      unit + ",width" + unit + ",length" + unit + ",value,currency,flitch,freed by cut\r\n";
  for (const Board& board : plan.boards) {
    const auto flitch = std::find_if(flitches.begin(), flitches.end(), [&](const Flitch& other) {
      return std::find(other.boards.begin(), other.boards.end(), &board) != other.boards.end();
    });
    const Cut* cut = flitch == flitches.end() ? nullptr : flitch->cut_off();
    const std::string fields[] = {std::to_string(board.id),
                                  field(board.product),
                                  lengths.decimal(board.thickness),
                                  lengths.decimal(board.width),
                                  lengths.decimal(board.length),
                                  look::rounded(board.value, 2),
                                  field(plan.order.currency),
                                  flitch == flitches.end() ? "" : flitch->letter,
                                  cut == nullptr ? "" : std::to_string(cut->n)};
    std::string row;
    for (const std::string& item : fields) row += (&item == &fields[0] ? "" : ",") + item;
    text += row + "\r\n";
  }
  return text;
}

}  // namespace kerfwright
