#include "browser.hpp"

#include <stdlib.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "kerfwright/files.hpp"

namespace kerfwright::browser {
namespace {

namespace fs = std::filesystem;

void run(const std::string& command) {
  if (std::system(command.c_str()) != 0) {  // NOLINT: a test runs what a person runs
    throw std::runtime_error("This failed (tools/set_up all installs what it needs): " + command);
  }
}

/// Chromium may not use its sandbox where it is run by root, and has no network here.
std::string chromium(const Scratch& scratch, const std::string& options) {
  return "timeout 120 chromium --headless --no-sandbox --disable-dev-shm-usage --no-first-run "
         "--disable-extensions --disable-background-networking "
         "--host-resolver-rules='MAP * ~NOTFOUND' --user-data-dir='" +
         scratch.file("profile") + "' " + options;
}

Picture read_pgm(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string magic;
  int most = 0;
  Picture picture;
  file >> magic >> picture.width >> picture.height >> most;
  file.get();
  if (magic != "P5" || most != 255) throw std::runtime_error("no grey picture: " + path);
  picture.grey.resize(static_cast<std::size_t>(picture.width) *
                      static_cast<std::size_t>(picture.height));
  file.read(reinterpret_cast<char*>(picture.grey.data()),
            static_cast<std::streamsize>(picture.grey.size()));
  return picture;
}

std::vector<Picture> pages_of(const Scratch& scratch, const std::string& pdf, int dpi) {
  run("pdftoppm -gray -r " + std::to_string(dpi) + " '" + pdf + "' '" + scratch.file("page") + "'");
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(fs::path(pdf).parent_path())) {
    if (entry.path().extension() == ".pgm") names.push_back(entry.path().string());
  }
  std::sort(names.begin(), names.end());
  std::vector<Picture> pages;
  for (const std::string& name : names) pages.push_back(read_pgm(name));
  return pages;
}

}  // namespace

Scratch::Scratch() {
  std::string name = (fs::temp_directory_path() / "kerfwright-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder for scratch");
  folder_ = name;
}

Scratch::~Scratch() {
  std::error_code ignored;
  fs::remove_all(folder_, ignored);
}

Visit visit(const std::string& html, int width, int height, bool webgl) {
  const Scratch scratch;
  write_file(scratch.file("page.html"), html);
  const std::string graphics =
      webgl ? "--use-angle=swiftshader --enable-unsafe-swiftshader " : "--disable-3d-apis ";
  run(chromium(scratch, graphics + "--window-size=" + std::to_string(width) + "," +
                            std::to_string(height) +
                            " --virtual-time-budget=5000 --enable-logging=stderr --v=0 "
                            "--dump-dom 'file://" +
                            scratch.file("page.html") + "' >'" + scratch.file("dom") + "' 2>'" +
                            scratch.file("log") + "'"));
  Visit visit{read_file(scratch.file("dom")), {}};
  std::ifstream log(scratch.file("log"));
  for (std::string line; std::getline(log, line);) {
    if (line.find("CONSOLE") != std::string::npos) visit.console += line + "\n";
  }
  return visit;
}

unsigned char Picture::at(int x, int y) const {
  if (x < 0 || y < 0 || x >= width || y >= height) return 255;
  return grey[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
              static_cast<std::size_t>(x)];
}

std::vector<Picture> print(const std::string& html, int dpi) {
  const Scratch scratch;
  write_file(scratch.file("page.html"), html);
  run(chromium(scratch, "--disable-gpu --no-pdf-header-footer --print-to-pdf='" +
                            scratch.file("page.pdf") + "' 'file://" + scratch.file("page.html") +
                            "' >/dev/null 2>&1"));
  return pages_of(scratch, scratch.file("page.pdf"), dpi);
}

Picture svg_in_browser(const std::string& svg, int dpi) {
  const auto start = svg.find("<svg");
  const auto pages = print(
      "<!DOCTYPE html><meta charset='utf-8'><style>@page { size: A4; margin: 0 } "
      "body { margin: 0 } svg { display: block; height: 296.9mm }</style>" +
          svg.substr(start),
      dpi);
  return pages.at(0);
}

Picture svg_in_librsvg(const std::string& svg, int dpi) {
  const Scratch scratch;
  write_file(scratch.file("map.svg"), svg);
  run("rsvg-convert -f pdf --dpi-x 96 --dpi-y 96 -o '" + scratch.file("map.pdf") + "' '" +
      scratch.file("map.svg") + "'");
  return pages_of(scratch, scratch.file("map.pdf"), dpi).at(0);
}

}  // namespace kerfwright::browser
