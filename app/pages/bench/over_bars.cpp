// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/over_bars.h"

#include "app/look/theme.h"

#include <QButtonGroup>
#include <QCheckBox>
#include <QDoubleSpinBox>
#include <QKeyEvent>
#include <QLabel>
#include <QPushButton>
#include <QRadioButton>
#include <QSlider>
#include <QSpinBox>
#include <array>

namespace edamori::pages {

namespace {

constexpr std::array kHintKinds{
    store::HintKind::Foliage, store::HintKind::NotFoliage, store::HintKind::Spot};
constexpr double kGreatestLengthMm = 100'000;

QString hintName(store::HintKind kind) {
  switch (kind) {
    case store::HintKind::Foliage:
      return HintBar::tr("&Foliage");
    case store::HintKind::NotFoliage:
      return HintBar::tr("N&ot foliage");
    case store::HintKind::Spot:
      break;
  }
  return HintBar::tr("S&pot");
}

}  // namespace

OverBar::OverBar(const QString& objectName, const QString& accessibleName, QWidget* parent)
    : QFrame(parent) {
  setObjectName(objectName);
  setAccessibleName(accessibleName);
  setProperty("role", QStringLiteral("raised"));
  setAttribute(Qt::WA_NoMousePropagation);
  setCursor(Qt::ArrowCursor);
  m_row = new WrapLayout(this);
  m_row->setSpacing(look::kGrid);
  hide();
}

RulerBar::RulerBar(QWidget* parent) : OverBar(QStringLiteral("rulerBar"), tr("Ruler"), parent) {
  auto* const question = new QLabel(tr("&Length between the two points"), this);
  m_length = new QDoubleSpinBox(this);
  m_length->setObjectName(QStringLiteral("rulerLength"));
  m_length->setAccessibleName(tr("Length between the two points"));
  m_length->setRange(0.1, kGreatestLengthMm);
  m_length->setDecimals(1);
  m_length->setValue(100);
  m_length->setSuffix(tr(" mm"));
  question->setBuddy(m_length);
  auto* const keep = new QPushButton(tr("Keep ruler"), this);
  keep->setObjectName(QStringLiteral("keepRuler"));
  keep->setProperty("role", QStringLiteral("primary"));
  keep->setToolTip(tr("Set the scale of this photo (Enter)"));
  auto* const drop = new QPushButton(tr("Drop"), this);
  drop->setObjectName(QStringLiteral("dropRuler"));
  drop->setToolTip(tr("Drop the ruler (Esc)"));
  keep->setAutoDefault(true);
  drop->setAutoDefault(true);
  row().addPair(question, m_length);
  row().addWidget(keep);
  row().addWidget(drop);
  connect(keep, &QPushButton::clicked, this, [this] {
    m_length->interpretText();
    Q_EMIT lengthGiven(m_length->value());
  });
  connect(drop, &QPushButton::clicked, this, &RulerBar::dismissed);
}

void RulerBar::ask() {
  show();
  m_length->setFocus(Qt::OtherFocusReason);
  m_length->selectAll();
}

void RulerBar::keyPressEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter) {
    m_length->interpretText();
    Q_EMIT lengthGiven(m_length->value());
  } else if (event->key() == Qt::Key_Escape) {
    Q_EMIT dismissed();
  } else {
    QFrame::keyPressEvent(event);
  }
}

