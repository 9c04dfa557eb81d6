// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/mark_panel.h"

#include "app/look/theme.h"
#include "app/work/mark_counts.h"

#include <QButtonGroup>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QRadioButton>
#include <QSignalBlocker>
#include <QSpinBox>
#include <QToolButton>
#include <QVBoxLayout>
#include <algorithm>
#include <optional>

namespace edamori::pages {

namespace {

constexpr int kGreatestCount = 9999;

// The value that all chosen marks share, or nothing.
template <typename Value>
std::optional<Value> sharedValue(const PhotoDesk& desk, Value store::Mark::* field) {
  std::optional<Value> value;
  for (const auto& id : desk.chosenMarks()) {
    const auto* const mark = desk.findMark(id);
    if (mark == nullptr) {
      continue;
    }
    if (value && *value != mark->*field) {
      return std::nullopt;
    }
    value = mark->*field;
  }
  return value;
}

// Checks the button of `id`, or none: an exclusive group has to be opened for that.
void check(QButtonGroup& group, int id) {
  if (auto* const button = group.button(id)) {
    button->setChecked(true);
    return;
  }
  group.setExclusive(false);
  for (auto* const button : group.buttons()) {
    button->setChecked(false);
  }
  group.setExclusive(true);
}

QString countText(int live, int dead, int removed, int patches) {
  QStringList parts;
  if (patches > 0) {
    parts << (patches == 1 ? MarkPanel::tr("1 patch") : MarkPanel::tr("%1 patches").arg(patches));
  }
  if (live > 0) {
    parts << MarkPanel::tr("%1 live").arg(live);
  }
  if (dead > 0) {
    parts << MarkPanel::tr("%1 dead").arg(dead);
  }
  if (removed > 0) {
    parts << MarkPanel::tr("%1 removed").arg(removed);
  }
  return parts.isEmpty() ? QStringLiteral("–") : parts.join(QStringLiteral(", "));
}

}  // namespace

QString stageName(store::Stage stage) {
  switch (stage) {
    case store::Stage::Live:
      return MarkPanel::tr("Live");
    case store::Stage::Dead:
      return MarkPanel::tr("Dead");
    case store::Stage::Removed:
      return MarkPanel::tr("Removed");
  }
  return {};
}

MarkPanel::MarkPanel(PhotoDesk& desk, QWidget* parent) : QWidget(parent), m_desk(desk) {
  auto* const layout = new QVBoxLayout(this);
  layout->setContentsMargins(0, 0, 0, 0);
  layout->setSpacing(look::kGrid / 2);
  m_title = new QLabel(this);
  m_title->setObjectName(QStringLiteral("markTitle"));
  m_title->setFont(look::screenFont(look::TextSize::Body));
  layout->addWidget(m_title);
  setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Fixed);
  createFindings();
  createStages();
  createFields();
  connect(&m_desk, &PhotoDesk::recordsChanged, this, &MarkPanel::showCounts);
  connect(&m_desk, &PhotoDesk::choiceChanged, this, &MarkPanel::showChoice);
  showCounts();
  showChoice();
}

void MarkPanel::createFindings() {
  auto* const grid = new QGridLayout;
  grid->setSpacing(0);
  grid->setColumnStretch(1, 1);
  m_findings = new QButtonGroup(this);
  for (std::size_t i = 0; i < kFindings.size(); ++i) {
    const int row = static_cast<int>(i);
    const QString name = look::findingName(kFindings[i]);
    auto* const button = new QToolButton(this);
    button->setObjectName(QStringLiteral("finding%1").arg(row + 1));
    button->setCheckable(true);
    button->setIcon(look::findingIcon(kFindings[i]));
    button->setText(QStringLiteral("%1  %2").arg(row + 1).arg(name));
    button->setToolButtonStyle(Qt::ToolButtonTextBesideIcon);
    button->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
    button->setFocusPolicy(Qt::StrongFocus);
    button->setAccessibleName(name);
    button->setToolTip(tr("%1: finding of the next or chosen marks (%2)").arg(name).arg(row + 1));
    m_counts[i] = new QLabel(this);
    m_counts[i]->setProperty("textRole", QStringLiteral("quiet"));
    m_counts[i]->setAccessibleName(tr("Count of %1").arg(name));
    m_findings->addButton(button, row);
    grid->addWidget(button, row, 0);
    grid->addWidget(m_counts[i], row, 1, Qt::AlignRight | Qt::AlignVCenter);
  }
  connect(m_findings, &QButtonGroup::idClicked, this, [this](int id) {
    m_desk.setFinding(kFindings[static_cast<std::size_t>(id)]);
  });
  static_cast<QVBoxLayout*>(layout())->addLayout(grid);
}

