#include "kerfwright/trade/order.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "fault.hpp"
#include "kerfwright/files.hpp"

namespace kerfwright {
namespace {

// What an orchard keeper (invented) might ask for; the first product is the example of the file
// format.
constexpr const char* orchard_order = R"(currency = "EUR"

[[product]]
name      = "joist"
thickness = 50            # as sawn, green
width     = 150
lengths   = [1200, 2400, 3000]
values    = [8.5, 18.5, 23.5]
wane      = 0.0
wanted    = 24

[[product]]
name = "drawer side"
thickness = 18.5
width = 120
lengths = [2000, 600]     # need not be sorted
price_per_m3 = 820
wane = 0.25
)";

TEST(Order, ReadsEveryKeyOfTheFileFormat) {
  const Order order = parse_order(orchard_order, "order.toml");
  EXPECT_EQ(order.currency, "EUR");
  ASSERT_EQ(order.products.size(), 2U);
  const Product& joist = order.products[0];
  EXPECT_EQ(joist.name, "joist");
  EXPECT_EQ(joist.thickness, 50);
  EXPECT_EQ(joist.width, 150);
  EXPECT_EQ(joist.lengths, (std::vector<double>{1200, 2400, 3000}));
  EXPECT_EQ(joist.values, (std::vector<double>{8.5, 18.5, 23.5}));
  EXPECT_FALSE(joist.price_per_m3.has_value());
  EXPECT_EQ(joist.wane, 0);
  EXPECT_EQ(joist.wanted, 24);
  const Product& side = order.products[1];
  EXPECT_EQ(side.thickness, 18.5);
  EXPECT_EQ(side.lengths, (std::vector<double>{2000, 600}));
  EXPECT_TRUE(side.values.empty());
  EXPECT_EQ(side.price_per_m3, 820);
  EXPECT_EQ(side.wane, 0.25);
  EXPECT_FALSE(side.wanted.has_value());
}

TEST(Order, APieceFetchesItsListedValueOrItsVolumeTimesThePrice) {
  const Order order = parse_order(orchard_order, "order.toml");
  EXPECT_EQ(order.products[0].value_of(1), 18.5);
  // 0.0185 m x 0.12 m x 2 m = 0.00444 m3 at 820
  EXPECT_NEAR(order.products[1].value_of(0), 3.6408, 1e-12);
  EXPECT_NEAR(order.products[1].value_of(1), 3.6408 * 0.3, 1e-12);
}

TEST(Order, TheCurrencyMayBeLeftOutAndProductsMayStandInline) {
  const Order order = parse_order(
      "product = [{name = 'post', thickness = 80, width = 80, lengths = [900], values = [4]}]",
      "o");
  EXPECT_EQ(order.currency, "EUR");
  EXPECT_EQ(order.products.at(0).name, "post");
}

/// A good order of one product with one line of it replaced. The lines are numbered as in the file.
std::string order_with(const std::string& key, const std::string& line) {
  const std::vector<std::pair<std::string, std::string>> lines = {
      {"currency", "currency = \"EUR\""}, {"", "[[product]]"},                    // lines 1, 2
      {"name", "name = \"joist\""},       {"thickness", "thickness = 50"},        // 3, 4
      {"width", "width = 150"},           {"lengths", "lengths = [1200, 2400]"},  // 5, 6
      {"values", "values = [8.5, 18.5]"}, {"wane", "wane = 0.1"},                 // 7, 8
      {"wanted", "wanted = 24"}};                                                 // 9
  std::string text;
  for (const auto& [its_key, its_line] : lines) text += (its_key == key ? line : its_line) + "\n";
  return text;
}

struct BadOrder {
  const char* key;
  const char* line;  ///< what stands in its place
  int at;            ///< the line that must be named
  Fault fault;
  const char* holds;
};

TEST(Order, EveryMistakeIsToldWithItsLine) {
  const std::vector<BadOrder> mistakes = {
      {"width", "widht = 150", 5, Fault::unknown_key,
       "'widht' is no key of a product; did you mean 'width'?"},
      {"width", "colour = 1", 5, Fault::unknown_key,
       "the keys of a product are name, nominal, thickness"},
      {"currency", "currencies = 1", 1, Fault::unknown_key, "did you mean 'currency'?"},
      {"currency", "kerf = 6", 1, Fault::unknown_key,
       "the keys of an order are currency, species, product."},
      {"wanted", "[extra]\na = 1", 9, Fault::unknown_key, "'extra' is no key of an order"},
      {"wanted", "[product.extra]", 9, Fault::unknown_key, "'extra' is no key of a product"},
      {"width", "width = t", 5, Fault::bad_toml, "this is not TOML"},
      {"wanted", "\"a\\nb\" = 1", 9, Fault::unknown_key, "'a b' is no key of a product"},
      {"wanted", "\"\" = 1", 9, Fault::unknown_key, "'' is no key of a product"},
      {"currency", "currency = 5", 1, Fault::bad_order,
       "'currency' must be a text in quotation marks"},
      {"currency", "currency = \" \"", 1, Fault::bad_order, "not empty"},
      {"currency", "currency = \"EUR\\u0007\"", 1, Fault::bad_order, "text of one line"},
      {"name", "", 2, Fault::bad_order, "a product needs 'name'"},
      {"name", "name = \"\"", 3, Fault::bad_order, "'name' must be a text of one line, not empty"},
      {"name", "name = [1]", 3, Fault::bad_order, "not a list"},
      {"thickness", "", 2, Fault::bad_order, "a product needs 'thickness'"},
      {"thickness", "thickness = 0", 4, Fault::bad_order,
       "more than 0 and at most 5000 mm, not 0."},
      {"thickness", "thickness = 1.25", 4, Fault::bad_order,
       "'thickness' must be at least 3 mm, not 1.25 mm; a number alone is mm, so write \"1.25 "
       "in\""},
      {"width", "width = 6", 5, Fault::bad_order, "'width' must be at least 10 mm, not 6 mm"},
      {"lengths", "lengths = [2400, 2.5]", 6, Fault::bad_order, "or \"2.5 m\""},
      {"width", "width = 150,5", 5, Fault::bad_toml,
       "a number has a comma in it; write its decimals behind a point"},
      {"width", "width = 150, 5", 5, Fault::bad_toml, "this is not TOML"},
      {"width", "width = 150,", 5, Fault::bad_toml, "this is not TOML"},
      {"wanted", "wanted = ", 9, Fault::bad_toml, "this is not TOML"},
      {"thickness", "thickness = nan", 4, Fault::bad_order, "not nan."},
      {"thickness", "thickness = true", 4, Fault::bad_order, "not true or false."},
      {"width", "", 2, Fault::bad_order, "a product needs 'width'"},
      {"width", "width = -150", 5, Fault::bad_order, "'width' must be a number, more than 0"},
      {"width", "width = 5001", 5, Fault::bad_order, "not 5001."},
      {"width", "width = inf", 5, Fault::bad_order, "not inf."},
      {"width", "width = -inf", 5, Fault::bad_order, "not -inf."},
      {"width", "width = \"150\"", 5, Fault::bad_order, "or a text with its unit"},
      {"width", "width = 1979-05-27", 5, Fault::bad_order, "not a date or a time."},
      {"lengths", "", 2, Fault::bad_order, "a product needs 'lengths'"},
      {"lengths", "lengths = 1200", 6, Fault::bad_order, "must be a list of numbers"},
      {"lengths", "lengths = []", 6, Fault::bad_order, "must hold 1 to 200 numbers, not 0."},
      {"lengths", "lengths = [1200, 0]", 6, Fault::bad_order, "at most 30000 mm, not 0."},
      {"lengths", "lengths = [1200,\n 30001]", 7, Fault::bad_order, "not 30001."},
      {"lengths", "lengths = [1200, \"2400\"]", 6, Fault::bad_order, "or a text with its unit"},
      {"lengths", "lengths = [1200, 1200.0]", 6, Fault::bad_order, "holds 1200 twice"},
      {"values", "", 2, Fault::bad_order,
       "either 'values' or 'price_per_m3' or 'price_per_m2', and has none."},
      {"values", "values = [8.5]", 7, Fault::bad_order, "holds 1 numbers and 'lengths' 2"},
      {"values", "values = [8.5, 0]", 7, Fault::bad_order,
       "'values' must be a number, more than 0"},
      {"values", "values = [8.5, nan]", 7, Fault::bad_order, "not nan."},
      {"wane", "price_per_m3 = 800", 8, Fault::bad_order, "only one of them."},
      {"values", "price_per_m3 = 0", 7, Fault::bad_order,
       "'price_per_m3' must be a number, more than 0"},
      {"values", "price_per_m3 = 1e10", 7, Fault::bad_order, "not 1e+10."},
      {"wane", "wane = 0.5", 8, Fault::bad_order, "at least 0 and less than 0.5, not 0.5."},
      {"wane", "wane = -0.1", 8, Fault::bad_order, "not -0.1."},
      {"wanted", "wanted = -1", 9, Fault::bad_order, "a whole number, 0 to 1000000, not -1."},
      {"wanted", "wanted = 2.5", 9, Fault::bad_order, "not 2.5."},
      {"wanted", "wanted = 1000001", 9, Fault::bad_order, "not 1000001."},
      {"wanted", "wanted = \"all\"", 9, Fault::bad_order, "not a text."},
      {"width", "width = ", 5, Fault::bad_toml, "this is not TOML"},
      {"width", "thickness = 51", 5, Fault::bad_toml, "this is not TOML"},
      {"wanted", "wanted = 99999999999999999999", 9, Fault::bad_toml, "this is not TOML"},
  };
  for (const BadOrder& mistake : mistakes) {
    SCOPED_TRACE(std::string(mistake.key) + " -> " + mistake.line);
    const auto error =
        error_of([&] { parse_order(order_with(mistake.key, mistake.line), "order.toml"); });
    EXPECT_EQ(error.fault(), mistake.fault);
    expect_sentence(error, "'order.toml', line " + std::to_string(mistake.at) + ": ",
                    mistake.holds);
  }
}

TEST(Order, MistakesInTheLongerKeysAreToldWithTheirLine) {
  const std::vector<BadOrder> mistakes = {
      {"currency", "species = \"granite\"", 0, Fault::unknown_species, "granite"},
      {"wanted", "finished = { thickness = 25, width = 100 }", 4, Fault::bad_order,
       "either as sawn or finished, not both."},
      {"wanted", "min_width = 100", 9, Fault::bad_order, "'min_width' is for slabs"},
      {"wanted", "live_edge = true", 5, Fault::bad_order, "no width of its own"},
      {"wanted", "live_edge = 1", 9, Fault::bad_order, "must be true or false, not a whole number"},
      {"wanted", "beyond = 0.5", 9, Fault::bad_order, "give 'wanted' too"},
      {"wanted", "wanted = 2\nbeyond = 1.5", 10, Fault::bad_order, "at most 1, not 1.5."},
      {"wane", "wane = { thickness = 0.6 }", 8, Fault::bad_order, "less than 0.5, not 0.6."},
      {"wane", "wane = { depth = 0.1 }", 8, Fault::unknown_key, "'depth' is no key of wane"},
      {"wane", "wane = { length = 1.1 }", 8, Fault::bad_order, "not 1.1."},
      {"wanted", "grades = { largest_knot = 0.3 }", 9, Fault::bad_order, "no grade that is sold"},
      {"wanted", "grades = { clean = 1 }", 9, Fault::unknown_key, "did you mean 'clear'?"},
      {"wanted", "grades = 1", 9, Fault::bad_order, "must be a table"},
      {"wanted", "grain = { rift_from = 70 }", 9, Fault::bad_order, "'rift_from' must not be more"},
      {"wanted", "figure = { burl = -1 }", 9, Fault::bad_order, "at least 0"},
      {"wanted", "blank = \"yes\"", 9, Fault::bad_order, "must be true or false, not a text."}};
  for (const BadOrder& mistake : mistakes) {
    SCOPED_TRACE(std::string(mistake.key) + " -> " + mistake.line);
    const auto error =
        error_of([&] { parse_order(order_with(mistake.key, mistake.line), "order.toml"); });
    EXPECT_EQ(error.fault(), mistake.fault);
    if (mistake.at == 0) continue;  // the sentence is that of the species table
    expect_sentence(error, "'order.toml', line " + std::to_string(mistake.at) + ": ",
                    mistake.holds);
  }
}

TEST(Order, ReadsWhatAPieceIsWorthByItsWood) {
  const Order order = parse_order(R"(species = "cherry"
[[product]]
name = "shelf"
finished = { thickness = 25, width = 100, moisture = 8, planing = 2.5, undersize = 0.1, shrinkage = "mean" }
lengths = [900]
values = [9]
wanted = 4
beyond = 0.5
wane = { thickness = 0.2, width = 0.1, length = 0.3 }
grades = { clear = 1.0, sound_knots = 0.8, largest_knot = 0.33 }
grain = { standing = 1.3, lying = 0.9, standing_from = 45, rift_from = 45 }
figure = { burl = 2.5, curl = 1.5 }

[[product]]
name = "slab"
thickness = 60
min_width = 250
live_edge = true
lengths = [1500]
price_per_m2 = 120

[[product]]
name = "bowl blank"
blank = true
thickness = 80
width = 200
lengths = [200]
price_per_m3 = 1000
)",
                                  "o");
  EXPECT_EQ(order.species, "cherry");
  const Product& shelf = order.products.at(0);
  ASSERT_TRUE(shelf.finished.has_value());
  EXPECT_EQ(shelf.finished->moisture, 8);
  EXPECT_EQ(shelf.finished->planing, 2.5);
  EXPECT_EQ(shelf.finished->undersize, 0.1);
  EXPECT_EQ(shelf.finished->shrinkage, ShrinkageBy::mean);
  EXPECT_EQ(shelf.beyond, 0.5);
  EXPECT_EQ(shelf.wane, Wane(0.2, 0.1, 0.3));
  ASSERT_TRUE(shelf.grades.has_value());
  EXPECT_EQ(shelf.grades->sound_knots, 0.8);
  EXPECT_FALSE(shelf.grades->pith.has_value());
  EXPECT_EQ(shelf.grades->largest_knot, 0.33);
  ASSERT_TRUE(shelf.grain.has_value());
  EXPECT_EQ(shelf.grain->standing, 1.3);
  EXPECT_EQ(shelf.grain->rift, 1.0);
  EXPECT_EQ(shelf.grain->rift_from, 45);
  EXPECT_EQ(shelf.figure,
            (std::vector<std::pair<std::string, double>>{{"burl", 2.5}, {"curl", 1.5}}));
  const Product& slab = order.products.at(1);
  EXPECT_TRUE(slab.live_edge);
  EXPECT_EQ(slab.width, 250);
  EXPECT_NEAR(slab.value_of(0, 300), 120 * 0.3 * 1.5, 1e-12);
  EXPECT_TRUE(order.products.at(2).blank);
}

