#include "model_part.hpp"

namespace kerfwright::sheet {

std::string model_part(const Steps& steps, const LogShape& shape) {
  const std::string last = std::to_string(steps.told->sawn.cuts.size());
  std::string text =
      "<section class=\"model screen\" id=\"model\" hidden>\n<h2>The log, to turn</h2>\n";
  text += "<canvas id=\"view\" tabindex=\"0\" aria-label=\"The log with its boards\"></canvas>\n";
  text += "<p><label for=\"step\"><span id=\"step-words\">Not sawn yet</span></label></p>\n";
  text +=
      "<div class=\"slide\"><button type=\"button\" id=\"back\" aria-label=\"one cut back\">−"
      "</button><input type=\"range\" id=\"step\" min=\"0\" max=\"" +
      last +
      "\" value=\"0\"/><button type=\"button\" id=\"on\" aria-label=\"next "
      "cut\">+</button></div>\n";
  text += "<p id=\"picked\" aria-live=\"polite\">Touch a board. One finger turns, two zoom.</p>\n";
  text += "</section>\n";
  text +=
      "<p class=\"screen\" id=\"no-model\">This browser draws no model to turn; the drawings above "
      "say all of it.</p>\n";
  text += "<script type=\"application/json\" id=\"model-data\">\n" + model_data(steps, shape) +
          "</script>\n";
  text +=
      "<!-- three.js, MIT licence. Copyright 2010-2019 three.js authors. Permission is hereby "
      "granted, free of charge, to any person obtaining a copy of this software and associated "
      "documentation files (the \"Software\"), to deal in the Software without restriction, "
      "including without limitation the rights to use, copy, modify, merge, publish, "
      "distribute, sublicense, and/or sell copies of the Software, and to permit persons to "
      "whom the Software is furnished to do so, subject to the following conditions: The above "
      "copyright notice and this permission notice shall be included in all copies or "
      "substantial portions of the Software. THE SOFTWARE IS PROVIDED \"AS IS\", WITHOUT "
      "WARRANTY OF ANY KIND, EXPRESS OR IMPLIED, INCLUDING BUT NOT LIMITED TO THE WARRANTIES "
      "OF MERCHANTABILITY, FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN NO EVENT "
      "SHALL THE AUTHORS OR COPYRIGHT HOLDERS BE LIABLE FOR ANY CLAIM, DAMAGES OR OTHER "
      "LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR OTHERWISE, ARISING FROM, OUT OF OR "
      "IN CONNECTION WITH THE SOFTWARE OR THE USE OR OTHER DEALINGS IN THE SOFTWARE. -->\n";
  text.append("<script>").append(three_library).append("</script>\n");
  return text.append("<script>").append(model_script).append("</script>\n");
}

}  // namespace kerfwright::sheet