void MarkPanel::createStages() {
  auto* const row = new QHBoxLayout;
  row->setSpacing(2 * look::kGrid);
  m_stages = new QButtonGroup(this);
  for (std::size_t i = 0; i < kStages.size(); ++i) {
    auto* const button = new QRadioButton(stageName(kStages[i]), this);
    button->setObjectName(QStringLiteral("stage%1").arg(i));
    button->setToolTip(
        tr("%1: stage of the next or chosen marks (%2)").arg(button->text()).arg(i + 7));
    m_stages->addButton(button, static_cast<int>(i));
    row->addWidget(button);
  }
  row->addStretch();
  connect(m_stages, &QButtonGroup::idClicked, this, [this](int id) {
    m_desk.setStage(kStages[static_cast<std::size_t>(id)]);
  });
  static_cast<QVBoxLayout*>(layout())->addLayout(row);
}

void MarkPanel::createFields() {
  auto* const grid = new QGridLayout;
  grid->setColumnStretch(3, 1);
  m_count = new QSpinBox(this);
  m_count->setObjectName(QStringLiteral("count"));
  // The lowest value stands for "differs" while marks of several counts are chosen.
  m_count->setRange(0, kGreatestCount);
  m_count->setKeyboardTracking(false);
  m_count->setToolTip(tr("How many insects or lesions the mark stands for"));
  m_count->setAccessibleName(tr("Count"));
  auto* const countLabel = new QLabel(tr("&Count"), this);
  countLabel->setBuddy(m_count);
  m_note = new QLineEdit(this);
  m_note->setObjectName(QStringLiteral("note"));
  m_note->setAccessibleName(tr("Note of the chosen marks"));
  m_note->setToolTip(tr("A note of your own on the chosen marks; Enter stores it"));
  auto* const noteLabel = new QLabel(tr("&Note"), this);
  noteLabel->setBuddy(m_note);
  grid->addWidget(countLabel, 0, 0);
  grid->addWidget(m_count, 0, 1);
  grid->addWidget(noteLabel, 0, 2);
  grid->addWidget(m_note, 0, 3);
  connect(m_count, &QSpinBox::valueChanged, &m_desk, &PhotoDesk::setCount);
  connect(m_note, &QLineEdit::editingFinished, this, &MarkPanel::storeNote);
  static_cast<QVBoxLayout*>(layout())->addLayout(grid);
}

void MarkPanel::storeNote() {
  if (m_note->isModified()) {
    m_note->setModified(false);
    m_desk.setNote(m_note->text());
  }
}

void MarkPanel::showCounts() {
  for (std::size_t i = 0; i < kFindings.size(); ++i) {
    int sums[kStages.size()] = {};
    int patches = 0;
    for (const auto& mark : m_desk.marks()) {
      // A patch of blight is no number of insects that live: it is named as a patch.
      if (mark.finding == kFindings[i] && work::isPlainPatch(mark)) {
        ++patches;
      } else if (mark.finding == kFindings[i]) {
        sums[static_cast<std::size_t>(std::ranges::find(kStages, mark.stage) - kStages.begin())] +=
            mark.count;
      }
    }
    m_counts[i]->setText(countText(sums[0], sums[1], sums[2], patches));
  }
}

void MarkPanel::showChoice() {
  const QSignalBlocker quietCount(m_count);
  const auto chosen = m_desk.chosenMarks().size();
  const bool hasChosen = chosen > 0;
  m_title->setText(!hasChosen    ? tr("<b>Next mark</b>")
                   : chosen == 1 ? tr("<b>Chosen mark</b>")
                                 : tr("<b>%1 chosen marks</b>").arg(chosen));
  const auto finding = hasChosen ? sharedValue(m_desk, &store::Mark::finding)
                                 : std::optional(m_desk.nextMark().finding);
  const auto stage =
      hasChosen ? sharedValue(m_desk, &store::Mark::stage) : std::optional(m_desk.nextMark().stage);
  const auto count =
      hasChosen ? sharedValue(m_desk, &store::Mark::count) : std::optional(m_desk.nextMark().count);
  check(
      *m_findings,
      finding ? static_cast<int>(std::ranges::find(kFindings, *finding) - kFindings.begin()) : -1);
  check(*m_stages,
        stage ? static_cast<int>(std::ranges::find(kStages, *stage) - kStages.begin()) : -1);
  m_count->setSpecialValueText({});
  m_count->setValue(count.value_or(0));
  if (!count) {
    m_count->setSpecialValueText(tr("differs"));
  }
  if (!m_note->isModified() || !hasChosen) {
    const auto note = sharedValue(m_desk, &store::Mark::note);
    m_note->setText(QString::fromStdString(note.value_or(std::string())));
  }
  m_note->setEnabled(hasChosen);
  m_note->setPlaceholderText(hasChosen ? QString() : tr("of a chosen mark"));
}

}  // namespace edamori::pages
