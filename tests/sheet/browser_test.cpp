#include "browser.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <regex>

#include "kerfwright/shape/section.hpp"
#include "kerfwright/sheet/cut_map.hpp"
#include "kerfwright/sheet/saw_sheet.hpp"
#include "kerfwright/sheet/setup_maps.hpp"
#include "kerfwright/sheet/template_sheet.hpp"
#include "samples.hpp"

namespace kerfwright {
namespace {

using browser::Picture;

std::string with(std::string html, const std::string& before, const std::string& more) {
  return html.insert(html.rfind(before), more);
}

/// Moves the slider to a few cuts, touches the middle of the model, and writes down what it saw.
const char* const probe_script = R"(<script>
addEventListener('load', function () {
  var out = [], canvas = document.getElementById('view'), step = document.getElementById('step');
  function note(name, value) { out.push(name + '=' + value); }
  note('hidden', document.getElementById('model').hidden);
  note('no-model', document.getElementById('no-model').hidden);
  if (!document.getElementById('model').hidden) {
    [0, 3, Number(step.max)].forEach(function (n) {
      step.value = n;
      step.dispatchEvent(new Event('input'));
      note('ink' + n, ink(canvas));
      note('words' + n, document.getElementById('step-words').textContent);
    });
    step.value = 0; step.dispatchEvent(new Event('input'));
    var area = canvas.getBoundingClientRect();
    ['pointerdown', 'pointerup'].forEach(function (kind) {
      canvas.setPointerCapture = function () {};
      canvas.dispatchEvent(new PointerEvent(kind, { pointerId: 1, bubbles: true,
        clientX: area.left + area.width / 2, clientY: area.top + area.height / 2 }));
    });
    note('picked', document.getElementById('picked').textContent);
  }
  note('wide', document.documentElement.scrollWidth - document.documentElement.clientWidth);
  note('fetched', performance.getEntriesByType('resource').length);
  var box = document.querySelector('.cut input').getBoundingClientRect();
  note('box', Math.round(Math.min(box.width, box.height)));
  document.body.setAttribute('data-seen', out.join('|'));
});
</script>
)";

/// What the script wrote after a name.
std::string seen(const browser::Visit& visit, const std::string& name) {
  std::smatch match;
  const std::regex pattern("data-seen=\"(?:[^\"]*\\|)?" + name + "=([^|\"]*)");
  return std::regex_search(visit.dom, match, pattern) ? match[1].str() : "(nothing)";
}

std::string sheet() {
  static const std::string html = saw_sheet_html(samples::cant_plan(), samples::cant_log());
  return html;
}

std::string probed_sheet() {
  return with(sheet(), "</body>", std::string(browser::ink_script) + probe_script);
}

void expect_whole(const browser::Visit& visit) {
  EXPECT_EQ(visit.console, "");
  EXPECT_EQ(seen(visit, "fetched"), "0");
  EXPECT_EQ(seen(visit, "wide"), "0") << "the page is wider than the window";
  EXPECT_GE(std::stoi(seen(visit, "box")), 24) << "a box to tick is too small for a thumb";
}

TEST(Browser, DrawsTheModelOnAPhoneSawsItWithTheSliderAndTellsTheBoardThatIsTouched) {
  const auto visit = browser::visit(probed_sheet(), 390, 844);
  expect_whole(visit);
  EXPECT_EQ(seen(visit, "hidden"), "false");
  EXPECT_EQ(seen(visit, "no-model"), "true");
  EXPECT_GT(std::stoi(seen(visit, "ink0")), 3000) << "hardly anything is drawn";
  EXPECT_NE(seen(visit, "ink0"), seen(visit, "ink3"));
  EXPECT_NE(seen(visit, "words0"), seen(visit, "words3"));
  EXPECT_NE(seen(visit, "words3").find("Cut 3, setup 2"), std::string::npos);
  EXPECT_EQ(seen(visit, "picked").rfind("Board ", 0), 0U) << seen(visit, "picked");
}

TEST(Browser, DrawsTheModelOnADesktop) {
  const auto visit = browser::visit(probed_sheet(), 1400, 900);
  expect_whole(visit);
  EXPECT_EQ(seen(visit, "hidden"), "false");
  EXPECT_GT(std::stoi(seen(visit, "ink0")), 10000);
}

TEST(Browser, KeepsTheDrawingsWhereItCannotDrawTheModel) {
  const auto visit = browser::visit(probed_sheet(), 390, 844, false);
  expect_whole(visit);
  EXPECT_EQ(seen(visit, "hidden"), "true");
  EXPECT_EQ(seen(visit, "no-model"), "false");
}

constexpr int per_mm = 10;
constexpr int fine = 254;  // dots an inch: ten a millimetre

bool dark(const Picture& page, int x, int y) { return page.at(x, y) < 128; }

/// Left end and length, in pixels, of the longest black stretch that is as high as a bar.
struct Bar {
  int x = 0, y = 0, length = 0;
};

Bar find_bar(const Picture& page) {
  Bar best;
  for (int y = page.height * 3 / 4; y < page.height; y += 4) {
    for (int x = 0; x < page.width;) {
      if (!dark(page, x, y)) {
        ++x;
        continue;
      }
      const int start = x;
      while (x < page.width && dark(page, x, y)) ++x;
      if (x - start > best.length && dark(page, start + 5, y + 8)) best = {start, y, x - start};
    }
  }
  while (dark(page, best.x + 5, best.y - 1)) --best.y;
  return best;
}

std::string on_paper(const std::string& html, const std::string& size) {
  return with(html, "</style>", "\n@page { size: " + size + "; }\n");
}

TEST(Template, TheBarIs100MillimetresOnEveryPageOfA4AndOfLetter) {
  const std::string html = template_html(samples::thin_plan(8), samples::thin_log());
  std::size_t count = 0;
  for (const std::string size : {"A4", "letter"}) {
    const auto pages = browser::print(on_paper(html, size), fine);
    ASSERT_FALSE(pages.empty());
    if (count == 0) count = pages.size();
    EXPECT_EQ(pages.size(), count) << size;
    const double width = size == "A4" ? 210.0 : 215.9;
    EXPECT_NEAR(pages[0].width, width * per_mm, 2);
    for (const Picture& page : pages) {
      EXPECT_NEAR(find_bar(page).length, 100 * per_mm, 3) << size;
    }
  }
}

/// The drawing's place on a page is known from its bar, 4 mm from the left and 5 mm below the
/// window of 190 x 240 mm; windows share 14 mm and are centred on the drawing.
TEST(Template, TheOutlineAgreesWithTheShapeToHalfAMillimetre) {
  const LogShape shape = samples::cant_log();  // 340 mm across: two pages by two
  const auto pages = browser::print(template_html(samples::cant_plan(), shape), fine);
  ASSERT_EQ(pages.size(), 4U);
  const Outline outline = section_outline(shape, 0, Bark::on);
  Eigen::Vector2d low(1e9, 1e9);
  Eigen::Vector2d high(-1e9, -1e9);
  for (const auto& yz : outline) {
    low = low.cwiseMin(Eigen::Vector2d(-yz));
    high = high.cwiseMax(Eigen::Vector2d(-yz));
  }
  const Eigen::Vector2d centre = (low + high) / 2;
  const Eigen::Vector2d tile(190, 240);
  const Eigen::Vector2d whole = 2 * tile - Eigen::Vector2d::Constant(14);
  int looked = 0;
  for (std::size_t p = 0; p < 4; ++p) {
    const Bar bar = find_bar(pages[p]);
    const Eigen::Vector2d corner =
        centre - whole / 2 +
        Eigen::Vector2d(p % 2 == 1 ? 176 : 0, p >= 2 ? 226 : 0);  // of this page's window
    for (std::size_t j = 0; j < outline.size(); ++j) {
      if (shape.seen[0][j] == 0 || shape.seen[0][(j + 1) % outline.size()] == 0) continue;
      const Eigen::Vector2d point = -outline[j];
      const Eigen::Vector2d in_window = point - corner;
      if (in_window.x() < 3 || in_window.y() < 3 || in_window.x() > 187 || in_window.y() > 237) {
        continue;
      }
      const int x = bar.x + static_cast<int>(std::lround((in_window.x() - 4.0) * per_mm));
      const int y = bar.y + static_cast<int>(std::lround((in_window.y() - 245.0) * per_mm));
      // The line's own middle along the ray from the centre: dark from where to where?
      const Eigen::Vector2d ray = (point - centre).normalized();
      double sum = 0.0;
      int count = 0;
      for (int k = -15; k <= 15; ++k) {
        const Eigen::Vector2d at = Eigen::Vector2d(x, y) + k * ray;
        if (!dark(pages[p], static_cast<int>(std::lround(at.x())),
                  static_cast<int>(std::lround(at.y())))) {
          continue;
        }
        sum += k;
        ++count;
      }
      ASSERT_GT(count, 0) << "no line at sample " << j << " on page " << p;
      EXPECT_LE(std::abs(sum / count), 0.5 * per_mm) << "sample " << j << " on page " << p;
      ++looked;
    }
  }
  EXPECT_GT(looked, 40);
}

/// Mean grey of cells of so many pixels.
std::vector<double> cells(const Picture& picture, int size, int columns, int rows) {
  std::vector<double> means;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      double sum = 0.0;
      for (int y = 0; y < size; ++y) {
        for (int x = 0; x < size; ++x) sum += picture.at(c * size + x, r * size + y);
      }
      means.push_back(sum / (size * size));
    }
  }
  return means;
}

