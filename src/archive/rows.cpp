#include "rows.hpp"

#include <cctype>
#include <ctime>

#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "packing.hpp"
#include "sheet/json_text.hpp"

namespace kerfwright::archive {

#define KERFWRIGHT_FIELDS                                                                     \
  "logs.id, name, logs.added, binned, species, place, felled, moisture, note, length, butt, " \
  "middle, top, sweep, volume_over, volume_under, scan_sha256, shape_sha256, "
const char* const log_columns = KERFWRIGHT_FIELDS
    "(SELECT count(*) FROM files WHERE log = logs.id AND kind = 'plan'), "
    "(SELECT count(*) FROM files WHERE log = logs.id AND kind = 'tally')";
const char* const log_columns_uncounted = KERFWRIGHT_FIELDS "0, 0";
#undef KERFWRIGHT_FIELDS

KeptLog log_row(SQLite::Statement& statement) {
  int at = 0;
  const auto next = [&] { return statement.getColumn(at++); };
  const auto text = [&] { return next().getString(); };
  const auto real = [&] { return next().getDouble(); };
  KeptLog log;
  log.id = next().getInt64();
  log.card.name = text();
  log.added = text();
  const SQLite::Column binned = next();
  if (!binned.isNull()) log.binned = binned.getString();
  log.card.species = text();
  log.card.place = text();
  log.card.felled = text();
  const SQLite::Column moisture = next();
  if (!moisture.isNull()) log.card.moisture = moisture.getDouble();
  log.card.note = text();
  for (double* size : {&log.sizes.length, &log.sizes.butt, &log.sizes.middle, &log.sizes.top,
                       &log.sizes.sweep, &log.sizes.volume_over, &log.sizes.volume_under})
    *size = real();
  log.scan_sha256 = text();
  log.shape_sha256 = text();
  log.plans = next().getInt();
  log.tallies = next().getInt();
  return log;
}

std::string bytes_of(const SQLite::Column& column) {
  const void* blob = column.getBlob();
  if (blob == nullptr) return {};
  return {static_cast<const char*>(blob), static_cast<std::size_t>(column.getBytes())};
}

std::string now() {
  const std::time_t seconds = std::time(nullptr);
  std::tm utc{};
  gmtime_r(&seconds, &utc);
  char text[32];
  const std::size_t size = std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc);
  return {text, size};
}

std::string row_text(const KeptLog& log) {
  std::vector<std::string> items;
  for (const std::string* text :
       {&log.card.name, &log.added, &log.card.species, &log.card.place, &log.card.felled,
        &log.card.note, &log.scan_sha256, &log.shape_sha256})
    items.push_back(json_text::quoted(*text));
  items.push_back(log.card.moisture ? json_text::number(*log.card.moisture) : "null");
  for (const double size : {log.sizes.length, log.sizes.butt, log.sizes.middle, log.sizes.top,
                            log.sizes.sweep, log.sizes.volume_over, log.sizes.volume_under})
    items.push_back(json_text::number(size));
  return json_text::list(items);
}

std::string file_bytes(SQLite::Database& database, std::int64_t log, const std::string& name) {
  SQLite::Statement statement(database,
                              "SELECT size, sha256, packed FROM files WHERE log = ? AND name = ?");
  statement.bind(1, log);
  statement.bind(2, name);
  if (!statement.executeStep())
    throw UserError(Fault::not_in_archive, "The archive has no '" + name + "' of this log.");
  try {
    const SQLite::Column packed = statement.getColumn(2);
    const std::string_view view(static_cast<const char*>(packed.getBlob()),
                                static_cast<std::size_t>(packed.getBytes()));
    std::string bytes = unpack(view, static_cast<std::uint64_t>(statement.getColumn(0).getInt64()));
    if (sha256_hex(bytes) != statement.getColumn(1).getString())
      throw std::runtime_error("its checksum is another");
    return bytes;
  } catch (const std::runtime_error& error) {
    throw UserError(Fault::bad_archive, "The '" + name + "' of log number " + std::to_string(log) +
                                            " in the archive is damaged: " + error.what() +
                                            "; bring it back from a copy or an export.");
  }
}

std::int64_t insert_log(SQLite::Database& database, const KeptLog& log) {
  SQLite::Statement statement(
      database,
      "INSERT INTO logs (name, added, species, place, felled, moisture, note, length, butt, "
      "middle, top, sweep, volume_over, volume_under, scan_sha256, shape_sha256, sha256) "
      "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
  int at = 0;
  for (const std::string* text :
       {&log.card.name, &log.added, &log.card.species, &log.card.place, &log.card.felled})
    statement.bind(++at, *text);
  ++at;
  if (log.card.moisture) statement.bind(at, *log.card.moisture);
  statement.bind(++at, log.card.note);
  for (const double size : {log.sizes.length, log.sizes.butt, log.sizes.middle, log.sizes.top,
                            log.sizes.sweep, log.sizes.volume_over, log.sizes.volume_under})
    statement.bind(++at, size);
  statement.bind(++at, log.scan_sha256);
  statement.bind(++at, log.shape_sha256);
  statement.bind(++at, sha256_hex(row_text(log)));
  statement.exec();
  return database.getLastInsertRowid();
}

void insert_file(SQLite::Database& database, std::int64_t log, const KeptFile& file) {
  SQLite::Statement statement(database,
                              "INSERT INTO files (log, name, kind, added, size, sha256, packed) "
                              "VALUES (?, ?, ?, ?, ?, ?, ?)");
  const std::string packed = pack(file.bytes);
  statement.bind(1, log);
  statement.bind(2, file.name);
  statement.bind(3, file.kind);
  statement.bind(4, file.added.empty() ? now() : file.added);
  statement.bind(5, static_cast<std::int64_t>(file.bytes.size()));
  statement.bind(6, sha256_hex(file.bytes));
  statement.bindNoCopy(7, packed.data(), static_cast<int>(packed.size()));
  statement.exec();
}

void insert_sketch(SQLite::Database& database, std::int64_t log, const Sketch& sketch) {
  SQLite::Statement statement(
      database, "INSERT INTO sketches (log, widest, sha256, bytes) VALUES (?, ?, ?, ?)");
  const std::string bytes = sketch_bytes(sketch);
  statement.bind(1, log);
  statement.bind(2, widest(sketch_from_bytes(bytes)));
  statement.bind(3, sha256_hex(bytes));
  statement.bindNoCopy(4, bytes.data(), static_cast<int>(bytes.size()));
  statement.exec();
}

bool before(const std::string& a, const std::string& b) {
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  std::size_t i = 0, j = 0;
  while (i < a.size() && j < b.size()) {
    if (!digit(a[i]) || !digit(b[j])) {
      if (a[i] != b[j]) return a[i] < b[j];
      ++i, ++j;
      continue;
    }
    std::size_t end_a = i, end_b = j;
    while (end_a < a.size() && digit(a[end_a])) ++end_a;
    while (end_b < b.size() && digit(b[end_b])) ++end_b;
    if (end_a - i != end_b - j) return end_a - i < end_b - j;
    const int order = a.compare(i, end_a - i, b, j, end_b - j);
    if (order != 0) return order < 0;
    i = end_a, j = end_b;
  }
  return a.size() - i < b.size() - j;
}

}  // namespace kerfwright::archive
