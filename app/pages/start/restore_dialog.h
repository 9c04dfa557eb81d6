// SPDX-License-Identifier: GPL-3.0-or-later
// A backup unpacked into a folder of its own; no garden that is there is touched.
#pragma once

#include "app/pages/controls.h"
#include "app/pages/page_services.h"

class QProgressBar;

namespace edamori::pages {

// Restores in a thread; accepted when the garden is there, kept open with the reason when not.
class RestoreDialog : public FormDialog {
  Q_OBJECT

 public:
  RestoreDialog(const PageServices& services, QWidget* parent);
  void accept() override;
  [[nodiscard]] std::filesystem::path folder() const { return m_folder->path(); }

 protected:
  [[nodiscard]] QString problem() override;

 private:
  void finish(const Result<std::filesystem::path>& restored);

  PageServices m_services;
  PathField* m_file;
  PathField* m_folder;
  QProgressBar* m_busy;
};

}  // namespace edamori::pages
