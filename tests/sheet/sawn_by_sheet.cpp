#include "sawn_by_sheet.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>

#include "kerfwright/shape/section.hpp"
#include "pieces.hpp"

namespace kerfwright {
namespace {

using Eigen::Vector3d;
using sheet_reader::ReadFlitch;
using sheet_reader::ReadLane;
using sheet_reader::ReadSheet;
using sheet_reader::ReadStage;

constexpr double tolerance = 0.1;  // mm, as replay allows

/// The line along which a board's far edge lies: left of the flitch's frame at a place along it.
struct Ruler {
  double along_a, left_a, along_b, left_b;
  double slope() const { return (left_b - left_a) / (along_b - along_a); }
  double at(double along) const { return left_a + (along - along_a) * slope(); }
  /// Parallel, nearer to the person.
  Ruler nearer(double by) const {
    const double down = by * std::hypot(1.0, slope());
    return {along_a, left_a - down, along_b, left_b - down};
  }
};

class Sawing {
 public:
  Sawing(const ReadSheet& sheet, const SawPlan& plan, const LogShape& shape)
      : sheet_(sheet), plan_(plan), shape_(shape), sawn_(plan), tree_(sawn_) {}

  SawnBySheet saw() {
    for (const ReadStage& stage : sheet_.stages) saw_stage(stage);
    for (const auto& across : sheet_.across) saw_across(across);
    const auto flitches = sheet::find_flitches(sawn_, shape_);
    for (const sheet::Flitch& flitch : flitches) saw_flitch(flitch);
    return result_;
  }

 private:
  Cut& cut(int n) {
    return *std::find_if(sawn_.cuts.begin(), sawn_.cuts.end(),
                         [n](const Cut& other) { return other.n == n; });
  }

  double lowest(const std::vector<sheet::Side>& piece, double x, const Vector3d& up) const {
    double low = 1e9;
    for (const auto& p : sheet::piece_section(shape_, x, Bark::on, sheet::lengthwise(piece))) {
      low = std::min(low, up.dot(Vector3d(x, p.x(), p.y())));
    }
    return low;
  }

  Vector3d up_at(double turn, double slope) const {
    Setup setup;
    setup.roll = turn;
    setup.lift_top = slope * shape_.length();
    return setup_up(setup, shape_.length());
  }

  /// The direction up once the piece is turned and its underside blocked up as the sheet says.
  Vector3d up_on_blocks(const ReadStage& stage, const std::vector<sheet::Side>& piece,
                        double from) const {
    double low = -0.2;
    double high = 0.2;
    const auto error = [&](double slope) {
      const Vector3d up = up_at(stage.turn, slope);
      const double first = lowest(piece, from + stage.bunks.front(), up) - stage.raises.front();
      const double last = lowest(piece, from + stage.bunks.back(), up) - stage.raises.back();
      return last - first;
    };
    for (int i = 0; i < 60; ++i) {
      const double middle = (low + high) / 2;
      (error(middle) < 0.0 ? low : high) = middle;
    }
    return up_at(stage.turn, low);
  }

  void saw_stage(const ReadStage& stage) {
    const auto piece = tree_.ancestry(cut(stage.cuts.front().n).piece);
    const double from = sheet::reach_of(shape_, piece).from;
    Vector3d up = Vector3d::UnitZ();
    double bed = 0.0;
    if (stage.clock.empty()) {
      for (const auto& read : stage.cuts) {
        Cut& made = cut(read.n);
        made.point.x() = from + read.height;  // it lies on the log's axis
      }
      return;
    }
    if (stage.on_face) {
      const Cut& face = cut(stage.face_below.value());
      for (const auto& side : piece) {
        if (side.cut->n != face.n) continue;
        up = side.above ? face.normal : Vector3d(-face.normal);
        bed = up.dot(face.point) + face.kerf / 2 - stage.spacer;
      }
    } else {
      up = up_on_blocks(stage, piece, from);
      bed = lowest(piece, from + stage.bunks.front(), up) - stage.raises.front();
    }
    for (const auto& read : stage.cuts) {
      Cut& made = cut(read.n);
      const bool upright = made.normal.dot(up) > 0.0;
      made.normal = upright ? up : Vector3d(-up);
      made.point = (bed + read.height + made.kerf / 2) * up;
    }
  }

