// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands/tree_option_internal.h"

#include <algorithm>
#include <numeric>
#include <utility>
#include <vector>

namespace edamori::commands {
namespace {

// Single changes (a character put in, left out or replaced) from one word to the other.
// Source: Levenshtein 1966, Soviet Physics Doklady 10, 707–710 (from memory).
std::size_t changesBetween(const std::string& one, const std::string& other) {
  std::vector<std::size_t> row(other.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= one.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i);
    for (std::size_t j = 1; j <= other.size(); ++j) {
      const std::size_t replaced = diagonal + (one[i - 1] == other[j - 1] ? 0 : 1);
      diagonal = std::exchange(row[j], std::min({row[j] + 1, row[j - 1] + 1, replaced}));
    }
  }
  return row[other.size()];
}

// "; near it are ED-01, ED-10", or "" in a garden without trees.
std::string nearTags(const std::vector<store::Tree>& trees, const std::string& tag) {
  constexpr std::size_t kMost = 3;
  std::vector<std::pair<std::size_t, std::string>> tags;
  for (const store::Tree& tree : trees) {
    tags.emplace_back(changesBetween(tree.tag, tag), tree.tag);
  }
  std::sort(tags.begin(), tags.end());
  tags.resize(std::min(tags.size(), kMost));
  std::string text;
  for (const auto& [changes, near] : tags) {
    text += (text.empty() ? "; nearest are: " : ", ") + near;
  }
  return text;
}

}  // namespace

Result<store::Tree> treeWithTag(const store::Garden& garden, const std::string& tag) {
  auto found = garden.findTreeByTag(tag);
  if (!found) {
    return found.error();
  }
  if (found->has_value()) {
    return std::move(**found);
  }
  auto trees = garden.trees();
  if (!trees) {
    return trees.error();
  }
  return fail(ErrorCode::InvalidArgument, "no tree has the tag " + tag + nearTags(*trees, tag));
}

}  // namespace edamori::commands
