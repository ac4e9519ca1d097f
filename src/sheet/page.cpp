#include "page.hpp"

#include "look.hpp"
#include "svg.hpp"

namespace kerfwright::sheet {

std::string a4_svg(const std::string& title, const SawPlan& plan, const std::string& body) {
  std::string text =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" "
      "width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""
      " font-family=\"Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif\">\n";
  text.append("<title>").append(xml_text(title)).append("</title>\n");
  text += look::hatch_definitions(static_cast<int>(look::hatches(plan).size()));
  return text.append(body).append("</svg>\n");
}

}  // namespace kerfwright::sheet