TEST(Order, ZeroWantedAndUnsortedLengthsAreNoMistakes) {
  EXPECT_EQ(parse_order(order_with("wanted", "wanted = 0"), "o").products.at(0).wanted, 0);
  EXPECT_EQ(
      parse_order(order_with("lengths", "lengths = [2400, 1200]"), "o").products.at(0).lengths,
      (std::vector<double>{2400, 1200}));
}

TEST(Order, OfTwoUnknownKeysTheFirstOfTheFileIsNamed) {
  const auto error = error_of([] { parse_order("zebra = 1\nant = 2\n", "o"); });
  expect_sentence(error, "'o', line 1: ", "'zebra'");
}

TEST(Order, ProductsWithoutTheirBracketsOrWithoutAnythingAreTold) {
  for (const auto& [text, line, holds] : std::vector<std::tuple<std::string, int, std::string>>{
           {"currency = \"EUR\"", 1, "asks for nothing"},
           {"# nothing\n", 1, "asks for nothing"},
           {"", 1, "asks for nothing"},
           {"\n[product]\nname = 'a'", 2, "two brackets"},
           {"product = []", 1, "an order has 1 to 500 products, not 0."},
           {"product = [1, 2]", 1, "two brackets"},
           {"product = 'joist'", 1, "two brackets"}}) {
    SCOPED_TRACE(text);
    const auto error = error_of([&text = text] { parse_order(text, "o"); });
    EXPECT_EQ(error.fault(), Fault::bad_order);
    expect_sentence(error, "'o', line " + std::to_string(line) + ": ", holds);
  }
}

TEST(Order, ANameUsedTwiceIsToldWithBothLines) {
  const std::string product =
      "[[product]]\nname = 'joist'\nthickness = 50\nwidth = 150\nlengths = [900]\nvalues = [4]\n";
  const auto error = error_of([&] { parse_order(product + product, "o"); });
  EXPECT_EQ(error.fault(), Fault::bad_order);
  expect_sentence(error, "'o', line 8: ", "'joist' is that of the product of line 2");
}

TEST(Order, AFileIsReadFromItsPlaceAndNamedInComplaints) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "kerfwright-order";
  std::filesystem::create_directories(folder);
  const std::string path = folder / "order.toml";
  write_file(path, orchard_order);
  EXPECT_EQ(read_order(path).products.size(), 2U);
  write_file(path, "kerf = 6\n");
  expect_sentence(error_of([&] { read_order(path); }), "'" + path + "', line 1: ", "'kerf'");
  EXPECT_EQ(error_of([&] { read_order(folder / "none.toml"); }).fault(), Fault::no_file);
  write_file(path, "");
  EXPECT_EQ(error_of([&] { read_order(path); }).fault(), Fault::empty_file);
}

}  // namespace
}  // namespace kerfwright