  /// Measured from the butt end of the whole flitch.
  void saw_across(const sheet_reader::ReadAcross& across) {
    Cut& made = cut(across.n);
    for (sheet::Flitch whole : sheet::find_flitches(sawn_, shape_)) {
      const bool here = std::any_of(whole.ancestry.begin(), whole.ancestry.end(),
                                    [&](const sheet::Side& side) { return side.cut == &made; });
      if (!here) continue;
      whole.ancestry.resize(whole.on_mill);
      const double along = butt_end(whole) + across.place;
      const Vector3d& direction = whole.frame.along;
      made.point += (along - made.point.dot(direction)) * direction;
      return;
    }
  }

  const ReadFlitch* told(const sheet::Flitch& flitch) const {
    const auto found = std::find_if(sheet_.flitches.begin(), sheet_.flitches.end(),
                                    [&](const auto& f) { return f.letter == flitch.letter; });
    return found == sheet_.flitches.end() ? nullptr : &*found;
  }

  /// The outermost wood of both faces on the far side (`far`) or the near one.
  std::optional<double> edge(const sheet::Flitch& flitch, double along, bool far) const {
    std::optional<double> best;
    for (const bool upper : {false, true}) {
      const auto edges = sheet::face_edges(shape_, flitch, upper);
      for (std::size_t i = 0; i + 1 < edges.size(); ++i) {
        const auto& a = edges[i];
        const auto& b = edges[i + 1];
        if (along < a.along - 0.5 || along > b.along + 0.5) continue;
        const double share = (along - a.along) / (b.along - a.along);
        const double left =
            far ? a.left + share * (b.left - a.left) : a.right + share * (b.right - a.right);
        if (!best || (far ? left > *best : left < *best)) best = left;
      }
    }
    return best;
  }

  double butt_end(const sheet::Flitch& flitch) const {
    double low = 1e9;
    for (const bool upper : {false, true}) {
      for (const auto& e : sheet::face_edges(shape_, flitch, upper)) low = std::min(low, e.along);
    }
    return low;
  }

  void saw_flitch(const sheet::Flitch& flitch) {
    const ReadFlitch* read = told(flitch);
    if (read == nullptr) {  // a board as it comes from the mill
      for (const Board* board : flitch.boards) result_.value += board->value;
      return;
    }
    std::optional<Ruler> before;  // the near edge of the lane just sawn, kerf and all
    std::optional<Ruler> before_far;
    for (const ReadLane& lane : read->lanes) {
      if (lane.words.find("natural edges") != std::string::npos) {
        cut_slabs(flitch, lane);
        continue;
      }
      const auto ruler = ruler_of(flitch, lane, before, before_far);
      if (!ruler) {
        lose(lane.boards.front(), "its line cannot be struck");
        continue;
      }
      before = ruler->nearer(lane.wide + plan_.mill.kerf);
      before_far = ruler->nearer(-plan_.mill.kerf);
      saw_lane(flitch, lane, *ruler);
    }
  }

  std::optional<Ruler> ruler_of(const sheet::Flitch& flitch, const ReadLane& lane,
                                const std::optional<Ruler>& before,
                                const std::optional<Ruler>& before_far) const {
    const double zero = butt_end(flitch);
    const auto has = [&](const char* words) { return lane.words.find(words) != std::string::npos; };
    if (has("towards the far edge")) return before_far->nearer(-lane.wide);
    if (has("From the edge just sawn")) return before;
    const auto along_edge = [&](bool far) -> std::optional<Ruler> {
      const auto reach = sheet::reach_of(shape_, flitch.ancestry);
      const double a = zero + 0.3 * (reach.to - reach.from);
      const double b = zero + 0.6 * (reach.to - reach.from);
      const auto first = edge(flitch, a, far);
      const auto second = edge(flitch, b, far);
      if (!first || !second) return std::nullopt;
      return Ruler{a, *first, b, *second};
    };
    if (has("The far edge is sawn")) return along_edge(true);
    if (has("The near edge is sawn")) return along_edge(false)->nearer(-lane.wide);
    const double a = zero + lane.places.at(0);
    const double b = zero + lane.places.at(1);
    const auto first = edge(flitch, a, true);
    const auto second = edge(flitch, b, true);
    if (!first || !second) return std::nullopt;
    return Ruler{a, *first - lane.distances.at(0), b, *second - lane.distances.at(1)};
  }

