// SPDX-License-Identifier: GPL-3.0-or-later
// Where the letter goes and which time it covers.
#pragma once

#include "app/letter/letter.h"
#include "app/pages/controls.h"
#include "app/pages/page_services.h"
#include "app/work/overview.h"

class QCheckBox;
class QDateEdit;
class QProgressBar;

namespace edamori::pages {

// Writes the letter in a thread and closes when it is written.
class LetterDialog : public FormDialog {
  Q_OBJECT

 public:
  LetterDialog(const PageServices& services, const work::TreeDetail& detail, QWidget* parent);
  void accept() override;

 protected:
  [[nodiscard]] QString problem() override;

 private:
  [[nodiscard]] letter::LetterRequest request() const;
  void askToReplace();
  void finish(const Result<std::filesystem::path>& written);

  PageServices m_services;
  store::TreeId m_tree;
  PathField* m_file;
  QCheckBox* m_limited;
  QDateEdit* m_from;
  QDateEdit* m_to;
  QProgressBar* m_busy;
  bool m_mayReplace = false;  // the person has been asked about the file that is named
};

}  // namespace edamori::pages
