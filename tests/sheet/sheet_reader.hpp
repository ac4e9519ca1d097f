#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

/// The numbers of a saw sheet as a person finds them in its HTML, read by libxml2.
namespace kerfwright::sheet_reader {

struct ReadCut {
  int n = 0;
  double height = 0;
  std::vector<std::string> faces;  ///< "butt 200 ± 7" and so on
};

struct ReadStage {
  int setup = 0;
  std::string clock;
  double turn = 0;  ///< degrees clockwise from how it lay when scanned
  bool on_face = false;
  std::optional<int> face_below;  ///< the cut that made the face it lies on
  std::vector<double> raises, bunks;
  double spacer = 0;  ///< thickness of the board under the face it lies on
  std::vector<ReadCut> cuts;
};

struct ReadLane {
  std::string words;
  std::vector<double> distances, places;
  double wide = 0;
  std::vector<int> boards;
};

struct ReadFlitch {
  std::string letter;
  std::vector<ReadLane> lanes;
};

/// A cut across a flitch before it is edged.
struct ReadAcross {
  int n = 0;
  double place = 0;
};

/// A row of the cross-cut list; `from` is empty where the log's end is the board's.
struct ReadLength {
  std::string letter;
  int board = 0;
  std::optional<double> from;
  bool square = false;  ///< the end is to be squared there
  double length = 0;
};

struct ReadSheet {
  std::vector<ReadStage> stages;
  std::vector<ReadFlitch> flitches;
  std::vector<ReadAcross> across;
  std::vector<ReadLength> lengths;
  std::vector<std::string> addresses;  ///< whatever an element would fetch or link to
};

ReadSheet read(const std::string& html);

}  // namespace kerfwright::sheet_reader
