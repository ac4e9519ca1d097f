#pragma once

#include <stdexcept>
#include <string>

namespace kerfwright {

/// What a user can get wrong. The number is the exit code of the program.
enum class Fault {
  usage = 2,               ///< the command line cannot be understood
  no_file = 10,            ///< the file is not there or cannot be read
  empty_file = 11,         ///< the file holds nothing
  unknown_format = 12,     ///< the file is of no type that is read here
  damaged_file = 13,       ///< the file breaks off or contradicts its own header
  bad_coordinates = 14,    ///< coordinates that are no numbers, or no unit that fits
  no_log = 15,             ///< the scan holds nothing that looks like a log
  log_out_of_range = 16,   ///< a log of 3 cm or of 30 m
  bad_toml = 20,           ///< the order or mill file is not TOML
  unknown_key = 21,        ///< a key of an order or mill file that no reader knows
  bad_order = 22,          ///< a value of an order that makes no sense
  bad_mill = 23,           ///< a value of a mill that makes no sense
  unknown_species = 24,    ///< a species that no table lists
  bad_marks = 25,          ///< a mark that makes no sense or lies outside the log
  bad_shape = 30,          ///< a shape file of another version, or with contradictions
  bad_plan = 31,           ///< a plan file of another version, or with contradictions
  no_product_fits = 40,    ///< no product of the order comes out of this log
  plan_does_not_replay = 41,  ///< sawn on paper, a board of the plan is missing
  log_beyond_mill = 42,    ///< the mill cannot hold the log
  cannot_write = 50,       ///< the place for the output does not take it
  interrupted = 60,        ///< stopped by the user
  internal = 70,           ///< a fault of the program itself
  bad_archive = 80,        ///< a file that is no archive, of a newer program, or damaged
  name_exists = 81,        ///< the archive has a log of that name
  kept_before = 82,        ///< the archive seems to have that very log
  archive_busy = 83,       ///< another program has been writing for too long
  not_in_archive = 84,     ///< no log of that name in the archive
  bad_tally = 85,          ///< a tally that makes no sense
};

/// The one kind of error that a user can cause: a sentence that says what is wrong, where, and what to do.
class UserError : public std::runtime_error {
 public:
  UserError(Fault fault, const std::string& sentence)
      : std::runtime_error(sentence), fault_(fault) {}
  Fault fault() const { return fault_; }

 private:
  Fault fault_;
};

}  // namespace kerfwright
