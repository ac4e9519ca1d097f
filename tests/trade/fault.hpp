#pragma once

#include <gtest/gtest.h>

#include <string>
#include <utility>

#include "kerfwright/error.hpp"

namespace kerfwright {

/// The error that a call ends with; a test failure where it ends without one.
template <typename Call>
UserError error_of(Call&& call) {
  try {
    std::forward<Call>(call)();
  } catch (const UserError& error) {
    return error;
  }
  ADD_FAILURE() << "nothing was refused";
  return UserError(Fault::internal, "");
}

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
