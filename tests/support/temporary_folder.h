// SPDX-License-Identifier: GPL-3.0-or-later
// A folder of the test's own, removed with everything in it at the end.
#pragma once

#include <filesystem>
#include <string>

namespace edamori::test {

class TemporaryFolder {
 public:
  // The name carries non-ASCII letters on purpose: people name folders so.
  TemporaryFolder();
  ~TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  [[nodiscard]] const std::filesystem::path& path() const { return m_path; }
  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const {
    return m_path / name;
  }

 private:
  std::filesystem::path m_path;
};

// Writes `bytes` to `file`; the test fails when that does not work.
void writeFile(const std::filesystem::path& file, const std::string& bytes);
[[nodiscard]] std::string readWholeFile(const std::filesystem::path& file);

}  // namespace edamori::test
