// SPDX-License-Identifier: GPL-3.0-or-later
// The thread side of PreviewLoader.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/raster.h"

#include <QImage>
#include <QObject>
#include <atomic>
#include <memory>
#include <optional>

namespace edamori::models {

// A deep copy, so that it outlives the raster.
[[nodiscard]] QImage qImage(const RgbImage& image);

class PreviewWorker : public QObject {
  Q_OBJECT

 public:
  PreviewWorker(std::filesystem::path folder, std::shared_ptr<std::atomic<bool>> stopped)
      : m_folder(std::move(folder)), m_stopped(std::move(stopped)) {}

  void read(const QString& key,
            const store::Photo& photo,
            const store::OutlineId& outline,
            int longSidePx);

 Q_SIGNALS:
  // A null image when it could not be read.
  void done(const QString& key, const QImage& image);

 private:
  [[nodiscard]] QImage load(const store::Photo& photo,
                            const store::OutlineId& outline,
                            int longSidePx);

  std::filesystem::path m_folder;
  std::shared_ptr<std::atomic<bool>> m_stopped;
  std::optional<store::Garden> m_garden;  // opened at the first request, in the worker's thread
};

}  // namespace edamori::models
