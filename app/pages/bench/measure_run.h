// SPDX-License-Identifier: GPL-3.0-or-later
// Measures outlines one after the other in a worker thread with a Garden of its own.
#pragma once

#include "store/garden/garden.h"

#include <QFutureWatcher>
#include <QObject>
#include <QStringList>
#include <filesystem>
#include <vector>

namespace edamori::pages {

struct OutlineToMeasure {
  store::OutlineId id;
  QString branchName;
};

// What became of a run, in words.
struct MeasureReport {
  int measured = 0;
  QStringList refusals;  // "First right: the photo is blurred …"
  bool isCancelled = false;
};

// Lives in the GUI thread. Destroying it cancels and waits for the outline being measured.
class MeasureRun : public QObject {
  Q_OBJECT

 public:
  explicit MeasureRun(QObject* parent = nullptr);
  ~MeasureRun() override;

  void start(const std::filesystem::path& folder, std::vector<OutlineToMeasure> outlines);
  void cancel();  // after the outline that is being measured
  [[nodiscard]] bool isRunning() const;

 Q_SIGNALS:
  void progressed(int done, int total, const QString& doing);
  void finished(const edamori::pages::MeasureReport& report);

 private:
  void finish();

  std::vector<OutlineToMeasure> m_outlines;
  QFutureWatcher<QString> m_watcher;  // a line for each outline: "" or why it was refused
};

}  // namespace edamori::pages
