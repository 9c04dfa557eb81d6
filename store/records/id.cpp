// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/records/id.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdint>
#include <mutex>
#include <random>

namespace edamori::store {

namespace {

constexpr std::uint64_t kCounterMask = 0xFFF;      // rand_a, used as a counter (RFC 9562 §6.2)
constexpr std::uint64_t kCounterSeedMask = 0x7FF;  // leaves half of the range to count up in

struct Stamp {
  std::uint64_t milliseconds = 0;
  std::uint64_t counter = 0;
};

std::uint64_t random64() {
  thread_local std::random_device device;
  return (std::uint64_t{device()} << 32U) | std::uint64_t{device()};
}

std::uint64_t clockMilliseconds() {
  const auto sinceEpoch = std::chrono::system_clock::now().time_since_epoch();
  return static_cast<std::uint64_t>(
      std::chrono::duration_cast<std::chrono::milliseconds>(sinceEpoch).count());
}

// The next (time, counter), greater than all before it even when the clock steps back.
Stamp nextStamp() {
  static std::mutex mutex;
  static Stamp last;
  const std::scoped_lock lock(mutex);
  const std::uint64_t clock = clockMilliseconds();
  if (clock > last.milliseconds) {
    last = {.milliseconds = clock, .counter = random64() & kCounterSeedMask};
  } else if (last.counter < kCounterMask) {
    ++last.counter;
  } else {
    last = {.milliseconds = last.milliseconds + 1, .counter = random64() & kCounterSeedMask};
  }
  return last;
}

bool isLowerHex(char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); }

bool isDashPlace(std::size_t i) { return i == 8 || i == 13 || i == 18 || i == 23; }

}  // namespace

std::string newUuidV7() {
  const Stamp stamp = nextStamp();
  const std::uint64_t high = (stamp.milliseconds << 16U) | 0x7000U | stamp.counter;
  const std::uint64_t low = (random64() >> 2U) | (std::uint64_t{0b10} << 62U);
  constexpr std::array digits = {
      '0', '1', '2', '3', '4', '5', '6', '7', '8', '9', 'a', 'b', 'c', 'd', 'e', 'f'};
  std::string text;
  text.reserve(36);
  for (const std::uint64_t half : {high, low}) {
    for (int shift = 60; shift >= 0; shift -= 4) {
      if (isDashPlace(text.size())) {
        text += '-';
      }
      text += digits.at((half >> static_cast<unsigned>(shift)) & 0xFU);
    }
  }
  return text;
}

bool isUuidV7(const std::string& text) {
  if (text.size() != 36) {
    return false;
  }
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (isDashPlace(i) ? text[i] != '-' : !isLowerHex(text[i])) {
      return false;
    }
  }
  constexpr std::string_view variants = "89ab";
  return text[14] == '7' && variants.find(text[19]) != std::string_view::npos;
}

}  // namespace edamori::store
