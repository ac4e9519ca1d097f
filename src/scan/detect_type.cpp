#include <algorithm>
#include <cctype>

#include "kerfwright/error.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

struct Foreign {
  std::string_view start;  ///< how such a file begins
  std::size_t at;          ///< where that stands, bytes
  std::string_view what;
};

/// Signatures of the files that people try first, each as its format lays it down.
constexpr std::array<Foreign, 20> foreigners{{
    {"LASF", 0, "a LAS or LAZ file"},
    {"ASTM-E57", 0, "an E57 file"},
    {"PK\x03\x04", 0, "a packed file (ZIP, USDZ or KMZ)"},
    {"\x1f\x8b", 0, "a packed file (gzip)"},
    {"7z\xbc\xaf", 0, "a packed file (7z)"},
    {"glTF", 0, "a GLB file"},
    {"PXR-USDC", 0, "a USD file"},
    {"#usda", 0, "a USD file"},
    {"solid ", 0, "an STL file"},
    {"Kaydara FBX", 0, "an FBX file"},
    {"\xff\xd8\xff", 0, "a JPEG picture"},
    {"\x89PNG", 0, "a PNG picture"},
    {"II*", 0, "a TIFF picture"},
    {"MM", 0, "a TIFF picture"},
    {"ftyp", 4, "a HEIC picture or a film"},
    {"%PDF", 0, "a PDF"},
    {"OFF", 0, "an OFF file"},
    {"<", 0, "an XML or HTML file"},
    {"{", 0, "a JSON file"},
    {"[", 0, "a JSON file"},
}};

[[noreturn]] void unknown(const std::string& path, std::string_view what) {
  throw UserError(
      Fault::unknown_format,
      file_name(path) + " is " + std::string(what) +
          ", which is not read here; export the scan as PLY, PCD, OBJ or text with x y z a "
          "line (every scanning app offers one of them).");
}

std::string lower_ending(const std::string& path) {
  const std::string name = file_name(path);
  const std::size_t dot = name.rfind('.');
  if (dot == std::string::npos) return {};
  std::string ending = name.substr(dot + 1);
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return ending;
}

bool is_pcd(std::string_view bytes) {
  const std::string_view head = bytes.substr(0, 4096);
  return head.starts_with("# .PCD") || (head.find("FIELDS ") != std::string_view::npos &&
                                        head.find("WIDTH ") != std::string_view::npos &&
                                        head.find("DATA ") != std::string_view::npos);
}

/// No byte of a text is below a blank but for line ends and tabs; UTF-16 fails here too.
bool is_text(std::string_view bytes) {
  const std::string_view head = bytes.substr(0, 65536);
  return std::none_of(head.begin(), head.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte < 0x20 && byte != '\n' && byte != '\r' && byte != '\t';
  });
}

bool is_obj(std::string_view bytes) {
  LineReader lines(bytes.substr(0, 65536));
  while (const auto line = lines.next()) {
    const std::string_view text = trimmed(*line);
    if (text.starts_with("v ") || text.starts_with("v\t")) return true;
    if (!text.empty() && (std::isdigit(static_cast<unsigned char>(text[0])) || text[0] == '-'))
      return false;
  }
  return false;
}

}  // namespace

FileType detect_type(const std::string& path, std::string_view bytes) {
  if (bytes.starts_with("ply\n") || bytes.starts_with("ply\r") || bytes == "ply")
    return FileType::ply;
  if (is_pcd(bytes)) return FileType::pcd;
  const std::string_view start = bytes.starts_with("\xEF\xBB\xBF") ? bytes.substr(3) : bytes;
  for (const Foreign& foreign : foreigners)
    if (start.substr(std::min(foreign.at, start.size())).starts_with(foreign.start))
      unknown(path, foreign.what);
  if (!is_text(bytes)) unknown(path, "of a type that the program does not know");
  if (is_obj(bytes) || lower_ending(path) == "obj") return FileType::obj;
  const std::string ending = lower_ending(path);
  if (ending == "ply" || ending == "pcd")
    throw UserError(Fault::damaged_file, file_name(path) + ": the file does not begin as a " +
                                             (ending == "ply" ? "PLY" : "PCD") +
                                             " does; export the scan again.");
  return FileType::text;
}

std::string file_name(const std::string& path) {
  const std::size_t slash = path.find_last_of("/\\");
  return slash == std::string::npos ? path : path.substr(slash + 1);
}

}  // namespace kerfwright
