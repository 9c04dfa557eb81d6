// SPDX-License-Identifier: GPL-3.0-or-later
// Where the picture of a pair goes.
#pragma once

#include "app/pages/controls.h"
#include "vision/values/result.h"

#include <QImage>

class QComboBox;

namespace edamori::pages {

// A picture with what is to stand under it.
struct PairHalf {
  QImage image;
  QString caption;  // "Before, 12 Apr 2026"
};

// Both halves beside each other at the height of the lower one, at most 1600 px, each with its
// caption below, under one title line. Half an image is none: null when either is.
[[nodiscard]] QImage besideEachOther(const PairHalf& before, const PairHalf& after, const QString& title);

// Writes the picture whole or not at all, as PNG or JPEG by the name's ending.
// Errors: InvalidArgument for another ending; Io.
Result<void> writePicture(const QImage& picture, const std::filesystem::path& file);

class SavePairDialog : public FormDialog {
  Q_OBJECT

 public:
  // `asSeen` is offered as the second choice when it is not null.
  SavePairDialog(QImage both, QImage asSeen, const std::filesystem::path& proposed, QWidget* parent);
  void accept() override;
  [[nodiscard]] std::filesystem::path file() const { return m_file->path(); }

 protected:
  [[nodiscard]] QString problem() override;

 private:
  QImage m_both, m_asSeen;
  QComboBox* m_what;
  PathField* m_file;
  bool m_mayReplace = false;  // the person has been asked about the file that is named
};

}  // namespace edamori::pages
