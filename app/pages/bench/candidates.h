// SPDX-License-Identifier: GPL-3.0-or-later
// Likely scale insects that the program offers on the photo, until a person accepts or rejects them.
#pragma once

#include "app/pages/bench/photo_desk.h"
#include "vision/insects/scale_insects.h"

#include <QFutureWatcher>
#include <QObject>
#include <filesystem>
#include <map>
#include <memory>
#include <vector>

namespace edamori::pages {

// The score from which offers are shown until a person moves the slider (docs/accuracy.md).
inline constexpr double kUsualLeastScore = 0.5;

// Lives in the GUI thread. What was found is kept for each photo while the program runs; what is
// offered follows from it and from the photo's records, so that undo brings an offer back.
class Candidates : public QObject {
  Q_OBJECT

 public:
  explicit Candidates(PhotoDesk& desk, QObject* parent = nullptr);

  void setFound(const store::PhotoId& photo, std::vector<vision::InsectCandidate> found);
  void forgetAll();
  // Whether the photo on the desk has been searched.
  [[nodiscard]] bool isSearched() const;

  // Neither marked nor rejected yet; best first.
  [[nodiscard]] const std::vector<vision::InsectCandidate>& offered() const { return m_offered; }
  // How many of them are shown: those with the least score or more, which come first.
  [[nodiscard]] int shownCount() const { return m_shownCount; }
  void setLeastScore(double score);
  [[nodiscard]] double leastScore() const { return m_leastScore; }

  // One of those shown, −1: none.
  [[nodiscard]] int chosen() const { return m_chosen; }
  void choose(int index);
  void chooseNext(int step);  // round the end
  // The nearest one shown whose centre is within `reachPx` or that covers the point; −1: none.
  [[nodiscard]] int at(PointPx point, double reachPx) const;

  // Each is one step to undo. The next offer is chosen then.
  void accept(int index);
  void reject(int index);
  void acceptAllShown();
  void rejectAllShown();

 Q_SIGNALS:
  void changed();        // what is offered or shown
  void choiceChanged();  // also after changed()

 private:
  void refresh();
  [[nodiscard]] std::vector<vision::InsectCandidate> shown() const;

  PhotoDesk& m_desk;
  std::map<store::PhotoId, std::vector<vision::InsectCandidate>> m_found;
  std::vector<vision::InsectCandidate> m_offered;
  double m_leastScore;
  int m_shownCount = 0;
  int m_chosen = -1;
};

// Looks for candidates in a worker thread with a Garden of its own. Lives in the GUI thread.
// Destroying it ends the search and waits for the tile in hand.
class CandidateRun : public QObject {
  Q_OBJECT

 public:
  using Found = Result<std::vector<vision::InsectCandidate>>;
  explicit CandidateRun(QObject* parent = nullptr);
  ~CandidateRun() override;

  void start(const std::filesystem::path& folder, const store::PhotoId& photo);
  void cancel();
  [[nodiscard]] bool isRunning() const;
  [[nodiscard]] const store::PhotoId& photo() const { return m_photo; }

 Q_SIGNALS:
  void progressed(int percent);
  // Cancelled when it was ended.
  void finished(const edamori::store::PhotoId& photo,
                const edamori::Result<std::vector<edamori::vision::InsectCandidate>>& found);

 private:
  void finish();

  store::PhotoId m_photo;
  QFutureWatcher<std::shared_ptr<Found>> m_watcher;
};

}  // namespace edamori::pages
