// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/values/result.h"

#include "tests/support/matchers.h"
#include "vision/values/figure.h"

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <variant>

namespace edamori {
namespace {

using test::failsWith;
using test::isOkAnd;

Result<int> half(int number) {
  if (number % 2 != 0) {
    return fail(ErrorCode::InvalidArgument, "odd");
  }
  return number / 2;
}

Result<std::string> passedOn(const Result<void>& step) {
  EDAMORI_RETURN_IF_ERROR(step);
  return std::string("went on");
}

TEST(Result, HoldsAValueOrAnError) {
  EXPECT_THAT(half(4), isOkAnd(2));
  EXPECT_THAT(half(3), failsWith(ErrorCode::InvalidArgument));
}

TEST(Result, ThrowsWhenTheValueOfAFailureIsRead) {
  const Result<int> failure = half(3);
  EXPECT_THROW(static_cast<void>(failure.value()), std::bad_variant_access);
  EXPECT_THROW(static_cast<void>(half(4).error()), std::bad_variant_access);
}

TEST(Result, ChainsStepsUntilOneFails) {
  EXPECT_THAT(half(8).and_then(half).and_then(half), isOkAnd(1));
  EXPECT_THAT(half(6).and_then(half).and_then(half), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(half(6).transform([](int n) { return n + 0.5; }), isOkAnd(3.5));
}

TEST(Result, CarriesValuesThatCannotBeCopied) {
  Result<std::unique_ptr<int>> owner = std::make_unique<int>(7);
  const std::unique_ptr<int> taken = *std::move(owner);
  EXPECT_EQ(*taken, 7);
}

TEST(Result, OfAnErrorLeavesTheFunction) {
  EXPECT_THAT(passedOn(fail(ErrorCode::Io, "disk full")), failsWith(ErrorCode::Io));
  EXPECT_THAT(passedOn({}), isOkAnd(std::string("went on")));
}

TEST(Error, TellsWhatTheCallerWasDoing) {
  EXPECT_EQ(fail(ErrorCode::Corrupt, "cut short").withContext("photo 12"),
            fail(ErrorCode::Corrupt, "photo 12: cut short"));
}

TEST(Verdict, HasStoredWords) {
  EXPECT_EQ(toText(Verdict::ClearLoss), "clear loss");
  EXPECT_EQ(toText(Verdict::ClearGain), "clear gain");
  EXPECT_EQ(toText(Verdict::NoClearChange), "no clear change");
  EXPECT_EQ(toText(Verdict::CannotTell), "cannot tell");
}

}  // namespace
}  // namespace edamori