  /// Slabs are only cut to length, and paid by the wood that is then there.
  void cut_slabs(const sheet::Flitch& flitch, const ReadLane& lane) {
    double end_before = -1e9;
    for (const int id : lane.boards) {
      const auto row = std::find_if(sheet_.lengths.begin(), sheet_.lengths.end(),
                                    [id](const auto& length) { return length.board == id; });
      const Board& board = *std::find_if(plan_.boards.begin(), plan_.boards.end(),
                                         [id](const Board& b) { return b.id == id; });
      const Product& product = product_of(board);
      if (row == sheet_.lengths.end()) {
        lose(id, "the cross-cut list does not have it");
        continue;
      }
      const double from = row->from.value_or(0.0);
      const Widths widths = widths_of(flitch, butt_end(flitch) + from, row->length);
      if (row->from && from < end_before + plan_.mill.kerf - tolerance) {
        lose(id, "it begins before the one before it ends");
      } else if (flitch.high - flitch.low < board.thickness - tolerance) {
        lose(id, "its flitch is only " + std::to_string(flitch.high - flitch.low));
      } else if (widths.least < product.width - tolerance) {
        lose(id, "it is only " + std::to_string(widths.least) + " mm wide");
      } else {
        const double worth = std::min(widths.mean, board.width) / board.width;
        if (worth < 1.0) lose(id, "only in part: " + std::to_string(widths.mean) + " mm wide");
        result_.value += worth * board.value;
      }
      end_before = from + row->length;
    }
  }

  struct Widths {
    double least = 1e9, mean = 0;
  };

  /// Of what both faces of a flitch share.
  Widths widths_of(const sheet::Flitch& flitch, double from, double length) const {
    const std::array<std::vector<sheet::FaceEdge>, 2> faces = {
        sheet::face_edges(shape_, flitch, false), sheet::face_edges(shape_, flitch, true)};
    const auto at = [&](bool upper, double along) -> std::optional<std::pair<double, double>> {
      const auto& edges = faces[upper ? 1 : 0];
      for (std::size_t i = 0; i + 1 < edges.size(); ++i) {
        const auto& a = edges[i];
        const auto& b = edges[i + 1];
        if (along < a.along - 0.5 || along > b.along + 0.5) continue;
        const double share = (along - a.along) / (b.along - a.along);
        return std::pair(a.right + share * (b.right - a.right), a.left + share * (b.left - a.left));
      }
      return std::nullopt;
    };
    Widths widths;
    constexpr int looks = 60;
    for (int i = 0; i < looks; ++i) {
      const double along = from + length * (i + 0.5) / looks;
      const auto lower = at(false, along);
      const auto upper = at(true, along);
      if (!lower || !upper) return {0, 0};
      const double width =
          std::min(lower->second, upper->second) - std::max(lower->first, upper->first);
      widths.least = std::min(widths.least, width);
      widths.mean += width / looks;
    }
    return widths;
  }

  const Product& product_of(const Board& board) const {
    return *std::find_if(plan_.order.products.begin(), plan_.order.products.end(),
                         [&](const Product& product) { return product.name == board.product; });
  }

  void saw_lane(const sheet::Flitch& flitch, const ReadLane& lane, const Ruler& ruler) {
    double end_before = -1e9;
    for (const int id : lane.boards) {
      const auto row = std::find_if(sheet_.lengths.begin(), sheet_.lengths.end(),
                                    [id](const auto& length) { return length.board == id; });
      const Board& board = *std::find_if(plan_.boards.begin(), plan_.boards.end(),
                                         [id](const Board& b) { return b.id == id; });
      if (row == sheet_.lengths.end()) {
        lose(id, "the cross-cut list does not have it");
        continue;
      }
      const double from = row->from.value_or(0.0);
      if (row->from && from < end_before + plan_.mill.kerf - tolerance) {
        lose(id, "it begins before the one before it ends");
      } else if (row->length < board.length - 0.5 || row->length > board.length + longest_more()) {
        lose(id, "it is told with another length");
      } else {
        judge(flitch, board, ruler, from, lane.wide);
      }
      end_before = from + row->length;
    }
  }

