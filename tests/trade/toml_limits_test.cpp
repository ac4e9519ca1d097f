#include <gtest/gtest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "fault.hpp"
#include "kerfwright/files.hpp"
#include "kerfwright/trade/mill.hpp"
#include "kerfwright/trade/order.hpp"

// Files that no person writes: none may end the program, each gets its sentence.
namespace kerfwright {
namespace {

std::string times(const std::string& part, std::size_t count) {
  std::string text;
  text.reserve(part.size() * count);
  for (std::size_t i = 0; i < count; ++i) text += part;
  return text;
}

TEST(TomlLimits, NestingOfAnyDepthIsASentence) {
  const std::vector<std::string> texts = {
      std::string("kerf = ") + times("[", 900'000), std::string("kerf = ") + times("{a=", 300'000),
      std::string("kerf = ") + times("[", 400'000) + times("]", 400'000),
      std::string("kerf") + times(".a", 450'000) + " = 1",  // ends a parser without a limit on dots
      std::string("[a") + times(".a", 450'000) + "]",       // likewise
      std::string("[[a") + times(" . a", 200'000) + "]]",
      std::string("a") + times(".\"=\"", 200'000) +
          " = 1",  // quoted keys that look like the end of a key
      std::string("a") + times(".'#'", 200'000) + " = 1",
      std::string("a") + times(".\"\\\"\"", 150'000) + " = 1",
      std::string("x = \"\"\"\"a\"\"\"\"\"\nb") + times(".a", 450'000) +
          " = 1",  // marks at the ends of a long text
      std::string("x = '''a'''''\nb") + times(".a", 450'000) + " = 1",
      // a text that ends where a careless reader would think it goes on, and the key behind it
      std::string(R"(x = ["""a"""", {b)") + times(".a", 450'000) + " = 1}]",
      std::string(R"(x = ["\"", {b)") + times(".a", 450'000) + " = 1}]",
      std::string(R"(x = ['\', {b)") + times(".a", 450'000) + " = 1}]",
      std::string("x = [") +
          times("{a.a.a.a.a.a=[", 60'000),  // dots below the limit inside nested values
  };
  for (const std::string& text : texts) {
    SCOPED_TRACE(text.substr(0, 40));
    const auto error = error_of([&] { parse_mill(text, "m"); });
    EXPECT_EQ(error.fault(), Fault::bad_toml);
    expect_sentence(error, "'m', line ", "");
    EXPECT_EQ(error_of([&] { parse_order(text, "o"); }).fault(), Fault::bad_toml);
  }
}

TEST(TomlLimits, DotsInTextsCommentsAndNumbersAreNotKeys) {
  const std::string order =
      std::string("# ") + times(".", 100) + "\ncurrency = '. . . . . .'\n[[product]]\nname = \"" +
      times(".", 40) +
      "\"\nthickness = 20.5\nwidth = 100.5\nlengths = ["
      "101.5, 102.5, "
      "103.5, 104.5, 105.5, 106.5, 107.5, 108.5, 109.5, 110.5, 111.5]\nprice_per_m3 = 800.0\n";
  EXPECT_EQ(parse_order(order, "o").products.at(0).lengths.size(), 11U);
}

TEST(TomlLimits, AFileOverOneMegabyteIsNotEvenRead) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "kerfwright-large";
  std::filesystem::create_directories(folder);
  const std::string path = folder / "large.toml";
  write_file(path, times("# a long comment\n", 600'000));  // 10 MB
  const auto order = error_of([&] { read_order(path); });
  EXPECT_EQ(order.fault(), Fault::bad_order);
  expect_sentence(order, "'" + path + "' is larger than 1 MB", "");
  EXPECT_EQ(error_of([&] { read_mill(path); }).fault(), Fault::bad_mill);
  EXPECT_EQ(error_of([&] { parse_mill(times("#", 1'000'001), "m"); }).fault(), Fault::bad_mill);
  EXPECT_EQ(parse_mill(times("#", 1'000'000), "m").kerf, 6.0);
  std::filesystem::remove(path);
}

TEST(TomlLimits, TooManyOfAnythingIsASentence) {
  EXPECT_EQ(error_of([] { parse_order(times("[[product]]\n", 80'000), "o"); }).fault(),
            Fault::bad_order);
  const std::string lengths =
      std::string("[[product]]\nname='a'\nthickness=10\nwidth=10\nlengths=[") +
      times("1,", 400'000) + "]";
  expect_sentence(error_of([&] { parse_order(lengths, "o"); }), "'o', line 5: ", "not 400000.");
  std::string keys;
  for (int i = 0; i < 90'000; ++i) keys.append("k").append(std::to_string(i)).append("=1\n");
  expect_sentence(error_of([&] { parse_mill(keys, "m"); }), "'m', line 1: ", "'k0'");
  const std::string long_key = times("k", 900'000) + " = 1";
  expect_sentence(error_of([&] { parse_mill(long_key, "m"); }), "'m', line 1: ", "kkk…'");
}

TEST(TomlLimits, BytesThatAreNoTextAreASentence) {
  for (const std::string& text :
       {std::string("kerf = 6\0", 9), std::string("kerf = \xff"), std::string("\x89PNG\r\n\x1a\n"),
        std::string("kerf = \"\xc3\x28\""), std::string("kerf = \"abc"),
        std::string("kerf = \"\"\"abc"), std::string("kerf = \"abc\\"), std::string("'"),
        std::string("[[["), std::string("= 1"), std::string("a.\n"),
        std::string("\xef\xbb\xbf\xff")}) {
    SCOPED_TRACE(text);
    EXPECT_EQ(error_of([&] { parse_mill(text, "m"); }).fault(), Fault::bad_toml);
  }
}

TEST(TomlLimits, ACutOffOrderIsRefusedWhereverItEnds) {
  const std::string whole =
      "currency = \"EUR\"\n[[product]]\nname = \"joist\"\nthickness = 50\nwidth = 150\n"
      "lengths = [1200, 2400]\nvalues = [8.5, 18.5]";
  EXPECT_NO_THROW(parse_order(whole, "o"));
  for (std::size_t end = 0; end < whole.size(); ++end) {
    SCOPED_TRACE(whole.substr(0, end));
    error_of([&] { parse_order(whole.substr(0, end), "o"); });  // fails where nothing is refused
  }
}

}  // namespace
}  // namespace kerfwright
