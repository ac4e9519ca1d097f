#include <pcl/console/print.h>
#include <pcl/io/pcd_io.h>

#include <cstring>
#include <map>
#include <sstream>

#include "kerfwright/error.hpp"
#include "pcl_blob.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

struct PcdHeader {
  std::map<std::string, std::vector<std::string>, std::less<>> entries;  ///< keyword -> its words
  std::size_t body = 0;
  double points = 0.0;
  double height = 1.0;
  double point_bytes = 0.0;
  double values = 0.0;  ///< numbers in a point
};

[[noreturn]] void damaged(const std::string& path, const std::string& what) {
  throw UserError(Fault::damaged_file,
                  file_name(path) + ": " + what + "; copy or export the scan again.");
}

PcdHeader read_entries(const std::string& path, std::string_view bytes) {
  PcdHeader header;
  LineReader lines(bytes);
  std::vector<std::string_view> words;
  while (const auto line = lines.next()) {
    split_fields(*line, " \t", words);
    if (words.empty() || words[0].front() == '#') continue;
    auto& entry = header.entries[std::string(words[0])];
    entry.assign(words.begin() + 1, words.end());
    if (words[0] != "DATA") continue;
    header.body = bytes.size() - lines.rest().size();
    return header;
  }
  damaged(path, "the PCD header breaks off before its DATA line");
}

double one_number(const PcdHeader& header, const std::string& key, const std::string& path) {
  const auto found = header.entries.find(key);
  const auto value = found != header.entries.end() && found->second.size() == 1
                         ? parse_number(found->second[0])
                         : std::nullopt;
  if (!value || !(*value >= 0.0 && *value < 4e9))
    damaged(path, "the PCD header gives no sound " + key);
  return *value;
}

void measure_fields(PcdHeader& header, const std::string& path) {
  const auto& fields = header.entries["FIELDS"];
  const auto& sizes = header.entries["SIZE"];
  const auto& types = header.entries["TYPE"];
  auto& counts = header.entries["COUNT"];
  if (counts.empty()) counts.assign(fields.size(), "1");
  if (fields.empty() || sizes.size() != fields.size() || types.size() != fields.size() ||
      counts.size() != fields.size())
    damaged(path, "FIELDS, SIZE, TYPE and COUNT of the PCD header differ in number");
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const bool whole = (sizes[i] + counts[i]).find_first_not_of("0123456789") == std::string::npos;
    const auto size = parse_number(sizes[i]);
    const auto count = parse_number(counts[i]);
    if (!whole || !size || !count || !(*size == 1 || *size == 2 || *size == 4 || *size == 8) ||
        !(*count >= 1 && *count <= 100000))
      damaged(path, "the PCD header gives field " + fields[i] + " a size or count that cannot be");
    if (types[i] != "F" && types[i] != "I" && types[i] != "U")
      damaged(path, "the PCD header gives field " + fields[i] + " no known type");
    header.point_bytes += *size * *count;
    header.values += *count;
  }
}

PcdHeader parse_header(const std::string& path, std::string_view bytes) {
  PcdHeader header = read_entries(path, bytes);
  measure_fields(header, path);
  header.height = one_number(header, "HEIGHT", path);
  const double grid = one_number(header, "WIDTH", path) * header.height;
  header.points = header.entries.contains("POINTS") ? one_number(header, "POINTS", path) : grid;
  if (header.points != grid) damaged(path, "WIDTH times HEIGHT of the PCD header is not POINTS");
  if (header.points == 0)
    throw UserError(Fault::empty_file, file_name(path) +
                                           ": the PCD header promises no points; check what was "
                                           "selected when the scan was exported.");
  return header;
}

/// Sizes of a compressed body stand in its first eight bytes.
bool compressed_body_fits(const PcdHeader& header, std::string_view body) {
  std::uint32_t sizes[2];
  if (body.size() < sizeof sizes) return false;
  std::memcpy(sizes, body.data(), sizeof sizes);
  return sizes[0] <= body.size() - sizeof sizes &&
         static_cast<double>(sizes[1]) == header.points * header.point_bytes &&
         static_cast<double>(sizes[1]) <= 300.0 * static_cast<double>(sizes[0]);  // LZF reaches 88
}

