#include <algorithm>
#include <cctype>
#include <optional>

#include "kerfwright/error.hpp"
#include "raw_cloud.hpp"
#include "text_fields.hpp"

namespace kerfwright {
namespace {

struct Foreign {
  std::string_view start;  ///< how such a file begins
  std::size_t at;          ///< where that stands, bytes
  std::string_view what;
  std::string_view instead;  ///< what the person can do
};

constexpr std::string_view export_scan =
    "export the scan as PLY, LAS, PCD, OBJ, GLB or text with x y z a line (every scanning app "
    "offers one of them)";
constexpr std::string_view export_mesh = "export it as GLB, STL, OBJ or PLY";
constexpr std::string_view unpack =
    "unpack it and give the scan that is inside, or export the scan without packing";
constexpr std::string_view take_scan =
    "a picture has no size: scan the log with an app that makes a point cloud or a mesh, and "
    "export that as PLY, OBJ or GLB";

/// Signatures of the files that people try first, each as its format lays it down.
constexpr std::array<Foreign, 38> foreigners{{
    {"ASTM-E57", 0, "an E57 file",
     "open it in the program of the scanner and export the points as PLY, LAS, PCD or text with x "
     "y z a line"},
    {"PK\x03\x04", 0, "a packed file (ZIP, USDZ, KMZ or 3MF)",
     "unpack it and give the scan that is inside, or export the scan as PLY, OBJ, GLB or STL"},
    {"\x1f\x8b", 0, "a packed file (gzip)", unpack},
    {"7z\xbc\xaf", 0, "a packed file (7z)", unpack},
    {"Rar!", 0, "a packed file (RAR)", unpack},
    {"BZh", 0, "a packed file (bzip2)", unpack},
    {"\xfd"
     "7zXZ",
     0, "a packed file (xz)", unpack},
    {"ustar", 257, "a packed file (tar)", unpack},
    {"PXR-USDC", 0, "a USD file", export_mesh},
    {"#usda", 0, "a USD file", export_mesh},
    {"Kaydara FBX", 0, "an FBX file", export_mesh},
    {"; FBX", 0, "an FBX file", export_mesh},
    {"AutoCAD Binary DXF", 0, "a DXF drawing", export_mesh},
    {"AC10", 0, "a DWG drawing", export_mesh},
    {"OFF", 0, "an OFF file", export_mesh},
    {"# vtk", 0, "a VTK file", export_scan},
    {"\xff\xd8\xff", 0, "a JPEG picture", take_scan},
    {"\x89PNG", 0, "a PNG picture", take_scan},
    {"GIF8", 0, "a GIF picture", take_scan},
    {"II*", 0, "a TIFF picture", take_scan},
    {std::string_view("MM\0*", 4), 0, "a TIFF picture", take_scan},
    {"8BPS", 0, "a picture", take_scan},
    {"WEBP", 8, "a WebP picture", take_scan},
    {"ftyphei", 4, "a HEIC picture", take_scan},
    {"ftypmif1", 4, "a HEIC picture", take_scan},
    {"ftypavif", 4, "an AVIF picture", take_scan},
    {"ftyp", 4, "a film", take_scan},
    {"moov", 4, "a film", take_scan},
    {"mdat", 4, "a film", take_scan},
    {"RIFF", 0, "a film or a sound", take_scan},
    {"\x1a\x45\xdf\xa3", 0, "a film", take_scan},
    {"%PDF", 0, "a PDF", export_scan},
    {"{\\rtf", 0, "a letter", export_scan},
    {"<", 0, "an XML or HTML file", export_scan},
    {"{", 0, "a JSON file", export_scan},
    {"[", 0, "a JSON file", export_scan},
    {"SQLite format 3", 0, "a database", export_scan},
    {"\x7f"
     "ELF",
     0, "a program", export_scan},
}};

[[noreturn]] void unknown(const std::string& path, std::string_view what,
                          std::string_view instead) {
  throw UserError(Fault::unknown_format, file_name(path) + " is " + std::string(what) +
                                             ", which is not read here; " + std::string(instead) +
                                             ".");
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

/// A glTF that is not packed into a GLB: JSON with an "asset" that has a "version".
bool is_gltf(std::string_view start) {
  return start.starts_with("{") && start.find("\"asset\"") != std::string_view::npos &&
         start.find("\"version\"") != std::string_view::npos;
}

/// A drawing of pairs of lines, the first of which is always a zero and a section.
bool is_dxf(std::string_view start) {
  LineReader lines(start.substr(0, 4096));
  const auto code = lines.next();
  const auto word = lines.next();
  return code && word && trimmed(*code) == "0" && trimmed(*word) == "SECTION";
}

std::optional<FileType> known_start(std::string_view bytes, std::string_view start) {
  if (bytes.starts_with("ply\n") || bytes.starts_with("ply\r") || bytes == "ply")
    return FileType::ply;
  if (bytes.starts_with("LASF")) return FileType::las;
  if (bytes.starts_with("glTF") || is_gltf(start)) return FileType::gltf;
  if (is_ascii_stl(start) || (is_binary_stl(bytes) && !is_text(bytes))) return FileType::stl;
  if (is_pcd(bytes)) return FileType::pcd;
  return std::nullopt;
}

/// By the ending of its name the file should have begun in another way.
[[noreturn]] void belied(const std::string& path, const std::string& ending) {
  std::string kind = ending;
  std::transform(kind.begin(), kind.end(), kind.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  throw UserError(Fault::damaged_file, file_name(path) + ": the file does not begin as a " + kind +
                                           " file does; copy or export the scan again.");
}

}  // namespace

FileType detect_type(const std::string& path, std::string_view bytes) {
  const std::string_view start = bytes.starts_with("\xEF\xBB\xBF") ? bytes.substr(3) : bytes;
  if (const auto type = known_start(bytes, start)) return *type;
  const std::string ending = lower_ending(path);
  if (ending == "stl") return FileType::stl;
  for (const Foreign& foreign : foreigners)
    if (start.substr(std::min(foreign.at, start.size())).starts_with(foreign.start))
      unknown(path, foreign.what, foreign.instead);
  if (is_dxf(start)) unknown(path, "a DXF drawing", export_mesh);
  for (const char* kind : {"ply", "pcd", "las", "laz", "gltf", "glb", "e57"})
    if (ending == kind) belied(path, ending);
  if (!is_text(bytes)) unknown(path, "of a type that the program does not know", export_scan);
  return is_obj(bytes) || ending == "obj" ? FileType::obj : FileType::text;
}

std::string file_name(const std::string& path) {
  const std::size_t slash = path.find_last_of("/\\");
  return slash == std::string::npos ? path : path.substr(slash + 1);
}

}  // namespace kerfwright
