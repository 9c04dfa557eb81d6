// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/targets_internal.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string_view>
#include <system_error>

namespace edamori::commands {
namespace {

bool isSameFile(const std::string& one, const std::string& other) {
  std::error_code ignored;
  return std::filesystem::equivalent(one, other, ignored);
}

// The first bytes; JSON may begin with white space.
std::string beginningOf(const std::string& file) {
  std::ifstream stream(file, std::ios::binary);
  std::string bytes(8, '\0');
  stream.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(std::max<std::streamsize>(0, stream.gcount())));
  return bytes;
}

bool isOfKind(const std::string& beginning, TargetKind kind) {
  constexpr std::string_view kPngSignature = "\x89PNG\r\n\x1a\n";
  if (kind == TargetKind::Png) {
    return beginning == kPngSignature;
  }
  const std::size_t first = beginning.find_first_not_of(" \t\r\n");
  return first != std::string::npos && beginning[first] == '{';
}

}  // namespace

Result<void> checkTarget(const std::string& target, TargetKind kind, const std::vector<std::string>& read) {
  if (target.empty() || target == "-") {
    return {};
  }
  const auto same = std::ranges::find_if(read, [&](const std::string& file) { return isSameFile(target, file); });
  if (same != read.end()) {
    return fail(ErrorCode::InvalidArgument,
                target + " is read here and would be lost; name another file to write to");
  }
  std::error_code error;
  const bool isThere = std::filesystem::is_regular_file(target, error);
  if (!isThere || std::filesystem::file_size(target, error) == 0 || isOfKind(beginningOf(target), kind)) {
    return {};
  }
  return fail(ErrorCode::Conflict, target + " exists already and is no " +
                                       (kind == TargetKind::Png ? "PNG picture" : "JSON file") +
                                       "; name another file, or remove that one");
}

}  // namespace edamori::commands
