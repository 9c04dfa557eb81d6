// SPDX-License-Identifier: GPL-3.0-or-later
// What happens on the Bench: opening, drawing outlines, measuring.
#include "app/look/theme.h"
#include "app/pages/bench/bench_parts_internal.h"
#include "app/pages/controls.h"

#include <QAction>
#include <QActionGroup>
#include <QLabel>
#include <QTabBar>
#include <QTabWidget>
#include <algorithm>
#include <utility>

namespace edamori::pages {

namespace {

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
  m_live.stop();
  m_toKeep.clear();
  m_run.cancel();
  m_candidateRun.cancel();
  m_candidates.forgetAll();
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
    leaveLive();
    m_outline.cancel();
    m_patch.cancel();
    m_select.cancel();
    m_hole.cancel();
    m_ruler.cancel();
    m_hintBrush.cancel();
    m_view->clear();
    m_shownMask.clear();
    m_figures->clearReport();
    m_place->clear();
    m_loader.stop();
    if (!photo.isEmpty()) {
      m_outline.setCorners(m_drafts[photo]);
      m_view->setMessage(tr("Loading the photo …"));
      m_loader.start(desk.session()->garden(), desk.photo());
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
  updateLive();
}

void BenchPage::Parts::showFailure(const QString& message) { m_view->setMessage(message); }

void BenchPage::Parts::showTints() {
  if (m_live.isFollowing()) {
    return;  // the tint of the strokes is shown
  }
  // Of the chosen outline alone: where outlines overlap, their masks would mix.
  std::string latest;
  const auto* const outline = desk.hasPhoto() ? desk.outlineOf(desk.chosenBranch()) : nullptr;
  for (const auto& measurement : desk.measurements()) {
    if (outline != nullptr && measurement.outline == outline->id &&
        !measurement.labelMask.empty()) {
      latest = measurement.labelMask;
    }
  }
  m_tint->setEnabled(!latest.empty());
  if (latest != m_shownMask && desk.session() != nullptr) {
    m_shownMask = latest;
    m_view->setTints({});
    m_loader.startTints(
        desk.session()->garden().folder(),
        latest.empty() ? std::vector<std::string>{} : std::vector<std::string>{latest});
  }
}

void BenchPage::Parts::say(const QString& line) {
  setTextRole(m_hint, QStringLiteral("quiet"));
  m_hint->setText(line);
}

void BenchPage::Parts::refuse(const QString& line) {
  setTextRole(m_hint, QStringLiteral("bad"));
  m_hint->setText(line);
}

void BenchPage::Parts::useTool(Tool& tool) {
  if (&tool != &m_ruler) {
    m_ruler.cancel();
  }
  m_view->setTool(&tool);
  m_hintBar->setVisible(&tool == &m_hintBrush);
  m_candidateBar->setVisible(&tool == &m_offer);
  updateOfferActions();
  say(tool.hint());
  if (&tool == &m_dot || &tool == &m_patch) {
    m_tabs->setCurrentWidget(m_markPage);  // what is set next
  } else if (&tool == &m_hintBrush) {
    m_tabs->setCurrentWidget(m_figures);  // what the strokes change
  }
  updateLive();
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

// Tools, photo, branches, figures or marks, and round again.
void BenchPage::Parts::cyclePanes(int step) {
  auto* const branches = m_branchPanel->findChild<QWidget*>(QStringLiteral("branches"));
  auto* const tools = m_page.findChild<QWidget*>(m_tools->checkedAction()->objectName() +
                                                 QStringLiteral("Button"));
  focusNextPane({{m_page.findChild<QWidget*>(QStringLiteral("toolColumn")), tools},
                 {m_view, m_view},
                 {m_branchPanel, branches},
                 {m_tabs, m_tabs->tabBar()}},
                step);
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
  m_tabs->setCurrentWidget(m_figures);
  startMeasuring(std::move(wanted));
}

void BenchPage::Parts::startMeasuring(std::vector<OutlineToMeasure> outlines) {
  m_measuredSession = desk.session();
  m_measuredPhoto = desk.hasPhoto() ? desk.photo().id : store::PhotoId{};
  m_run.start(desk.session()->garden().folder(), std::move(outlines));
  updateActions();
}

void BenchPage::Parts::finishMeasuring(const MeasureReport& report) {
  if (m_measuredSession != nullptr && m_measuredSession == desk.session()) {
    m_measuredSession->announceChange();
    if (report.measured > 0) {
      m_tint->setChecked(true);
    }
  }
  // After the records, which take an older report away; another photo is none of its business.
  const bool isShown = desk.hasPhoto() && desk.photo().id == m_measuredPhoto;
  m_figures->showReport(isShown ? report : MeasureReport{}, std::exchange(m_leftOut, 0));
  updateActions();
  keepNext();
}

}  // namespace edamori::pages
