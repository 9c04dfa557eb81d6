// SPDX-License-Identifier: GPL-3.0-or-later
// Exit statuses of the program; scripts rely on them, never renumber.
#pragma once

#include "vision/values/error.h"

namespace edamori::commands {

enum class ExitStatus : int {
  Done = 0,
  WrongUsage = 2,
  NotMeasurable = 3,
  UnreadableInput = 4,
  Storage = 5,
  Cancelled = 130,  // 128 + SIGINT, as shells expect
};

[[nodiscard]] constexpr ExitStatus exitStatusOf(ErrorCode code) {
  switch (code) {
    case ErrorCode::InvalidArgument:
      return ExitStatus::WrongUsage;
    case ErrorCode::NotMeasurable:
      return ExitStatus::NotMeasurable;
    case ErrorCode::NotFound:
    case ErrorCode::Unreadable:
    case ErrorCode::UnsupportedFormat:
    case ErrorCode::Corrupt:
      return ExitStatus::UnreadableInput;
    case ErrorCode::Cancelled:
      return ExitStatus::Cancelled;
    case ErrorCode::Io:
    case ErrorCode::Storage:
    case ErrorCode::Conflict:
      break;
  }
  return ExitStatus::Storage;
}

}  // namespace edamori::commands
