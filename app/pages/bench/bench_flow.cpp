// SPDX-License-Identifier: GPL-3.0-or-later
// What happens on the Bench: opening, drawing outlines, measuring.
#include "app/look/theme.h"
#include "app/pages/bench/bench_parts_internal.h"

#include <QAction>
#include <QActionGroup>
#include <QLabel>
#include <QStyle>
#include <QTabWidget>
#include <algorithm>
#include <utility>

namespace edamori::pages {

namespace {

// A property is read when the style is set, so it is set anew.
void setTextRole(QLabel& label, const QString& role) {
  label.setProperty("textRole", role);
  label.style()->unpolish(&label);
  label.style()->polish(&label);
}

QString dateLine(const store::LocalTime& time) {
  if (!time.isKnown()) {
    return BenchPage::tr("no date");
  }
  const std::chrono::hh_mm_ss clock{time.timeOfDay};
  return QStringLiteral("%1 %2:%3")
      .arg(QString::fromStdString(store::dateText(time)),
           QString::number(clock.hours().count()).rightJustified(2, QLatin1Char('0')),
           QString::number(clock.minutes().count()).rightJustified(2, QLatin1Char('0')));
}

}  // namespace

void BenchPage::Parts::setSession(GardenSession* session) {
  if (session == desk.session()) {
    return;
  }
  m_run.cancel();
  m_loader.stop();
  m_drafts.clear();
  m_outline.cancel();
  desk.setSession(session);
}

Result<void> BenchPage::Parts::openPhoto(const store::PhotoId& photo) { return desk.open(photo); }

void BenchPage::Parts::showPhoto() {
  const auto photo = desk.hasPhoto() ? desk.photo().id : store::PhotoId{};
  if (photo != m_shown || photo.isEmpty()) {
    if (!m_shown.isEmpty() && desk.session() != nullptr) {
      m_drafts[m_shown] = m_outline.corners();
    }
    m_shown = photo;
    m_outline.cancel();
    m_patch.cancel();
    m_select.cancel();
    m_view->clear();
    m_shownMasks.clear();
    m_figures->clearReport();
    m_place->clear();
    m_loader.stop();
    if (!photo.isEmpty()) {
      m_outline.setCorners(m_drafts[photo]);
      m_view->setMessage(tr("Loading the photo …"));
      m_loader.start(desk.session()->garden().folder(), desk.photo());
    } else {
      m_view->setMessage(tr("No photo on the Bench. Choose one on the Tree page."));
    }
  }
  showHeader();
  updateActions();
}

void BenchPage::Parts::showHeader() {
  const bool hasPhoto = desk.hasPhoto();
  m_uncertain->setVisible(hasPhoto && desk.photo().dateSource == store::DateSource::FileTime);
  if (!hasPhoto) {
    m_title->setText(tr("Bench"));
    m_date->clear();
    m_zoom->clear();
    return;
  }
  const auto& photo = desk.photo();
  const QString name = QString::fromStdString(photo.originalName);
  m_title->setText(
      desk.tree() ? QStringLiteral("%1  ·  %2").arg(QString::fromStdString(desk.tree()->tag), name)
                  : tr("%1  ·  not filed under a tree").arg(name));
  m_date->setText(dateLine(photo.takenAt) +
                  (photo.dateSource == store::DateSource::Edited ? tr("  (edited)") : QString()));
  m_view->setAccessibleName(tr("Photo %1").arg(name));
}

void BenchPage::Parts::showPicture(const Picture& picture) {
  m_view->setMessage({});
  m_view->setPicture(picture);
  desk.setPhotoSize(picture.photoSize.width(), picture.photoSize.height());
}

void BenchPage::Parts::showFailure(const QString& message) { m_view->setMessage(message); }

void BenchPage::Parts::showTints() {
  std::vector<std::string> masks;
  for (const auto& outline : desk.outlines()) {
    std::string latest;
    for (const auto& measurement : desk.measurements()) {
      if (measurement.outline == outline.id && !measurement.labelMask.empty()) {
        latest = measurement.labelMask;
      }
    }
    if (!latest.empty()) {
      masks.push_back(std::move(latest));
    }
  }
  m_tint->setEnabled(!masks.empty());
  if (masks != m_shownMasks && desk.session() != nullptr) {
    m_shownMasks = masks;
    m_loader.startTints(desk.session()->garden().folder(), masks);
  }
}

void BenchPage::Parts::say(const QString& line) {
  setTextRole(*m_hint, QStringLiteral("quiet"));
  m_hint->setText(line);
}

void BenchPage::Parts::refuse(const QString& line) {
  setTextRole(*m_hint, QStringLiteral("bad"));
  m_hint->setText(line);
}

void BenchPage::Parts::useTool(Tool& tool) {
  m_view->setTool(&tool);
  say(tool.hint());
  if (desk.hasPhoto()) {
    m_view->setFocus(Qt::OtherFocusReason);
  }
}

void BenchPage::Parts::goTo(int step) {
  if (const auto photo = desk.neighbour(step)) {
    if (const auto result = desk.open(*photo); !result) {
      refuse(QString::fromStdString(result.error().message));
    }
  }
}

void BenchPage::Parts::askForBranch() {
  if (!desk.tree()) {
    refuse(tr("This photo is filed under no tree; file it first, then outline its branches."));
    m_outline.setCorners(m_outline.corners());
    return;
  }
  m_chooser->ask();
  say(tr("Choose the branch that you have outlined."));
  updateActions();
}

void BenchPage::Parts::leaveChooser() {
  if (!m_chooser->isVisibleTo(&m_page)) {
    return;
  }
  m_chooser->hide();
  say(m_view->tool()->hint());
  m_view->setFocus(Qt::OtherFocusReason);
  updateActions();
}

void BenchPage::Parts::measure(std::vector<const store::OutlineRecord*> outlines) {
  if (outlines.empty() || desk.session() == nullptr || m_run.isRunning()) {
    return;
  }
  std::vector<OutlineToMeasure> wanted;
  for (const auto* const outline : outlines) {
    wanted.push_back({.id = outline->id, .branchName = desk.branchName(outline->branch)});
  }
  m_measuredSession = desk.session();
  m_tabs->setCurrentWidget(m_figures);
  m_run.start(desk.session()->garden().folder(), std::move(wanted));
  updateActions();
}

void BenchPage::Parts::finishMeasuring(const MeasureReport& report) {
  m_figures->showReport(report);
  if (m_measuredSession != nullptr && m_measuredSession == desk.session()) {
    m_measuredSession->announceChange();
    if (report.measured > 0) {
      m_tint->setChecked(true);
    }
  }
  updateActions();
}

}  // namespace edamori::pages
