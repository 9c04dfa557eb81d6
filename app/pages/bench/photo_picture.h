// SPDX-License-Identifier: GPL-3.0-or-later
// The pixels of the photo on the Bench: levels of falling size for fluid painting, and the tints of
// what measuring found; loaded in a worker thread.
#pragma once

#include "store/garden/garden.h"
#include "vision/values/raster.h"

#include <QFuture>
#include <QFutureWatcher>
#include <QImage>
#include <QObject>
#include <QRectF>
#include <QSize>
#include <filesystem>
#include <functional>
#include <vector>

namespace edamori::pages {

// A photo in halving sizes: level 0 first, until the longer side is at most 1600 px. While only
// the preview is there, its one level is smaller than the photo.
struct Picture {
  QSize photoSize;             // px of the upright photo
  std::vector<QImage> levels;  // RGB32, largest first
  bool isWhole = false;        // level 0 has the photo's own size
  bool isOriginal = false;     // … and is the photo itself, no preview of it
  [[nodiscard]] bool isEmpty() const { return levels.empty(); }
};
// The level to draw at `zoom` device px per photo px: the smallest that still has a pixel for each
// device pixel, else the largest. The picture must not be empty.
[[nodiscard]] const QImage& levelFor(const Picture& picture, double zoom);

// Found foliage and spots of one outline, as a see-through picture over part of the photo.
struct Tint {
  QRectF areaPx;  // of the photo
  QImage image;
  QImage contour;  // the same as lines around the areas
};

// Colours of the tint: Okabe–Ito bluish green for sound foliage, vermillion stripes for spots, so
// that the two differ by pattern too (Okabe & Ito 2008).
[[nodiscard]] QColor soundTint();
[[nodiscard]] QColor spotTint();
// The part of the labels that is not empty; an empty image when nothing was found.
[[nodiscard]] Tint tintOf(const LabelImage& labels);

// Loads in the global thread pool; what belongs to an earlier start() is dropped. Lives in the GUI
// thread, and its signals come there. Destroying it does not wait for the worker.
class PictureLoader : public QObject {
  Q_OBJECT

 public:
  using QObject::QObject;
  // Gives the quickest picture first (kept preview or Exif thumbnail), then the large preview, then
  // the original.
  void start(const store::Garden& garden, const store::Photo& photo);
  // Loads label masks (paths below the garden folder); unreadable ones are left out.
  void startTints(const std::filesystem::path& folder, const std::vector<std::string>& masks);
  void stop();

 Q_SIGNALS:
  void pictureReady(const edamori::pages::Picture& picture);  // better and better, the whole at last
  void failed(const QString& message);
  void tintsReady(const std::vector<edamori::pages::Tint>& tints);

 private:
  void stopPicture();

  QFutureWatcher<Result<Picture>>* m_watcher = nullptr;
  int m_tintRun = 0;
};

}  // namespace edamori::pages
