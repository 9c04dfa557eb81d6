// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "vision/values/result.h"

#include <gmock/gmock.h>

namespace edamori::test {

MATCHER(isOk, "is a value") {
  if (arg) {
    return true;
  }
  *result_listener << "is the error \"" << arg.error().message << '"';
  return false;
}

MATCHER_P(isOkAnd, inner, "is a value that matches") {
  if (!arg) {
    *result_listener << "is the error \"" << arg.error().message << '"';
    return false;
  }
  return ::testing::ExplainMatchResult(inner, *arg, result_listener);
}

MATCHER_P(failsWith, code, "fails with the given code") { return !arg && arg.error().code == code; }

}  // namespace edamori::test
