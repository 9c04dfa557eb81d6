// SPDX-License-Identifier: GPL-3.0-or-later
// Long work away from the GUI thread, with progress, cancelling, and an end that finds only the
// living.
#pragma once

#include "vision/values/result.h"

#include <QFutureWatcher>
#include <QObject>
#include <QPromise>
#include <QThreadPool>
#include <QtConcurrentRun>
#include <atomic>
#include <exception>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace edamori::pages {

// What the work sees, in its own thread.
class JobControl {
 public:
  using Report = std::function<void(int done, int total, const QString& doing)>;

  JobControl(std::shared_ptr<std::atomic<bool>> cancelled, Report report)
      : m_cancelled(std::move(cancelled)), m_report(std::move(report)) {}
  [[nodiscard]] bool isCancelled() const { return m_cancelled->load(); }
  void report(int done, int total, const QString& doing) const { m_report(done, total, doing); }

 private:
  std::shared_ptr<std::atomic<bool>> m_cancelled;
  Report m_report;
};

// The GUI side of one running piece of work. Deleted after finished().
class Job : public QObject {
  Q_OBJECT

 public:
  explicit Job(QObject* parent) : QObject(parent) {}
  // Asks the work to stop; it ends in its own time, and what it returns then still arrives.
  void cancel() { m_cancelled->store(true); }
  [[nodiscard]] std::shared_ptr<std::atomic<bool>> cancelFlag() const { return m_cancelled; }

 Q_SIGNALS:
  void progressed(int done, int total, const QString& doing);
  void finished();

 private:
  // Shared with the worker thread, which may end after this object.
  std::shared_ptr<std::atomic<bool>> m_cancelled = std::make_shared<std::atomic<bool>>(false);
};

// Owned by the window. Destroying it cancels what runs and waits for its end; no result arrives
// then.
class Jobs : public QObject {
  Q_OBJECT

 public:
  explicit Jobs(QObject* parent = nullptr) : QObject(parent) { m_pool.setMaxThreadCount(2); }
  ~Jobs() override {
    cancelAll();
    m_pool.waitForDone();
  }

  // Runs `work` in a thread; `done` is called in the GUI thread with what it returned, unless
  // `context` has been deleted by then. Work must open a Garden of its own. The Job is a child of
  // `context`.
  template <typename T>
  Job* start(QObject* context,
             std::function<Result<T>(const JobControl&)> work,
             std::function<void(Result<T>)> done);

  // Asks all to stop; does not wait.
  void cancelAll() {
    for (const auto& flag : m_flags) {
      if (const auto running = flag.lock()) {
        running->store(true);
      }
    }
  }
  [[nodiscard]] bool isIdle() const { return m_running == 0; }

 Q_SIGNALS:
  void runningChanged();

 private:
  void count(int change) {
    m_running += change;
    Q_EMIT runningChanged();
  }

  QThreadPool m_pool;
  std::vector<std::weak_ptr<std::atomic<bool>>> m_flags;
  int m_running = 0;
};

template <typename T>
Job* Jobs::start(QObject* context,
                 std::function<Result<T>(const JobControl&)> work,
                 std::function<void(Result<T>)> done) {
  auto* job = new Job(context);
  auto* watcher = new QFutureWatcher<Result<T>>(job);
  m_flags.push_back(job->cancelFlag());
  connect(
      watcher, &QFutureWatcherBase::progressTextChanged, job, [job, watcher](const QString& text) {
        Q_EMIT job->progressed(watcher->progressValue(), watcher->progressMaximum(), text);
      });
  connect(watcher, &QFutureWatcherBase::finished, job, [job, watcher, done = std::move(done)] {
    Result<T> result = watcher->future().takeResult();
    Q_EMIT job->finished();
    job->deleteLater();
    done(std::move(result));
  });
  connect(job, &QObject::destroyed, this, [this] { count(-1); });
  count(+1);
  watcher->setFuture(QtConcurrent::run(
      &m_pool, [flag = job->cancelFlag(), work = std::move(work)](QPromise<Result<T>>& promise) {
        const JobControl control(flag, [&promise](int at, int total, const QString& doing) {
          promise.setProgressRange(0, total);
          promise.setProgressValueAndText(at, doing);
        });
        try {
          promise.addResult(work(control));
        } catch (const std::exception& problem) {
          promise.addResult(Result<T>(
              fail(ErrorCode::NotMeasurable,
                   std::string("The work stopped early (") + problem.what() + "); try it again.")));
        }
      }));
  return job;
}

}  // namespace edamori::pages
