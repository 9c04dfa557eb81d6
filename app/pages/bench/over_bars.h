// SPDX-License-Identifier: GPL-3.0-or-later
// Bars that lie over the photo while a tool needs an answer or has settings.
#pragma once

#include "app/pages/wrap_layout.h"
#include "store/records/records.h"

#include <QFrame>

class QButtonGroup;
class QCheckBox;
class QDoubleSpinBox;
class QPushButton;
class QSlider;
class QSpinBox;

namespace edamori::pages {

// A bar whose clicks the photo does not see.
class OverBar : public QFrame {
  Q_OBJECT

 public:
  OverBar(const QString& objectName, const QString& accessibleName, QWidget* parent);

 protected:
  [[nodiscard]] WrapLayout& row() { return *m_row; }

 private:
  WrapLayout* m_row;
};

// Asks for the known length of a ruler.
class RulerBar : public OverBar {
  Q_OBJECT

 public:
  explicit RulerBar(QWidget* parent = nullptr);
  void ask();  // shows itself and takes the focus; the length last given is suggested

 Q_SIGNALS:
  void lengthGiven(double mm);
  void dismissed();

 protected:
  void keyPressEvent(QKeyEvent* event) override;

 private:
  QDoubleSpinBox* m_length = nullptr;
};

// What the hint brush paints, and how wide.
class HintBar : public OverBar {
  Q_OBJECT

 public:
  explicit HintBar(QWidget* parent = nullptr);
  void choose(edamori::store::HintKind kind);

 Q_SIGNALS:
  void kindChosen(edamori::store::HintKind kind);
  void widthChosen(int viewPx);
  void pressureUsed(bool isUsed);
  void removeAllWanted();

 private:
  QButtonGroup* m_kinds = nullptr;
  QSpinBox* m_width = nullptr;
  QCheckBox* m_pressure = nullptr;
};

// How the photo and what lies over it are shown. Changes nothing that is stored.
class LightBar : public OverBar {
  Q_OBJECT

 public:
  explicit LightBar(QWidget* parent = nullptr);

 Q_SIGNALS:
  void liftChanged(int percent);
  void contrastChanged(int percent);
  void overlayChanged(int percent);
  void contourChanged(bool isContour);

 private:
  QSlider* addSlider(const QString& name, const QString& text, int least, int most, int value);
};

}  // namespace edamori::pages
