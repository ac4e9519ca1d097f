#include "readers.hpp"

#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <stdexcept>
#include <string>

#include "kerfwright/archive/archive.hpp"
#include "kerfwright/archive/tally.hpp"
#include "kerfwright/error.hpp"
#include "kerfwright/scan/read_scan.hpp"
#include "kerfwright/shape/read_marks.hpp"
#include "kerfwright/sheet/plan_file.hpp"
#include "kerfwright/sheet/shape_file.hpp"
#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/order.hpp"
#include "kerfwright/trade/target_size.hpp"

namespace kerfwright::fuzz {
namespace {

/// A file in memory that holds the bytes, one a process.
std::string file_of(const std::string& bytes) {
  static const std::string path = "/dev/shm/kerfwright-fuzz-" + std::to_string(getpid());
  for (const char* beside : {"-wal", "-shm", "-journal"}) unlink((path + beside).c_str());
  std::ofstream(path, std::ios::binary | std::ios::trunc)
      .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  static const bool cleared = std::atexit([] { unlink(path.c_str()); }) == 0;
  return cleared ? path : std::string();
}

LogShape some_shape() {
  LogShape shape;
  shape.angles = 64;
  for (const double station : {0.0, 1100.0, 2200.0}) {
    shape.stations.push_back(station);
    shape.axis.emplace_back(0.0, 0.0);
    shape.radius.emplace_back(64, 180.0F);
    shape.sigma.emplace_back(64, 1.0F);
    shape.seen.emplace_back(64, static_cast<unsigned char>(1));
  }
  return shape;
}

void read(const std::string& kind, const std::string& bytes) {
  if (kind == "scan") {
    read_scan(file_of(bytes), {});
  } else if (kind == "order") {
    green_order(parse_order(bytes, kind), Mill{});
  } else if (kind == "mill") {
    parse_mill(bytes, kind);
  } else if (kind == "marks") {
    static const LogShape shape = some_shape();
    parse_marks(bytes, kind, shape);
  } else if (kind == "shape") {
    shape_to_json(shape_from_json(bytes, kind));
  } else if (kind == "plan") {
    plan_to_json(plan_from_json(bytes, kind));
  } else if (kind == "tally") {
    parse_tally(bytes, kind);
  } else if (kind == "archive") {
    const Archive archive = Archive::open(file_of(bytes), Archive::Access::existing);
    archive.check();
  } else {
    throw std::logic_error("no reader '" + kind + "'");
  }
}

}  // namespace

bool takes(const std::string& reader, const std::string& bytes) {
  try {
    read(reader, bytes);
  } catch (const UserError& error) {
    if (error.fault() == Fault::internal) throw;
    return false;
  }
  return true;
}

}  // namespace kerfwright::fuzz
