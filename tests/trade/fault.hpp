#pragma once

#include <gtest/gtest.h>

#include <string>
#include <utility>

#include "error_of.hpp"

namespace kerfwright {

/// Whether the sentence is one: names the place first, ends like a sentence, has no line break.
inline void expect_sentence(const UserError& error, const std::string& begins,
                            const std::string& holds) {
  const std::string sentence = error.what();
  EXPECT_EQ(sentence.substr(0, begins.size()), begins) << sentence;
  EXPECT_NE(sentence.find(holds), std::string::npos) << sentence << "\n  lacks: " << holds;
  EXPECT_EQ(sentence.find('\n'), std::string::npos) << sentence;
  EXPECT_TRUE(sentence.ends_with(".") || sentence.ends_with("?")) << sentence;
  EXPECT_LT(sentence.size(), 400U) << sentence;
}

}  // namespace kerfwright