bool body_fits(const PcdHeader& header, const std::string& kind, std::string_view body) {
  const double held = static_cast<double>(body.size());
  if (kind == "ascii") return 2.0 * header.values * header.points - 1.0 <= held;
  if (kind == "binary") return header.points * header.point_bytes <= held;
  return compressed_body_fits(header, body);
}

/// PCL fills a text body that ends early with zeros and calls that success.
std::size_t filled_lines(std::string_view body) {
  LineReader lines(body);
  std::size_t count = 0;
  while (const auto line = lines.next()) count += trimmed(*line).empty() ? 0 : 1;
  return count;
}

/// PCL's type for a field, or -1.
int pcl_type(std::string_view type, int bytes) {
  using Field = pcl::PCLPointField;
  if (type == "F") return bytes == 4 ? Field::FLOAT32 : bytes == 8 ? Field::FLOAT64 : -1;
  const bool has_sign = type == "I";
  if (bytes == 1) return has_sign ? Field::INT8 : Field::UINT8;
  if (bytes == 2) return has_sign ? Field::INT16 : Field::UINT16;
  if (bytes == 4) return has_sign ? Field::INT32 : Field::UINT32;
  return -1;
}

/// An empty cloud with the fields and the room that the header asks for. PCL's own reader of the
/// header is not used: it runs into memory that is not its own on a header with a misspelt word.
pcl::PCLPointCloud2 empty_cloud(PcdHeader& header, const std::string& path) {
  pcl::PCLPointCloud2 blob;
  std::uint32_t offset = 0;
  for (std::size_t i = 0; i < header.entries["FIELDS"].size(); ++i) {
    pcl::PCLPointField field;
    field.name = header.entries["FIELDS"][i];
    const int bytes = std::stoi(header.entries["SIZE"][i]);
    const int type = pcl_type(header.entries["TYPE"][i], bytes);
    if (type < 0)
      damaged(path, "the PCD header gives field " + field.name + " a size that its type has not");
    field.datatype = static_cast<std::uint8_t>(type);
    field.count = static_cast<std::uint32_t>(std::stoul(header.entries["COUNT"][i]));
    field.offset = offset;
    offset += field.count * static_cast<std::uint32_t>(bytes);
    blob.fields.push_back(field);
  }
  blob.width = static_cast<std::uint32_t>(header.points);
  blob.height = 1;
  blob.point_step = offset;
  blob.row_step = offset * blob.width;
  blob.data.resize(static_cast<std::size_t>(offset) * blob.width);
  return blob;
}

bool read_body(std::string_view body, const std::string& kind, pcl::PCLPointCloud2& blob) {
  pcl::console::setVerbosityLevel(pcl::console::L_ALWAYS);
  pcl::PCDReader reader;
  constexpr int version = 7;
  try {
    if (kind == "ascii") {
      std::istringstream text{std::string(body)};
      return reader.readBodyASCII(text, blob, version) == 0;
    }
    const auto* bytes = reinterpret_cast<const unsigned char*>(body.data());
    return reader.readBodyBinary(bytes, blob, version, kind == "binary_compressed", 0) == 0;
  } catch (const std::exception&) {
    return false;
  }
}

}  // namespace

RawCloud read_pcd(const std::string& path, std::string_view bytes) {
  PcdHeader header = parse_header(path, bytes);
  const auto& data = header.entries["DATA"];
  const std::string kind = data.empty() ? "" : data[0];
  if (kind != "ascii" && kind != "binary" && kind != "binary_compressed")
    damaged(path, "the PCD header names no kind of DATA that is known");
  const std::string_view body = bytes.substr(header.body);
  const std::string promise = "the header promises " +
                              std::to_string(static_cast<std::uint64_t>(header.points)) +
                              " points, but the data after it do not hold them";
  if (!body_fits(header, kind, body)) damaged(path, promise);
  if (kind == "ascii" && static_cast<double>(filled_lines(body)) < header.points)
    damaged(path, promise);
  pcl::PCLPointCloud2 blob = empty_cloud(header, path);
  if (!read_body(body, kind, blob)) damaged(path, promise);
  RawCloud cloud;
  take_coordinates(blob, path, cloud);
  cloud.organised = header.height > 1;
  return cloud;
}

}  // namespace kerfwright
