// SPDX-License-Identifier: GPL-3.0-or-later
// Offered scale insects on the Bench: the search, and a person's word on what it found.
#include "app/pages/bench/bench_parts_internal.h"

#include <QAction>
#include <QActionGroup>
#include <QMenu>
#include <QTabWidget>
#include <algorithm>

namespace edamori::pages {

void BenchPage::Parts::createOfferActions() {
  const auto add = [this](const char* name, const QString& text, const QString& tip, const QKeySequence& key, auto&& act) {
    auto* const action = addAction(QLatin1String(name), text, tip, {key});
    QObject::connect(action, &QAction::triggered, &m_page, act);
    return action;
  };
  m_accept = add("acceptOffer", tr("Accept offer"), tr("Mark the chosen offer as a live scale insect"), Qt::Key_E,
                 [this] { m_candidates.accept(m_candidates.chosen()); });
  m_reject = add("rejectOffer", tr("Reject offer"), tr("The chosen offer is no scale insect; it is not offered again"), Qt::Key_X,
                 [this] { m_candidates.reject(m_candidates.chosen()); });
  m_acceptAll = add("acceptAllOffers", tr("Accept all"), tr("Mark every offer that is shown as a live scale insect"),
                    QKeySequence(tr("Shift+E")), [this] { m_candidates.acceptAllShown(); });
  m_rejectAll = add("rejectAllOffers", tr("Reject all"), tr("None of the offers that are shown is a scale insect"),
                    QKeySequence(tr("Shift+X")), [this] { m_candidates.rejectAllShown(); });
  m_nextOffer = add("nextOffer", tr("Next offer"), tr("Go to the next offered scale insect"), Qt::Key_Period,
                    [this] { goToOffer(1); });
  m_previousOffer = add("previousOffer", tr("Previous offer"), tr("Go to the previous offered scale insect"), Qt::Key_Comma,
                        [this] { goToOffer(-1); });
}

void BenchPage::Parts::connectOffers() {
  QObject::connect(m_offerTool, &QAction::triggered, &m_page, [this] {
    m_tabs->setCurrentWidget(m_offers);
    if (!m_candidates.isSearched()) {
      lookForInsects();
    }
  });
  QObject::connect(m_candidateBar, &CandidateBar::lookWanted, &m_page, [this] { lookForInsects(); });
  QObject::connect(m_candidateBar, &CandidateBar::stopWanted, &m_page, [this] { m_candidateRun.cancel(); });
  QObject::connect(&m_candidateRun, &CandidateRun::progressed, m_candidateBar, [this](int percent) {
    if (m_candidateRun.isRunning()) {
      m_candidateBar->showProgress(percent);
    }
  });
  QObject::connect(&m_candidateRun, &CandidateRun::finished, &m_page,
                   [this](const store::PhotoId& photo, const CandidateRun::Found& found) { finishLooking(photo, found); });
  QObject::connect(&m_candidates, &Candidates::changed, &m_page, [this] { showOfferCount(); });
  QObject::connect(&m_candidates, &Candidates::choiceChanged, &m_page, [this] { updateOfferActions(); });
  QObject::connect(m_offers, &CandidatesPanel::showWanted, m_view, &PhotoView::reveal);
  // Another photo is not what is being searched.
  QObject::connect(&desk, &PhotoDesk::photoChanged, &m_page, [this] {
    if (m_candidateRun.isRunning() && m_candidateRun.photo() != m_page.currentPhoto()) {
      m_candidateRun.cancel();
    }
  });
  showOfferCount();
  updateOfferActions();
}

void BenchPage::Parts::lookForInsects() {
  if (!desk.hasPhoto() || desk.session() == nullptr || m_candidateRun.isRunning()) {
    return;
  }
  m_candidateSession = desk.session();
  m_candidateRun.start(desk.session()->garden().folder(), desk.photo().id);
  m_candidateBar->showProgress(0);
}

void BenchPage::Parts::finishLooking(const store::PhotoId& photo, const CandidateRun::Found& found) {
  if (found && m_candidateSession != nullptr && m_candidateSession == desk.session()) {
    m_candidates.setFound(photo, *found);
  }
  m_candidateBar->showIdle();
  if (!found && found.error().code != ErrorCode::Cancelled) {
    refuse(QString::fromStdString(found.error().message));
  } else if (found && m_page.currentPhoto() == photo) {
    const auto shown = m_candidates.shownCount();
    say(shown == 0 ? tr("No likely scale insect was found; look yourself, above all in forks and under branches.")
                   : m_view->tool()->hint());
  }
}

void BenchPage::Parts::goToOffer(int step) {
  if (m_view->tool() != &m_offer && m_candidates.shownCount() > 0) {
    m_offerTool->trigger();  // else it would not be seen
  }
  m_candidates.chooseNext(step);
  if (m_candidates.chosen() >= 0) {
    m_view->reveal(m_candidates.offered()[static_cast<std::size_t>(m_candidates.chosen())].centrePx);
  }
}

void BenchPage::Parts::showOfferCount() {
  const int place = m_tabs->indexOf(m_offers);
  m_tabs->setTabText(place, m_candidates.shownCount() == 0 ? tr("Offers") : tr("Offers (%1)").arg(m_candidates.shownCount()));
}

void BenchPage::Parts::updateOfferActions() {
  const bool isSeen = m_view->tool() == &m_offer;
  const bool hasShown = isSeen && m_candidates.shownCount() > 0;
  const bool hasChosen = isSeen && m_candidates.chosen() >= 0;
  m_accept->setEnabled(hasChosen);
  m_reject->setEnabled(hasChosen);
  m_acceptAll->setEnabled(hasShown);
  m_rejectAll->setEnabled(hasShown);
  m_nextOffer->setEnabled(m_candidates.shownCount() > 0);
  m_previousOffer->setEnabled(m_candidates.shownCount() > 0);
}

// What lies under the menu is what its words are about.
void BenchPage::Parts::addOfferActions(QMenu& menu, PointPx at) {
  if (m_view->tool() != &m_offer) {
    return;
  }
  if (const int under = m_offer.candidateAt(at); under >= 0) {
    m_candidates.choose(under);
  }
  if (m_candidates.chosen() >= 0) {
    menu.addAction(m_accept);
    menu.addAction(m_reject);
  }
  if (m_candidates.shownCount() > 0) {
    menu.addAction(m_acceptAll);
    menu.addAction(m_rejectAll);
    menu.addSeparator();
  }
}

}  // namespace edamori::pages
