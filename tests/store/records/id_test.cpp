// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/records/id.h"

#include <chrono>
#include <set>
#include <thread>
#include <vector>

#include <gtest/gtest.h>

namespace edamori::store {

namespace {

// The examples of RFC 9562, appendices A.6 (version 7) and A.3 (version 4), in lower case.
constexpr const char* kVersion7 = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f";
constexpr const char* kVersion4 = "919108f7-52d1-4320-9bac-f847db4148a8";

std::int64_t milliseconds(const std::string& uuid) {
  return std::stoll(uuid.substr(0, 8) + uuid.substr(9, 4), nullptr, 16);
}

std::int64_t clockMilliseconds() {
  return std::chrono::duration_cast<std::chrono::milliseconds>(
             std::chrono::system_clock::now().time_since_epoch())
      .count();
}

}  // namespace

TEST(Uuid, AcceptsTheStandardsExampleOfVersion7Alone) {
  EXPECT_TRUE(isUuidV7(kVersion7));
  EXPECT_FALSE(isUuidV7(kVersion4));
  // RFC 9562 appendix A.6: its time is 1645557742000 ms, 22 February 2022 19:22:22 UTC.
  EXPECT_EQ(milliseconds(kVersion7), 1645557742000);
}

TEST(Uuid, RefusesOtherSpellings) {
  EXPECT_FALSE(isUuidV7(""));
  EXPECT_FALSE(isUuidV7("017F22E2-79B0-7CC3-98C4-DC0C0C07398F"));
  EXPECT_FALSE(isUuidV7("017f22e279b07cc398c4dc0c0c07398f"));
  EXPECT_FALSE(isUuidV7("017f22e2-79b0-7cc3-c8c4-dc0c0c07398f"));  // variant 110
  EXPECT_FALSE(isUuidV7("017f22e2-79b0-7cc3-98c4-dc0c0c07398"));
  EXPECT_FALSE(isUuidV7("017f22e2-79b0-7cc3-98c4-dc0c0c07398g"));
}

TEST(Uuid, CarriesTheTimeOfItsMaking) {
  const std::int64_t before = clockMilliseconds();
  const std::string uuid = newUuidV7();
  const std::int64_t after = clockMilliseconds();
  EXPECT_GE(milliseconds(uuid), before);
  // Ids made in bulk run ahead of the clock by 1 ms for each 2048 or more.
  EXPECT_LE(milliseconds(uuid), after + 1000);
}

TEST(Uuid, RisesStrictlyWithinAProcess) {
  std::string last;
  for (int i = 0; i < 20000; ++i) {
    const std::string next = newUuidV7();
    ASSERT_TRUE(isUuidV7(next)) << next;
    ASSERT_LT(last, next) << i;
    last = next;
  }
}

TEST(Uuid, IsUniqueOverThreads) {
  constexpr int perThread = 3000;
  std::vector<std::vector<std::string>> made(4);
  {
    std::vector<std::jthread> threads;
    for (auto& list : made) {
      threads.emplace_back([&list] {
        for (int i = 0; i < perThread; ++i) {
          list.push_back(newUuidV7());
        }
      });
    }
  }
  std::set<std::string> all;
  for (const auto& list : made) {
    all.insert(list.begin(), list.end());
  }
  EXPECT_EQ(all.size(), 4U * perThread);
}

TEST(Id, IsEmptyUntilCreated) {
  EXPECT_TRUE(TreeId{}.isEmpty());
  EXPECT_FALSE(TreeId::create().isEmpty());
  EXPECT_NE(TreeId::create(), TreeId::create());
}

}  // namespace edamori::store
