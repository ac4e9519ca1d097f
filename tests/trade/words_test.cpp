#include "../../src/trade/words.hpp"

#include <gtest/gtest.h>

namespace kerfwright {
namespace {

TEST(Words, ASlipOfThePenIsOneStepAway) {
  EXPECT_EQ(letters_apart("width", "width"), 0U);
  EXPECT_EQ(letters_apart("widht", "width"), 1U);
  EXPECT_EQ(letters_apart("wdth", "width"), 1U);
  EXPECT_EQ(letters_apart("widdth", "width"), 1U);
  EXPECT_EQ(letters_apart("kitten", "sitting"), 3U);  // the textbook pair
  EXPECT_EQ(letters_apart("", "kerf"), 4U);
  EXPECT_EQ(letters_apart("kerf", ""), 4U);
}

TEST(Words, TheNearestComesFirstAndOfEquallyNearOnesTheEarlier) {
  EXPECT_EQ(close_words("plumb", {"palm", "plump", "plum"}, 3),
            (std::vector<std::string>{"plump", "plum"}));
  EXPECT_EQ(close_words("plumb", {"plump", "plum"}, 1), (std::vector<std::string>{"plump"}));
  EXPECT_TRUE(close_words("oak", {"ash", "elm"}, 3).empty());
}

TEST(Words, ALongWordIsCutBetweenLetters) {
  const std::string letters = std::string(59, 'a') + "\xc3\xa9";  // 59 bytes and a letter of two
  EXPECT_EQ(in_quotes(letters), "'" + std::string(59, 'a') + "…'");
  EXPECT_EQ(in_quotes(std::string(60, 'a')), "'" + std::string(60, 'a') + "'");
}

TEST(Words, NumbersAreWrittenShort) {
  EXPECT_EQ(number_text(1200), "1200");
  EXPECT_EQ(number_text(0.1), "0.1");
  EXPECT_EQ(number_text(-2.5), "-2.5");
  EXPECT_EQ(number_text(100000), "100000");
  EXPECT_EQ(number_text(1e300), "1e+300");
}

}  // namespace
}  // namespace kerfwright
