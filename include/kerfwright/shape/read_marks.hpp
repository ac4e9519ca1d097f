#pragma once

#include <string>

#include "kerfwright/shape/log_shape.hpp"

namespace kerfwright {

/// Reads what a person marked on a log (TOML), as it is measured:
///
///   from_butt  mm from the butt, along the log
///   clock      hours, 12.5 or 0.5 is half past twelve, seen by someone who stands at the butt and
///   looks along the log:
///              12 is up as the log lay when it was scanned, 3 is to the right
///   depth      mm from the outside of the bark, straight towards the log's middle
///
///   [pith]     butt = { clock, depth }, top = { clock, depth }
///   [[rot]]    butt_radius, top_radius (0 = none there); [[hollow]] the same
///   [[metal]]  from_butt, clock, depth, reach
///   [[split]]  end ("butt" or "top"), clock, depth (along the log), through (true unless said)
///   [[knot]]   from_butt, clock, size (diameter at the bark), sound (true unless said)
///   [[figure]] name, from_butt, to_butt, clock_from, clock_to, depth (all but the name may be left
///              out: then the zone is the whole log)
///
/// Places are rounded to 0.01 mm, so that a shape read back from its file is the same shape.
/// @param shape the log that was marked; its own marks do not count
/// @throws UserError no_file, empty_file, bad_toml, unknown_key, bad_marks (what lies outside the
/// log names its key and line)
Marks read_marks(const std::string& path, const LogShape& shape);

/// The same from text; `name` stands for the file in messages.
Marks parse_marks(const std::string& toml, const std::string& name, const LogShape& shape);

}  // namespace kerfwright
