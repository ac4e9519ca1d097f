#include "query.hpp"

#include <sstream>
#include <unordered_map>

#include "gives.hpp"
#include "kerfwright/error.hpp"
#include "rows.hpp"

namespace kerfwright::archive {
namespace {

/// Conditions of a query with what is bound to their question marks, so that no word of a person
/// ever becomes SQL.
struct Conditions {
  std::string where = "1";
  std::vector<std::string> texts;
  std::vector<double> numbers;

  // Texts come first, so that they can be bound first.
  void contains(const std::string& columns, const std::string& word) {
    where += " AND (" + columns + ") LIKE ? ESCAPE '\\'";
    std::string pattern = "%";
    for (const char c : word) {
      if (c == '%' || c == '_' || c == '\\') pattern += '\\';
      pattern += c;
    }
    texts.push_back(pattern + "%");
  }
  void number(const std::string& condition, double value) {
    where += " AND " + condition;
    numbers.push_back(value);
  }
  void between(const std::string& column, const std::optional<double>& least,
               const std::optional<double>& most) {
    if (least) number(column + " >= ?", *least);
    if (most) number(column + " <= ?", *most);
  }
};

Conditions conditions(const LogQuery& query) {
  Conditions all;
  if (!query.species.empty()) all.contains("species", query.species);
  std::istringstream words(query.text);
  // A line break between them: no word reaches from one column into the next.
  for (std::string word; words >> word;)
    all.contains("name || char(10) || species || char(10) || place || char(10) || note", word);
  all.where += query.binned ? " AND binned IS NOT NULL" : " AND binned IS NULL";
  all.between("length", query.min_length, query.max_length);
  all.between("middle", query.min_diameter, query.max_diameter);
  all.between("sweep", query.min_sweep, query.max_sweep);
  all.between("volume_under", query.min_volume, query.max_volume);
  if (query.gives) {
    const PieceSize& piece = *query.gives;
    all.number("length >= ?", piece.length);
    all.number("volume_under >= ?", piece.thickness * piece.width * piece.length * 1e-9);
    // The corners of sections that the sketch did not take reach a little further.
    all.number("widest >= ?", 0.97 * std::max(piece.width, piece.thickness));
  }
  return all;
}

const char* column(LogOrder order) {
  switch (order) {
    case LogOrder::name:
      return "name";
    case LogOrder::added:
      return "logs.added";
    case LogOrder::species:
      return "species";
    case LogOrder::length:
      return "length";
    case LogOrder::diameter:
      return "middle";
    case LogOrder::sweep:
      return "sweep";
    case LogOrder::volume:
      return "volume_under";
  }
  return "name";
}

/// Whether the log of the sketch gives the piece: most are told by their girths, the others by all
/// that the sketch knows.
bool gives_piece(const SQLite::Column& column, const PieceSize& piece) {
  const auto* blob = static_cast<const char*>(column.getBlob());
  const std::string_view bytes(blob, blob ? static_cast<std::size_t>(column.getBytes()) : 0);
  try {
    const Given given = gives_by_girths(girths_from_bytes(bytes), piece);
    return given == Given::unknown ? gives(sketch_from_bytes(bytes), piece) : given == Given::yes;
  } catch (const std::exception&) {
    throw UserError(Fault::bad_archive,
                    "A sketch in the archive is damaged; 'kerfwright archive "
                    "check' says whose.");
  }
}

/// Plans and tallies of all logs in one go: asked of each by itself it takes longer than all else.
void count_files(SQLite::Database& database, std::vector<KeptLog>& logs) {
  std::unordered_map<std::int64_t, KeptLog*> by_id;
  for (KeptLog& log : logs) by_id[log.id] = &log;
  SQLite::Statement statement(
      database,
      "SELECT log, kind = 'plan', count(*) FROM files WHERE kind IN ('plan', 'tally') "
      "GROUP BY log, kind");
  while (statement.executeStep()) {
    const auto found = by_id.find(statement.getColumn(0).getInt64());
    if (found == by_id.end()) continue;
    const bool plan = statement.getColumn(1).getInt() != 0;
    (plan ? found->second->plans : found->second->tallies) = statement.getColumn(2).getInt();
  }
}

}  // namespace

std::vector<KeptLog> find_logs(SQLite::Database& database, const LogQuery& query) {
  const Conditions all = conditions(query);
  const bool with_sketch = query.gives.has_value();
  SQLite::Statement statement(
      database, std::string("SELECT ") + log_columns_uncounted + (with_sketch ? ", bytes" : "") +
                    " FROM logs" + (with_sketch ? " JOIN sketches ON log = logs.id" : "") +
                    " WHERE " + all.where + " ORDER BY " + column(query.order) +
                    (query.descending ? " DESC" : "") + ", name, logs.id");
  int at = 0;
  for (const std::string& text : all.texts) statement.bind(++at, text);
  for (const double number : all.numbers) statement.bind(++at, number);
  std::vector<KeptLog> logs;
  while (statement.executeStep()) {
    if (with_sketch &&
        !gives_piece(statement.getColumn(statement.getColumnCount() - 1), *query.gives))
      continue;
    logs.push_back(log_row(statement));
  }
  count_files(database, logs);
  return logs;
}

}  // namespace kerfwright::archive
