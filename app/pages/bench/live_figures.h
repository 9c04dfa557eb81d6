// SPDX-License-Identifier: GPL-3.0-or-later
// Figures of one outline that follow the hint brush, stroke by stroke; nothing is stored.
#pragma once

#include "app/pages/bench/photo_picture.h"
#include "app/work/measuring.h"

#include <QFutureWatcher>
#include <QImage>
#include <QObject>
#include <QString>
#include <memory>
#include <optional>
#include <vector>

namespace edamori::pages {

// What the strokes of the moment give. Either figures or why there are none.
struct LiveJudgement {
  store::OutlineId outline;
  std::optional<vision::MeasureResult> result;  // without its labels: they are in the tint
  QString refusal;
};

// Works in the global thread pool, one task at a time; of strokes that come meanwhile the latest
// are judged next. Lives in the GUI thread. Destroying it does not wait for the worker.
class LiveFigures : public QObject {
  Q_OBJECT

 public:
  using QObject::QObject;
  ~LiveFigures() override;

  // Reads the outline on the whole photo (RGB32) for what comes; judge() may be called at once.
  void follow(const QImage& photo, const work::MeasuringInputs& inputs);
  // Nothing before follow().
  void judge(std::vector<store::HintStroke> strokes);
  void stop();
  [[nodiscard]] bool isFollowing() const { return m_inputs.has_value(); }
  [[nodiscard]] bool isFollowing(const store::OutlineRecord& outline) const {
    return m_inputs && m_inputs->outline == outline;
  }
  // Whether what was asked last has been answered.
  [[nodiscard]] bool isIdle() const {
    return m_reader == nullptr && m_judge == nullptr && !m_next;
  }
  // Only while following.
  [[nodiscard]] const store::OutlineRecord& outline() const { return m_inputs->outline; }

 Q_SIGNALS:
  void judged(const edamori::pages::LiveJudgement& judgement);
  void tinted(const edamori::pages::Tint& tint);  // after judged()

 private:
  using Reading = Result<vision::OutlineReading>;
  // Figures first, then their tint.
  struct Answer {
    LiveJudgement judgement;
    Tint tint;
  };
  void start();
  void finish();

  std::optional<work::MeasuringInputs> m_inputs;
  QSize m_photoSize;
  std::shared_ptr<const Reading> m_reading;  // shared with the worker that judges by it
  std::optional<std::vector<store::HintStroke>> m_next;
  QFutureWatcher<std::shared_ptr<const Reading>>* m_reader = nullptr;
  QFutureWatcher<Answer>* m_judge = nullptr;
};

}  // namespace edamori::pages
