#include "edging_cuts.hpp"

#include <algorithm>
#include <cmath>

#include "frame.hpp"
#include "worth.hpp"

namespace kerfwright::saw {
namespace {

/// a … z, then aa, ab …: marks of the lanes of one flitch.
std::string lane_mark(int index) {
  const std::string last(1, static_cast<char>('a' + index % 26));
  return index < 26 ? last : lane_mark(index / 26 - 1) + last;
}

class BenchWork {
 public:
  BenchWork(CutBook& book, double length, bool square_ends)
      : book_(book), length_(length), square_ends_(square_ends) {}

  /// Cross-cuts a flitch into its segments, square to the bed that it was sawn on, then edges each.
  void edge_segments(const std::string& flitch_name, const FlitchLayout& flitch, const Pose& pose) {
    const Frame frame(pose);
    const int number = book_.hand_setup(SetupKind::cross_cut, frame.along);
    const double middle = flitch.bottom + 0.5 * flitch.thickness;
    std::string left = flitch_name;
    std::vector<std::string> names;
    for (std::size_t i = 1; i < flitch.segments.size(); ++i) {
      names.push_back(flitch_name + "p" + std::to_string(i));
      const bool last = i + 1 == flitch.segments.size();
      const std::string rest =
          last ? flitch_name + "p" + std::to_string(i + 1) : flitch_name + "q" + std::to_string(i);
      const double at = flitch.segments[i].from;
      book_.cut(number, left, frame.point(at, 0.0, middle), frame.along, rest, names.back(),
                flitch.thickness * width_at(flitch, at));
      left = rest;
    }
    names.push_back(left);
    for (std::size_t i = 0; i < names.size(); ++i) {
      const double from = i > 0 ? flitch.segments[i].from : 0.0;
      const double to = i + 1 < names.size() ? flitch.segments[i + 1].from : length_;
      rip(names[i], flitch.segments[i], pose, to - from);
    }
  }

  /// mm that a cross-cut of a flitch is wide at most: as far as its boards reach across it.
  double width_at(const FlitchLayout& flitch, double x) const {
    double left = 1e9;
    double right = -1e9;
    for (const FlitchLayout& segment : flitch.segments) {
      for (const auto& place : segment.pieces) {
        const double width =
            book_.plan.order.products[static_cast<std::size_t>(place.product)].width;
        left = std::min(left, place.left + segment.lean * x);
        right = std::max(right, place.left + segment.lean * x + width);
      }
    }
    return std::max(0.0, right - left);
  }

  void edge(const std::string& flitch_name, const FlitchLayout& flitch, const Pose& pose) {
    if (!flitch.segments.empty()) return edge_segments(flitch_name, flitch, pose);
    rip(flitch_name, flitch, pose, length_);
  }

  /// Rips lane by lane, and cuts each to length.
  void rip(const std::string& flitch_name, const FlitchLayout& flitch, const Pose& pose,
           double length) {
    const Frame frame(pose);
    const double cos_slope = std::sqrt(1.0 - pose.slope * pose.slope);
    const double m = flitch.lean * cos_slope;
    const double norm = std::sqrt(1.0 + m * m);
    const Eigen::Vector3d along = (frame.along + m * frame.across) / norm;
    const Eigen::Vector3d across = (frame.across - m * frame.along) / norm;
    const auto point = [&](double lateral, double x) -> Eigen::Vector3d {
      return frame.along * ((x - flitch.bottom * pose.slope) / cos_slope) +
             frame.across * (lateral + flitch.lean * x) + frame.up * flitch.bottom;
    };
    if (flitch.live_edges) {
      trim(flitch_name, flitch, 0, flitch.pieces.size(), {along, across, frame.up}, point);
      return;
    }
    const double rip_area = flitch.thickness * length;
    std::string left = flitch_name;
    int lane_index = 0;
    std::optional<double> edge_made = flitch.face_left;  // where the left edge of `left` was sawn
    for (std::size_t i = 0; i < flitch.pieces.size();) {
      std::size_t end = i;
      while (end < flitch.pieces.size() && flitch.pieces[end].left == flitch.pieces[i].left) ++end;
      const std::string letter = lane_mark(lane_index++);
      const double at = flitch.pieces[i].left;
      const Product& product =
          book_.plan.order.products[static_cast<std::size_t>(flitch.pieces[i].product)];
      if (!edge_made || std::abs(*edge_made - at) > shared) {
        const std::string rest = flitch_name + "r" + letter;
        book_.cut(book_.hand_setup(SetupKind::edging, across), left,
                  point(at, 0.0) - across * 0.5 * book_.plan.mill.kerf, across, rest,
                  book_.name("edge"), rip_area);
        left = rest;
      }
      std::string lane = left;
      const double right = at + product.width;
      if (!flitch.face_right || std::abs(*flitch.face_right - right) > shared) {
        lane = flitch_name + letter;
        const bool done = end == flitch.pieces.size();
        const std::string rest = done ? book_.name("edge") : flitch_name + "s" + letter;
        book_.cut(book_.hand_setup(SetupKind::edging, across), left,
                  point(at, 0.0) + across * (product.width + 0.5 * book_.plan.mill.kerf), across,
                  rest, lane, rip_area);
        left = rest;
        edge_made = right + book_.plan.mill.kerf;
      }
      trim(lane, flitch, i, end, {along, across, frame.up}, point);
      i = end;
    }
  }

