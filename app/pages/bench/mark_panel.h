// SPDX-License-Identifier: GPL-3.0-or-later
// What the next mark is, or what the chosen marks are: finding, stage, count, note.
#pragma once

#include "app/pages/bench/photo_desk.h"

#include <QWidget>
#include <array>

class QButtonGroup;
class QLabel;
class QLineEdit;
class QSpinBox;

namespace edamori::pages {

inline constexpr std::array kFindings{store::Finding::ScaleInsect,
                                      store::Finding::Aphids,
                                      store::Finding::NeedleBlight,
                                      store::Finding::LeafSpot,
                                      store::Finding::SprayScorch,
                                      store::Finding::Other};
inline constexpr std::array kStages{store::Stage::Live, store::Stage::Dead, store::Stage::Removed};

class MarkPanel : public QWidget {
  Q_OBJECT

 public:
  explicit MarkPanel(PhotoDesk& desk, QWidget* parent = nullptr);

 private:
  void createFindings();
  void createStages();
  void createFields();
  void showCounts();
  void showChoice();
  void storeNote();

  PhotoDesk& m_desk;
  QLabel* m_title = nullptr;
  QButtonGroup* m_findings = nullptr;
  std::array<QLabel*, kFindings.size()> m_counts{};
  QButtonGroup* m_stages = nullptr;
  QSpinBox* m_count = nullptr;
  QLineEdit* m_note = nullptr;
};

// "live", "dead", "removed" with a capital.
[[nodiscard]] QString stageName(store::Stage stage);

}  // namespace edamori::pages
