// SPDX-License-Identifier: GPL-3.0-or-later
// Error is how every fallible function in this program reports failure.
#pragma once

#include <string>
#include <utility>

namespace edamori {

// What went wrong, as far as the program can act on it. The command line turns
// the code into its exit status (see app/commands/exit_status.h).
enum class ErrorCode {
  InvalidArgument,    // The caller asked for something that makes no sense (exit 2).
  NotMeasurable,      // The photo is readable, but gives no figure that can be trusted (exit 3).
  NotFound,           // A named input file does not exist (exit 4).
  Unreadable,         // An input file or folder exists but may not or cannot be read (exit 4).
  UnsupportedFormat,  // The bytes are not of a format that we read (exit 4).
  Corrupt,            // The bytes are damaged, cut short or hostile (exit 4).
  Io,                 // Writing failed: disk full, read-only, … (exit 5).
  Storage,            // Not a garden, a damaged one, or one of a newer program (exit 5).
  Conflict,           // Somebody else holds the garden, or the record exists already (exit 5).
  Cancelled,          // The person stopped it (exit 130).
};

struct Error {
  ErrorCode code;
  std::string message;  // One line for a person: what was wrong, with which file, what to do.

  // Returns a copy whose message is prefixed by what the caller was doing.
  [[nodiscard]] Error withContext(const std::string& what) const {
    return Error{.code = code, .message = what + ": " + message};
  }
  friend bool operator==(const Error&, const Error&) = default;
};

}  // namespace edamori
