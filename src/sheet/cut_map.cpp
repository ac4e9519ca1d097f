#include "kerfwright/sheet/cut_map.hpp"

namespace kerfwright {

std::string cut_map_svg(const SawPlan&, const LogShape&) {
  return "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"297mm\" height=\"210mm\" "
         "viewBox=\"0 0 297 210\"/>\n";
}

}  // namespace kerfwright
