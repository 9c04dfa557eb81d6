// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/candidates.h"

#include "app/work/insect_offers.h"

#include <QPromise>
#include <QtConcurrent>
#include <algorithm>
#include <cmath>
#include <utility>

namespace edamori::pages {

Candidates::Candidates(PhotoDesk& desk, QObject* parent)
    : QObject(parent), m_desk(desk), m_leastScore(kUsualLeastScore) {
  connect(&m_desk, &PhotoDesk::photoChanged, this, [this] {
    m_chosen = -1;
    refresh();
  });
  connect(&m_desk, &PhotoDesk::recordsChanged, this, &Candidates::refresh);
}

void Candidates::setFound(const store::PhotoId& photo,
                          std::vector<vision::InsectCandidate> found) {
  m_found[photo] = std::move(found);
  m_chosen = -1;
  refresh();
}

void Candidates::forgetAll() {
  m_found.clear();
  m_chosen = -1;
  refresh();
}

bool Candidates::isSearched() const {
  return m_desk.hasPhoto() && m_found.contains(m_desk.photo().id);
}

void Candidates::refresh() {
  m_offered = isSearched() ? work::stillOffered(m_found.at(m_desk.photo().id),
                                                m_desk.marks(),
                                                m_desk.rejectedCandidates())
                           : std::vector<vision::InsectCandidate>{};
  const auto firstWeak = std::ranges::find_if(
      m_offered, [this](const auto& candidate) { return candidate.score < m_leastScore; });
  m_shownCount = static_cast<int>(firstWeak - m_offered.begin());
  m_chosen = std::min(m_chosen, m_shownCount - 1);
  Q_EMIT changed();
  Q_EMIT choiceChanged();
}

void Candidates::setLeastScore(double score) {
  m_leastScore = score;
  refresh();
}

void Candidates::choose(int index) {
  const int wanted = index >= 0 && index < m_shownCount ? index : -1;
  if (wanted != m_chosen) {
    m_chosen = wanted;
    Q_EMIT choiceChanged();
  }
}

void Candidates::chooseNext(int step) {
  if (m_shownCount > 0) {
    const int from = m_chosen < 0 && step < 0 ? 0 : m_chosen;
    choose((from + step + m_shownCount) % m_shownCount);
  }
}

int Candidates::at(PointPx point, double reachPx) const {
  int nearest = -1;
  double least = 0;
  for (int i = 0; i < m_shownCount; ++i) {
    const auto& candidate = m_offered[static_cast<std::size_t>(i)];
    const double away =
        std::hypot(candidate.centrePx.x - point.x, candidate.centrePx.y - point.y);
    if (away <= std::max(reachPx, candidate.radiusPx) && (nearest < 0 || away < least)) {
      nearest = i;
      least = away;
    }
  }
  return nearest;
}

std::vector<vision::InsectCandidate> Candidates::shown() const {
  return {m_offered.begin(), m_offered.begin() + m_shownCount};
}

void Candidates::accept(int index) {
  if (index >= 0 && index < m_shownCount) {
    m_chosen = index;
    m_desk.acceptCandidates({m_offered[static_cast<std::size_t>(index)]});
  }
}

void Candidates::reject(int index) {
  if (index >= 0 && index < m_shownCount) {
    m_chosen = index;
    m_desk.rejectCandidates({m_offered[static_cast<std::size_t>(index)]});
  }
}

void Candidates::acceptAllShown() { m_desk.acceptCandidates(shown()); }

void Candidates::rejectAllShown() { m_desk.rejectCandidates(shown()); }

// ---- Search

CandidateRun::CandidateRun(QObject* parent) : QObject(parent) {
  connect(&m_watcher, &QFutureWatcherBase::progressValueChanged, this, &CandidateRun::progressed);
  connect(&m_watcher, &QFutureWatcherBase::finished, this, &CandidateRun::finish);
}

CandidateRun::~CandidateRun() {
  m_watcher.disconnect(this);
  m_watcher.cancel();
  m_watcher.waitForFinished();
}

void CandidateRun::start(const std::filesystem::path& folder, const store::PhotoId& photo) {
  if (isRunning()) {
    return;
  }
  m_photo = photo;
  m_watcher.setFuture(
      QtConcurrent::run([folder, photo](QPromise<std::shared_ptr<Found>>& promise) {
        promise.setProgressRange(0, 100);
        const auto garden = store::Garden::open(folder);
        promise.addResult(std::make_shared<Found>(
            garden ? work::findInsects(*garden,
                                       photo,
                                       [&promise](double share) {
                                         promise.setProgressValue(static_cast<int>(100 * share));
                                         return !promise.isCanceled();
                                       })
                   : Found(garden.error())));
      }));
}

void CandidateRun::cancel() { m_watcher.cancel(); }

bool CandidateRun::isRunning() const { return m_watcher.isRunning(); }

void CandidateRun::finish() {
  // A cancelled future takes no result any more.
  const auto results = m_watcher.future().results();
  Q_EMIT finished(m_photo,
                  results.isEmpty() || m_watcher.isCanceled()
                      ? Found(fail(ErrorCode::Cancelled, "the search for scale insects was ended"))
                      : *results.front());
}

}  // namespace edamori::pages