  void judge(const sheet::Flitch& flitch, const Board& board, const Ruler& ruler, double from,
             double wide) {
    const bool lies = std::abs(wide - board.width) <= std::abs(wide - board.thickness);
    const double high = lies ? board.thickness : board.width;
    const double across = lies ? board.width : board.thickness;
    if (wide < across - 0.5) return lose(board.id, "it is ripped too narrow");
    // What a tape in inches does not show makes the strip wider: the board may lie anywhere in it.
    std::string why;
    for (const double share : {0.0, 0.5, 1.0}) {
      why = fault_at(flitch, board, ruler.nearer(share * std::max(0.0, wide - across)), from,
                     across, high);
      if (why.empty()) break;
    }
    if (!why.empty()) return lose(board.id, why);
    result_.value += board.value;
  }

  /// How much longer than its board a piece may be told: what a tape in inches does not show.
  double longest_more() const { return plan_.mill.inches ? 25.4 / 16 : 0.5; }

  /// Why a board that lies along a ruler does not come out; empty where it does.
  std::string fault_at(const sheet::Flitch& flitch, const Board& board, const Ruler& ruler,
                       double from, double wide, double high) const {
    if (flitch.high - flitch.low < high - tolerance) {
      return "its flitch is only " + std::to_string(flitch.high - flitch.low);
    }
    const sheet::Frame& frame = flitch.frame;
    const double norm = std::hypot(1.0, ruler.slope());
    const Vector3d along = (frame.along + ruler.slope() * frame.left) / norm;
    const Vector3d nearer = (-frame.left + ruler.slope() * frame.along) / norm;
    const double start = butt_end(flitch) + from;
    const Vector3d corner =
        start * frame.along + ruler.at(start) * frame.left + flitch.low * frame.up;
    const Wane wane = wane_of(board);
    double worst = 1e9;
    const auto probe = [&](double a, double b, double c) {
      worst = std::min(
          worst, depth_inside(shape_, corner + a * along + b * nearer + c * frame.up, Bark::off));
    };
    for (double a = 0.0; a <= board.length; a += std::min(8.0, board.length / 4)) {
      const auto rim = [&](double across, double up) {
        for (int i = 0; i <= 20; ++i) {
          const double b = across + (wide - 2 * across) * i / 20;
          const double c = up + (high - 2 * up) * i / 20;
          probe(a, b, up);
          probe(a, b, high - up);
          probe(a, across, c);
          probe(a, wide - across, c);
        }
      };
      rim(0.0, wane.thickness * high);
      rim(wane.width * wide, 0.0);
    }
    for (std::size_t i = flitch.on_mill; i < flitch.ancestry.size(); ++i) {
      const sheet::Side& side = flitch.ancestry[i];
      for (const double a : {0.0, board.length}) {
        for (const double b : {0.0, wide}) {
          const Vector3d p = corner + a * along + b * nearer;
          const double off = side.cut->normal.dot(p - side.cut->point) * (side.above ? 1 : -1);
          worst = std::min(worst, off - side.cut->kerf / 2);
        }
      }
    }
    if (worst < -tolerance) {
      return "it stands " + std::to_string(-worst) + " mm out of the wood";
    }
    if (edge(flitch, start + board.length / 2, true).value_or(-1e9) <
        ruler.at(start + board.length / 2) - 2.0) {
      return "it lies outside its flitch";
    }
    return "";
  }

  Wane wane_of(const Board& board) const {
    for (const Product& product : plan_.order.products) {
      if (product.name == board.product) return product.wane;
    }
    return {};
  }

  void lose(int id, const std::string& why) {
    result_.lost.push_back("board " + std::to_string(id) + ": " + why);
  }

  const ReadSheet& sheet_;
  const SawPlan& plan_;
  const LogShape& shape_;
  SawPlan sawn_;
  sheet::PieceTree tree_;
  SawnBySheet result_;
};

}  // namespace

SawnBySheet saw_by_sheet(const ReadSheet& sheet, const SawPlan& plan, const LogShape& shape) {
  return Sawing(sheet, plan, shape).saw();
}

}  // namespace kerfwright
