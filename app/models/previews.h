// SPDX-License-Identifier: GPL-3.0-or-later
// Pictures of photos for lists, read away from the GUI thread.
#pragma once

#include "store/records/records.h"

#include <QCache>
#include <QObject>
#include <QPixmap>
#include <QSet>
#include <QString>
#include <QThread>
#include <atomic>
#include <filesystem>
#include <memory>
#include <optional>

namespace edamori::models {

class PreviewWorker;

// Asks for previews and keeps the latest ones. Lives in the GUI thread and owns one worker thread
// with a Garden of its own; destroying it drops what waits, and waits for the picture being read.
class PreviewLoader : public QObject {
  Q_OBJECT

 public:
  explicit PreviewLoader(const std::filesystem::path& gardenFolder, QObject* parent = nullptr);
  ~PreviewLoader() override;

  // The photo's small or large preview (work::kSmallPreviewPx, work::kLargePreviewPx), or nothing:
  // then it has been asked for, and ready() follows unless it cannot be read.
  [[nodiscard]] std::optional<QPixmap> preview(const store::Photo& photo, int longSidePx);
  // The branch as cut out of the photo by the outline of a measurement. Kept under the
  // measurement's id, so that an outline that moves later does not change what was measured.
  [[nodiscard]] std::optional<QPixmap> crop(const store::Photo& photo,
                                            const store::Measurement& measurement,
                                            int longSidePx);
  // True when nothing is being read.
  [[nodiscard]] bool isIdle() const { return m_asked.isEmpty(); }

 Q_SIGNALS:
  void ready();

 private:
  [[nodiscard]] std::optional<QPixmap> lookUp(const QString& key,
                                              const store::Photo& photo,
                                              const store::OutlineId& outline,
                                              int longSidePx);
  void take(const QString& key, const QImage& image);

  QThread m_thread;
  PreviewWorker* m_worker;  // lives in m_thread, deleted when that ends
  // Shared with the worker, which must see it after its last event.
  std::shared_ptr<std::atomic<bool>> m_stopped;
  QCache<QString, QPixmap> m_cache;  // cost in KiB
  QSet<QString> m_asked;
  QSet<QString> m_unreadable;
};

}  // namespace edamori::models