HintBar::HintBar(QWidget* parent) : OverBar(QStringLiteral("hintBar"), tr("Hint brush"), parent) {
  m_kinds = new QButtonGroup(this);
  for (std::size_t i = 0; i < kHintKinds.size(); ++i) {
    auto* const button = new QRadioButton(hintName(kHintKinds[i]), this);
    button->setObjectName(QStringLiteral("hintKind%1").arg(i));
    m_kinds->addButton(button, static_cast<int>(i));
    row().addWidget(button);
  }
  m_kinds->button(0)->setChecked(true);
  auto* const label = new QLabel(tr("&Width"), this);
  m_width = new QSpinBox(this);
  m_width->setObjectName(QStringLiteral("hintWidth"));
  m_width->setAccessibleName(tr("Width of the brush on the screen"));
  m_width->setRange(2, 200);
  m_width->setValue(24);
  m_width->setSuffix(tr(" px"));
  label->setBuddy(m_width);
  m_pressure = new QCheckBox(tr("Pen pressure"), this);
  m_pressure->setObjectName(QStringLiteral("hintPressure"));
  m_pressure->setToolTip(tr("A light pen paints a narrow stroke"));
  m_pressure->setChecked(true);
  auto* const clear = new QPushButton(tr("Remove all hints"), this);
  clear->setObjectName(QStringLiteral("removeHints"));
  clear->setToolTip(tr("Remove every hint of this photo; undo brings them back"));
  row().addPair(label, m_width);
  row().addWidget(m_pressure);
  row().addWidget(clear);
  connect(m_kinds, &QButtonGroup::idClicked, this, [this](int id) {
    Q_EMIT kindChosen(kHintKinds[static_cast<std::size_t>(id)]);
  });
  connect(m_width, &QSpinBox::valueChanged, this, &HintBar::widthChosen);
  connect(m_pressure, &QCheckBox::toggled, this, &HintBar::pressureUsed);
  connect(clear, &QPushButton::clicked, this, &HintBar::removeAllWanted);
}

void HintBar::choose(store::HintKind kind) {
  for (std::size_t i = 0; i < kHintKinds.size(); ++i) {
    if (kHintKinds[i] == kind) {
      m_kinds->button(static_cast<int>(i))->setChecked(true);
    }
  }
  Q_EMIT kindChosen(kind);
}

LightBar::LightBar(QWidget* parent)
    : OverBar(QStringLiteral("lightBar"), tr("Light and overlay"), parent) {
  auto* const lift = addSlider(QStringLiteral("lift"), tr("Lift &dark parts"), 0, 100, 0);
  auto* const contrast = addSlider(QStringLiteral("contrast"), tr("&Contrast"), -100, 100, 0);
  auto* const overlay = addSlider(QStringLiteral("overlay"), tr("&Overlay"), 10, 100, 100);
  auto* const contour = new QCheckBox(tr("Found areas as co&ntours"), this);
  contour->setObjectName(QStringLiteral("contour"));
  auto* const plain = new QPushButton(tr("Reset"), this);
  plain->setObjectName(QStringLiteral("resetLight"));
  plain->setToolTip(tr("Show the photo as it is"));
  row().addWidget(contour);
  row().addWidget(plain);
  connect(lift, &QSlider::valueChanged, this, &LightBar::liftChanged);
  connect(contrast, &QSlider::valueChanged, this, &LightBar::contrastChanged);
  connect(overlay, &QSlider::valueChanged, this, &LightBar::overlayChanged);
  connect(contour, &QCheckBox::toggled, this, &LightBar::contourChanged);
  connect(plain, &QPushButton::clicked, this, [lift, contrast, overlay, contour] {
    lift->setValue(0);
    contrast->setValue(0);
    overlay->setValue(100);
    contour->setChecked(false);
  });
}

QSlider* LightBar::addSlider(
    const QString& name, const QString& text, int least, int most, int value) {
  auto* const label = new QLabel(text, this);
  auto* const slider = new QSlider(Qt::Horizontal, this);
  slider->setObjectName(name);
  slider->setAccessibleName(QString(text).remove(QLatin1Char('&')));
  slider->setToolTip(tr("For the eye alone: figures and records stay as they are"));
  slider->setRange(least, most);
  slider->setValue(value);
  slider->setMinimumWidth(72);
  label->setBuddy(slider);
  row().addPair(label, slider);
  return slider;
}

}  // namespace edamori::pages