  struct Axes {
    Eigen::Vector3d along, across, up;
  };

  template <typename Point>
  void trim(const std::string& lane, const FlitchLayout& flitch, std::size_t from, std::size_t to,
            const Axes& axes, const Point& point) {
    std::string left = lane;
    double sawn_to = -1e9;  // where the last cross-cut ends
    for (std::size_t i = from; i < to; ++i) {
      const auto& place = flitch.pieces[i];
      const Product& product = book_.plan.order.products[static_cast<std::size_t>(place.product)];
      Board board;
      board.id = static_cast<int>(book_.plan.boards.size()) + 1;
      board.product = product.name;
      board.thickness = product.thickness;
      board.width = place.width;
      board.length = product.lengths[static_cast<std::size_t>(place.length)];
      board.corner = point(place.left, place.start);
      board.along = axes.along;
      board.across = axes.across;
      board.up = axes.up;
      board.value = clear_value(product, static_cast<std::size_t>(place.length), place.width);
      const double area = product.thickness * place.width;
      const int number = book_.hand_setup(SetupKind::cross_cut, axes.along);
      if (std::abs(sawn_to - place.start) > shared && !at_end(board, 0.0)) {
        const std::string rest = lane + "-" + std::to_string(i - from) + "r";
        book_.cut(number, left, board.corner - axes.along * 0.5 * book_.plan.mill.kerf, axes.along,
                  rest, book_.name("end"), area);
        left = rest;
      }
      board.piece = left;
      if (!at_end(board, board.length)) {
        board.piece = "b" + std::to_string(board.id);
        const bool done = i + 1 == to;
        const std::string rest =
            done ? book_.name("end") : lane + "-" + std::to_string(i - from) + "s";
        book_.cut(number, left,
                  board.corner + axes.along * (board.length + 0.5 * book_.plan.mill.kerf),
                  axes.along, rest, board.piece, area);
        left = rest;
      }
      sawn_to = place.start + board.length + book_.plan.mill.kerf;
      book_.plan.boards.push_back(board);
    }
  }

  /// Whether the end of a board at `a` is the log's own end.
  bool at_end(const Board& board, double a) const {
    if (!square_ends_) return false;
    double least = 1e9;
    double most = -1e9;
    for (const double b : {0.0, board.width}) {
      for (const double c : {0.0, board.thickness}) {
        const double x = (board.corner + a * board.along + b * board.across + c * board.up).x();
        least = std::min(least, x);
        most = std::max(most, x);
      }
    }
    const double end = a == 0.0 ? 0.0 : length_;
    return std::abs(least - end) < 0.05 && std::abs(most - end) < 0.05;
  }

  CutBook& book_;
  double length_;
  bool square_ends_;
};

}  // namespace

void edge_flitch(CutBook& book, const std::string& name, const FlitchLayout& flitch,
                 const Pose& pose, double length, bool square_ends) {
  BenchWork(book, length, square_ends).edge(name, flitch, pose);
}

}  // namespace kerfwright::saw
