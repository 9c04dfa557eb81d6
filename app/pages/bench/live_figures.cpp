// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/live_figures.h"

#include "app/work/hint_image.h"

#include <QPromise>
#include <QtConcurrent>
#include <cstring>
#include <utility>

namespace edamori::pages {

namespace {

RgbImage toRgbImage(const QImage& photo) {
  const QImage rgb = photo.convertToFormat(QImage::Format_RGB888);
  RgbImage image(rgb.width(), rgb.height());
  for (int y = 0; y < rgb.height(); ++y) {
    std::memcpy(image.row(y), rgb.constScanLine(y), image.bytesPerRow());
  }
  return image;
}

// Nobody listens to it any more; it ends in its own time.
template <typename Watcher>
void leave(Watcher*& watcher, const QObject* listener) {
  if (watcher != nullptr) {
    watcher->disconnect(listener);
    watcher->deleteLater();
    watcher = nullptr;
  }
}

}  // namespace

LiveFigures::~LiveFigures() { stop(); }

void LiveFigures::follow(const QImage& photo, const work::MeasuringInputs& inputs) {
  stop();
  m_inputs = inputs;
  m_photoSize = photo.size();
  m_reader = new QFutureWatcher<std::shared_ptr<const Reading>>(this);
  connect(m_reader, &QFutureWatcherBase::finished, this, [this] {
    m_reading = m_reader->result();
    leave(m_reader, this);
    start();
  });
  m_reader->setFuture(QtConcurrent::run([photo, shape = inputs.outline.shape] {
    return std::make_shared<const Reading>(vision::OutlineReading::create(toRgbImage(photo), shape));
  }));
}

void LiveFigures::judge(std::vector<store::HintStroke> strokes) {
  if (m_inputs) {
    m_next = std::move(strokes);
    start();
  }
}

void LiveFigures::stop() {
  leave(m_reader, this);
  leave(m_judge, this);
  m_inputs.reset();
  m_reading.reset();
  m_next.reset();
}

void LiveFigures::start() {
  if (m_reading == nullptr || m_judge != nullptr || !m_next) {
    return;
  }
  m_judge = new QFutureWatcher<Answer>(this);
  connect(m_judge, &QFutureWatcherBase::resultReadyAt, this, [this](int index) {
    const Answer answer = m_judge->future().resultAt(index);
    if (index == 0) {
      Q_EMIT judged(answer.judgement);
    } else {
      Q_EMIT tinted(answer.tint);
    }
  });
  connect(m_judge, &QFutureWatcherBase::finished, this, &LiveFigures::finish);
  const auto work = [reading = m_reading, inputs = *m_inputs, size = m_photoSize,
                     strokes = *std::exchange(m_next, std::nullopt)](QPromise<Answer>& promise) {
    Answer answer{.judgement = {.outline = inputs.outline.id, .result = {}, .refusal = {}}, .tint = {}};
    const auto hints = work::hintImage(strokes, size.width(), size.height());
    auto result = !*reading ? Result<vision::MeasureResult>(reading->error())
                            : (*reading)->judged({.subject = inputs.place.subject,
                                                  .hints = hints ? &*hints : nullptr,
                                                  .learned = inputs.prior.weights});
    LabelImage labels;
    if (result) {
      labels = std::exchange(result->labels, {});
      answer.judgement.result = std::move(*result);
    } else {
      answer.judgement.refusal = QString::fromStdString(result.error().message);
    }
    promise.addResult(answer);
    answer.tint = labels.isEmpty() ? Tint{} : tintOf(labels);
    promise.addResult(std::move(answer));
  };
  m_judge->setFuture(QtConcurrent::run(work));
}

void LiveFigures::finish() {
  leave(m_judge, this);
  start();
}

}  // namespace edamori::pages
