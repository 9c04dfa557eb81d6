// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/measure_run.h"

#include "app/work/measuring.h"

#include <QPromise>
#include <QtConcurrent>
#include <utility>

namespace edamori::pages {

namespace {

void measureAll(QPromise<QString>& promise,
                const std::filesystem::path& folder,
                const std::vector<OutlineToMeasure>& outlines) {
  auto garden = store::Garden::open(folder);
  if (!garden) {
    promise.addResult(QString::fromStdString(garden.error().message));
    return;
  }
  promise.setProgressRange(0, static_cast<int>(outlines.size()));
  int done = 0;
  for (const auto& outline : outlines) {
    if (promise.isCanceled()) {
      return;
    }
    const auto result = work::measureOutline(*garden, outline.id);
    promise.addResult(
        result ? QString()
               : QStringLiteral("%1: %2").arg(outline.branchName,
                                              QString::fromStdString(result.error().message)));
    promise.setProgressValue(++done);
  }
}

}  // namespace

MeasureRun::MeasureRun(QObject* parent) : QObject(parent) {
  connect(&m_watcher, &QFutureWatcherBase::progressValueChanged, this, [this](int done) {
    const auto total = static_cast<int>(m_outlines.size());
    const auto next = static_cast<std::size_t>(done);
    Q_EMIT progressed(
        done, total, next < m_outlines.size() ? m_outlines[next].branchName : QString());
  });
  connect(&m_watcher, &QFutureWatcherBase::finished, this, &MeasureRun::finish);
}

MeasureRun::~MeasureRun() {
  m_watcher.disconnect(this);
  m_watcher.cancel();
  m_watcher.waitForFinished();
}

void MeasureRun::start(const std::filesystem::path& folder,
                       std::vector<OutlineToMeasure> outlines) {
  if (isRunning() || outlines.empty()) {
    return;
  }
  m_outlines = std::move(outlines);
  Q_EMIT progressed(0, static_cast<int>(m_outlines.size()), m_outlines.front().branchName);
  m_watcher.setFuture(QtConcurrent::run(measureAll, folder, m_outlines));
}

void MeasureRun::cancel() { m_watcher.cancel(); }

bool MeasureRun::isRunning() const { return m_watcher.isRunning(); }

void MeasureRun::finish() {
  MeasureReport report{.measured = 0, .refusals = {}, .isCancelled = m_watcher.isCanceled()};
  const auto results = m_watcher.future().results();
  for (const QString& line : results) {
    if (line.isEmpty()) {
      ++report.measured;
    } else {
      report.refusals << line;
    }
  }
  Q_EMIT finished(report);
}

}  // namespace edamori::pages
