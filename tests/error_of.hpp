#pragma once

#include <gtest/gtest.h>

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

}  // namespace kerfwright
