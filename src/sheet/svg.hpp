#pragma once

#include <Eigen/Core>
#include <string>
#include <string_view>
#include <vector>

/// SVG text, and how much room letters take. Everything is in mm of paper, y downwards.
namespace kerfwright::sheet {

using Point = Eigen::Vector2d;
using Path = std::vector<Point>;

enum class Anchor { start, middle, end };

struct TextStyle {
  double size = 3.0;  ///< mm from line to line; digits are 0.73 of it high
  Anchor anchor = Anchor::start;
  bool bold = false;
  std::string_view fill = "#1a1a1a";
};

/// An upright rectangle.
struct Box {
  Point low, high;
  bool overlaps(const Box& other) const;
  Box grown(double by) const;
};

/// The upright rectangle round a path that is not empty.
Box bounds(const Path& path);

/// A number to 0.01, without needless zeros.
std::string paper(double value);

/// Text as it may stand in XML; what XML 1.0 cannot hold becomes U+FFFD or a space.
std::string xml_text(std::string_view text);

/// Width of a line of text, mm. Letters are taken to be as wide as those of a wide sans serif, so
/// that the text fits whichever sans serif a viewer has.
double text_width(std::string_view text, double size, bool bold = false);

/// The text, or as much of its beginning as fits and an ellipsis.
std::string fitted(std::string_view text, double size, double width, bool bold = false);

/// The space that a text takes when its base line starts, is centred or ends at a point.
Box text_box(const Point& at, std::string_view text, const TextStyle& style);

/// Builds the text of an SVG file element by element.
class Svg {
 public:
  /// Opens a group; `attributes` as in XML, `title` is shown by viewers that can.
  void begin(const std::string& attributes, const std::string& title = {});
  void end();
  void line(const Point& a, const Point& b, std::string_view style);
  void path(const Path& points, bool closed, std::string_view style);
  void circle(const Point& centre, double radius, std::string_view style);
  void rect(const Box& box, std::string_view style);
  void text(const Point& at, std::string_view text, const TextStyle& style = {});
  void raw(std::string_view text) { body_ += text; }
  const std::string& body() const { return body_; }

 private:
  std::string body_;
};

}  // namespace kerfwright::sheet