TEST(Drawings, LookAlikeInABrowserAndInLibrsvg) {
  const SawPlan plan = samples::cant_plan();
  const LogShape shape = samples::cant_log();
  const auto maps = setup_maps(plan, shape);
  for (std::string svg : {cut_map_svg(plan, shape), maps.back().svg}) {
    // Which font stands in for these two is each renderer's own choice.
    const std::string stood_in_for = "Helvetica, Arial, ";
    svg.erase(svg.find(stood_in_for), stood_in_for.size());
    const Picture one = browser::svg_in_browser(svg, 100);
    const Picture other = browser::svg_in_librsvg(svg, 100);
    EXPECT_NEAR(one.width, other.width, 2);
    const int columns = std::min(one.width, other.width) / 8;
    const int rows = std::min(one.height, other.height) / 8;
    const auto a = cells(one, 8, columns, rows);
    const auto b = cells(other, 8, columns, rows);
    double ink = 0.0;
    double differing = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) {
      ink += a[i] < 245 ? 1 : 0;
      differing += std::abs(a[i] - b[i]) > 40 ? 1 : 0;
    }
    EXPECT_GT(ink, 500);
    EXPECT_LT(differing, 0.02 * ink);
  }
}

TEST(SawSheet, PrintsOnA4AndLetterWithNothingInTheMargin) {
  for (const std::string size : {"A4", "letter"}) {
    const auto pages = browser::print(on_paper(sheet(), size), 50);
    ASSERT_FALSE(pages.empty());
    EXPECT_LE(pages.size(), 8U);
    for (const Picture& page : pages) {
      int ink = 0;
      for (int y = 0; y < page.height; ++y) {
        for (int x = 0; x < 20; ++x) ink += dark(page, x, y) || dark(page, page.width - 1 - x, y);
      }
      EXPECT_EQ(ink, 0) << size;
    }
  }
}

}  // namespace
}  // namespace kerfwright
