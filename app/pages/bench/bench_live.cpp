// SPDX-License-Identifier: GPL-3.0-or-later
// Figures on the Bench that follow the hint brush.
#include "app/pages/bench/bench_parts_internal.h"

#include <QAction>
#include <utility>

namespace edamori::pages {

void BenchPage::Parts::connectLive() {
  QObject::connect(&m_hintBrush, &HintTool::strokeChanged, &m_page, [this] { updateLive(); });
  QObject::connect(&m_live, &LiveFigures::judged, &m_page, [this](const LiveJudgement& judgement) {
    m_figures->showLive(judgement);
  });
  QObject::connect(&m_live, &LiveFigures::tinted, &m_page, [this](const Tint& tint) {
    m_view->setTints(tint.image.isNull() ? std::vector<Tint>{} : std::vector<Tint>{tint});
  });
}

// Called whenever the tool, the choice, the strokes or the picture may have changed.
void BenchPage::Parts::updateLive() {
  const bool isBrush = m_view->tool() == &m_hintBrush && desk.hasPhoto();
  const auto stroke = isBrush ? m_hintBrush.strokeInHand() : std::nullopt;
  if (stroke && desk.outlineOf(desk.chosenBranch()) == nullptr) {
    // Painting within an outline says well enough which branch is meant.
    if (const auto branch = desk.branchAt(stroke->points.front()); !branch.isEmpty()) {
      desk.chooseBranch(branch);  // comes back here
      return;
    }
  }
  const auto* const outline = isBrush ? desk.outlineOf(desk.chosenBranch()) : nullptr;
  if (outline == nullptr || m_view->wholePicture().isNull()) {
    leaveLive();
    return;
  }
  if (!m_live.isFollowing(*outline)) {
    followOutline(*outline);
  }
  m_hintsNow = desk.hints();
  auto strokes = m_hintsNow;
  if (stroke) {
    strokes.push_back(*stroke);
  }
  if (m_live.isFollowing() && strokes != m_judged) {
    m_judged = strokes;
    m_live.judge(std::move(strokes));
  }
}

void BenchPage::Parts::followOutline(const store::OutlineRecord& outline) {
  leaveLive();
  const auto inputs = work::measuringInputs(desk.session()->garden(), outline.id);
  if (!inputs) {
    m_figures->showLive({.outline = outline.id,
                         .result = {},
                         .refusal = QString::fromStdString(inputs.error().message)});
    return;
  }
  m_hintsBefore = desk.hints();
  m_judged = m_hintsBefore;
  m_live.follow(m_view->wholePicture(), *inputs);
  m_live.judge(m_judged);
  m_figures->startLive(outline.id);
  m_tint->setEnabled(true);
  m_tint->setChecked(true);
}

void BenchPage::Parts::leaveLive() {
  if (!m_live.isFollowing()) {
    m_figures->endLive();
    return;
  }
  const auto outline = m_live.outline();
  m_live.stop();
  m_figures->endLive();
  if (m_hintsNow != m_hintsBefore) {
    m_toKeep.push_back({.id = outline.id, .branchName = desk.branchName(outline.branch)});
  }
  m_shownMask.clear();
  m_view->setTints({});
  if (desk.hasPhoto()) {
    showTints();
  }
  keepNext();
}

void BenchPage::Parts::keepNext() {
  if (!m_toKeep.empty() && desk.session() != nullptr && !m_run.isRunning()) {
    startMeasuring(std::exchange(m_toKeep, {}));
  }
}

}  // namespace edamori::pages
