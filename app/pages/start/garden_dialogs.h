// SPDX-License-Identifier: GPL-3.0-or-later
// Making a garden and opening one.
#pragma once

#include "app/pages/controls.h"

#include <filesystem>

class QLineEdit;

namespace edamori::pages {

// Asks for name, folder and the first photos; makes nothing by itself.
class NewGardenDialog : public FormDialog {
  Q_OBJECT

 public:
  explicit NewGardenDialog(QWidget* parent);
  [[nodiscard]] QString name() const;
  [[nodiscard]] std::filesystem::path folder() const { return m_folder->path(); }
  [[nodiscard]] std::filesystem::path photos() const { return m_photos->path(); }  // may be empty

 protected:
  [[nodiscard]] QString problem() override;

 private:
  QLineEdit* m_name;
  PathField* m_folder;
  PathField* m_photos;
};

class OpenGardenDialog : public FormDialog {
  Q_OBJECT

 public:
  OpenGardenDialog(const QString& proposed, QWidget* parent);
  [[nodiscard]] std::filesystem::path folder() const { return m_folder->path(); }

 protected:
  [[nodiscard]] QString problem() override;

 private:
  PathField* m_folder;
};

}  // namespace edamori::pages
