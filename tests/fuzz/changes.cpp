#include "changes.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <random>

namespace kerfwright::fuzz {
namespace {

/// Numbers from the generator without the library's distributions, which differ between libraries.
struct Dice {
  std::mt19937_64 generator;
  std::size_t below(std::size_t n) {
    return n == 0 ? 0 : static_cast<std::size_t>(generator() % n);
  }
};

/// What a reader may not have thought of, in place of a number of its text.
constexpr std::array<const char*, 16> numbers{"0",
                                              "-1",
                                              "1e308",
                                              "-1e308",
                                              "1e-320",
                                              "nan",
                                              "inf",
                                              "2147483648",
                                              "4294967295",
                                              "18446744073709551615",
                                              "-9223372036854775808",
                                              "1e999",
                                              "0.1.2",
                                              "0x7fffffff",
                                              "",
                                              "999999999999999999999999"};

void change_number(std::string& bytes, Dice& dice) {
  const auto is_digit = [](char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; };
  const auto middle = bytes.begin() + static_cast<std::ptrdiff_t>(dice.below(bytes.size()));
  const auto from = std::find_if(middle, bytes.end(), is_digit);
  const auto to = std::find_if_not(from, bytes.end(), is_digit);
  bytes.replace(from, to, numbers[dice.below(numbers.size())]);
}

/// A word of four or eight bytes of a binary file, little-endian, made large, small, or full.
void change_word(std::string& bytes, Dice& dice) {
  constexpr std::array<std::uint64_t, 8> words{
      0, 1, 0x7fffffff, 0x80000000, 0xffffffff, 0x7f800000, 0x7ff0000000000000, 0x7fffffffffffffff};
  const std::uint64_t word = words[dice.below(words.size())];
  const std::size_t at = dice.below(bytes.size());
  const std::size_t size = std::min<std::size_t>(dice.below(2) == 0 ? 4 : 8, bytes.size() - at);
  for (std::size_t i = 0; i < size; ++i)
    bytes[at + i] = static_cast<char>((word >> (8 * i)) & 0xff);
}

void change_once(std::string& bytes, const std::string& other, Dice& dice) {
  const std::size_t at = dice.below(bytes.size());
  const std::size_t length = 1 + dice.below(std::min<std::size_t>(bytes.size() - at, 64));
  const std::string stretch = bytes.substr(at, length);
  switch (dice.below(9)) {
    case 0:
      bytes[at] = static_cast<char>(bytes[at] ^ (1 << dice.below(8)));
      break;
    case 1:
      bytes[at] = static_cast<char>(dice.below(256));
      break;
    case 2:
      change_number(bytes, dice);
      break;
    case 3:
      change_word(bytes, dice);
      break;
    case 4:
      bytes.erase(at, length);
      break;
    case 5:
      for (std::size_t times = 1 + dice.below(40); times > 0; --times) bytes.insert(at, stretch);
      break;
    case 6:
      bytes.insert(dice.below(bytes.size()), stretch);
      break;
    case 7:
      bytes.resize(at);
      break;
    default:
      bytes.insert(at, other, dice.below(other.size()), length);
      break;
  }
}

}  // namespace

std::string changed(const std::string& bytes, const std::string& other, std::uint64_t seed) {
  Dice dice{std::mt19937_64(seed)};
  std::string spoilt = bytes;
  for (std::size_t times = 1 + dice.below(4); times > 0 && !spoilt.empty(); --times) {
    change_once(spoilt, other, dice);
  }
  return spoilt;
}

}  // namespace kerfwright::fuzz
