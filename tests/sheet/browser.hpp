#pragma once

#include <string>
#include <vector>

/// A browser and a renderer of pages, run as a person would, without a screen or a network.
namespace kerfwright::browser {

/// A folder that is gone with its maker.
class Scratch {
 public:
  Scratch();
  ~Scratch();
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  std::string file(const std::string& name) const { return folder_ + "/" + name; }

 private:
  std::string folder_;
};

/// A page after its scripts have run, and what it said on the console.
struct Visit {
  std::string dom;
  std::string console;
};

/// A function of scripts for a page: what a canvas shows, dark pixels and a sum over all.
inline const char* const ink_script = R"(<script>
function ink(canvas) {
  var flat = document.createElement('canvas');
  flat.width = canvas.width; flat.height = canvas.height;
  var context = flat.getContext('2d');
  context.drawImage(canvas, 0, 0);
  var data = context.getImageData(0, 0, flat.width, flat.height).data, count = 0, sum = 0;
  for (var i = 0; i < data.length; i += 4) {
    if (data[i] + data[i + 1] + data[i + 2] < 740) ++count;
    sum = (sum * 31 + data[i] * 3 + data[i + 1] * 5 + data[i + 2] * 7) % 1000003;
  }
  return count + '/' + sum;
}
</script>
)";

/// @param webgl false: as on a device without it
Visit visit(const std::string& html, int width, int height, bool webgl = true);

/// Grey levels, 0 black to 255 white, row by row.
struct Picture {
  int width = 0, height = 0;
  std::vector<unsigned char> grey;
  unsigned char at(int x, int y) const;  ///< white outside
};

/// The pages of an HTML document as printed to PDF, `dpi` pixels an inch.
std::vector<Picture> print(const std::string& html, int dpi);

/// An SVG file of A4 as the browser and as librsvg draw it.
Picture svg_in_browser(const std::string& svg, int dpi);
Picture svg_in_librsvg(const std::string& svg, int dpi);

}  // namespace kerfwright::browser
