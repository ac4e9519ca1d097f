#include "kerfwright/saw/replan.hpp"

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <iostream>

#include "commands.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/saw/replay.hpp"
#include "kerfwright/shape/read_marks.hpp"
#include "kerfwright/sheet/face_widths.hpp"
#include "kerfwright/sheet/figures_json.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/saw_steps.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "plan_given.hpp"
#include "progress.hpp"
#include "sheet/lengths.hpp"

namespace kerfwright::cli {
namespace {

std::string money(double value, const std::string& currency) {
  char text[64];
  std::snprintf(text, sizeof text, "%.2f", value);
  return text + (" " + currency);
}

/// What was found is added to what the shape has; a pith that was seen goes before one that was
/// guessed.
void add_marks(Marks& marks, const Marks& found) {
  if (found.pith) marks.pith = found.pith;
  const auto add = [](auto& list, const auto& more) {
    list.insert(list.end(), more.begin(), more.end());
  };
  add(marks.rot, found.rot);
  add(marks.hollow, found.hollow);
  add(marks.metal, found.metal);
  add(marks.splits, found.splits);
  add(marks.knots, found.knots);
  add(marks.figure, found.figure);
}

/// What the old sheet had chalked on the flitches that are off.
std::map<std::string, std::string> chalked_by(const SawPlan& plan, const LogShape& shape,
                                              int done) {
  std::map<std::string, std::string> chalked;
  for (const Stage& stage : saw_stages(plan, shape)) {
    for (const MillCut& cut : stage.cuts) {
      if (cut.n > done) continue;
      for (const Part* part : {&cut.off, &cut.below}) {
        if (!part->letter.empty()) chalked[part->piece] = part->letter;
      }
    }
  }
  chalked.insert(plan.chalked.begin(), plan.chalked.end());
  return chalked;
}

/// Height at which the sheet had the last cut set that was made, over what the piece lies on; none
/// where no setup was begun with it.
std::optional<double> face_height_of(const SawPlan& plan, const LogShape& shape, int done) {
  for (const Stage& stage : saw_stages(plan, shape)) {
    for (const MillCut& cut : stage.cuts) {
      if (cut.n == done && on_mill(stage.kind)) return cut.height - stage.spacer;
    }
  }
  return std::nullopt;
}

/// Without the plan before nobody could plan again from a cut that was told wrongly.
void refuse_to_replace(const std::string& out, const std::string& plan) {
  namespace fs = std::filesystem;
  std::error_code error;
  if (!fs::equivalent(fs::path(out) / "plan.json", plan_file(plan), error)) return;
  throw UserError(Fault::cannot_write, "The folder '" + out +
                                           "' holds the plan that was sawn from, which stays as "
                                           "it is: give --out another folder.");
}

void print_change(const SawPlan& before, const SawPlan& after) {
  const std::string& currency = after.order.currency;
  const std::vector<int> there = boards_there(after);
  double made = 0.0;
  for (const Board& board : after.boards) {
    if (std::find(there.begin(), there.end(), board.id) != there.end()) made += board.value;
  }
  const std::size_t left = after.boards.size() - there.size();
  std::cout << "After cut " << after.done << ": " << there.size() << " boards are there, worth "
            << money(made, currency) << "; " << left << " more are to come, worth "
            << money(after.totals.value - made, currency) << ", from cut " << after.done + 1
            << " to " << after.cuts.back().n << "\n"
            << "The whole log is worth " << money(after.totals.value, currency) << "; it was "
            << money(before.totals.value, currency) << " by the plan before\n";
}

/// What to do at the saw before anybody has the new sheet in hand.
void print_next(const SawPlan& after, const LogShape& shape) {
  const sheet::Lengths lengths(after.mill);
  for (const Stage& stage : saw_stages(after, shape)) {
    const auto next = std::find_if(stage.cuts.begin(), stage.cuts.end(),
                                   [&](const MillCut& cut) { return cut.n > after.done; });
    if (next == stage.cuts.end()) continue;
    const std::string cut = "cut " + std::to_string(next->n);
    if (!on_mill(stage.kind)) {
      std::cout << "Next: cross-cut the log, " << cut << "\n";
    } else if (next == stage.cuts.begin()) {
      std::cout << "Next: lay the piece anew for " << cut << ", as the sheet says\n";
    } else {
      std::cout << "Next: leave the log as it lies; " << cut << " at "
                << lengths.height_text(next->height) << " above the bed\n";
    }
    return;
  }
  std::cout << "Next: what is left is edging and cutting to length\n";
}

}  // namespace

int run_replan(const ReplanOptions& options) {
  PlanOnShape read = read_plan_on_shape(options.plan, options.shape);
  refuse_to_replace(options.out, options.plan);
  refuse_plan_of_another_log(options.out, read.shape.source.file);
  if (options.inches) read.plan.mill = in_inches(read.plan.mill);
  const SawPlan& plan = read.plan;
  LogShape& shape = read.shape;
  std::vector<std::string> notes;
  const Replay before = replay(plan, shape);
  if (!before.complete) {
    throw UserError(Fault::plan_does_not_replay, "The plan '" + options.plan +
                                                     "' does not come out of '" + read.shape_file +
                                                     "': " + before.sentences.front());
  }
  const std::optional<double> face_height = face_height_of(plan, shape, options.done);
  if (!options.face_widths.empty() && options.done > 0) {
    const auto& widths = options.face_widths;
    MeasuredFace face =
        take_face_widths(plan, shape, options.done, {widths[0], widths[1], widths[2]});
    shape = std::move(face.shape);
    notes.push_back(face.sentence);
  } else if (!options.face_widths.empty()) {
    throw UserError(Fault::usage,
                    "--face-widths needs the cut that made the face: give its number as --done.");
  }
  if (!options.marks.empty()) add_marks(shape.marks, read_marks(options.marks, shape));
  Progress progress(1);
  progress.step("planning what is left after cut " + std::to_string(options.done));
  SawPlan after = replan(plan, shape, options.done, options.settings);
  progress.done();
  after.chalked = chalked_by(plan, shape, options.done);
  after.face_height = face_height;
  const std::string new_shape = shape_to_json(shape);
  after.shape_sha256 = sha256_hex(new_shape);
  const auto files = files_of(after, shape, new_shape);
  write_all(options.out, files);
  if (options.json) {
    std::cout << plan_figures_json(after, shape, paths_of(options.out, files));
    return 0;
  }
  for (const std::string& note : notes) std::cout << note << '\n';
  print_change(plan, after);
  print_next(after, shape);
  std::cout << "Written: " << (std::filesystem::path(options.out) / "saw-sheet.html").string()
            << ", the sheet to go on from; the rest lies beside it\n";
  return 0;
}

}  // namespace kerfwright::cli
