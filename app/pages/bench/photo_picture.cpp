// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/photo_picture.h"

#include "app/work/photos.h"
#include "vision/load/load.h"

#include <QColor>
#include <QPromise>
#include <QtConcurrent>
#include <algorithm>
#include <utility>

namespace edamori::pages {

namespace {

// Below this the longer side is cheap to draw smoothly at any scale.
constexpr int kSmallestLevelPx = 1600;

QImage toQImage(const RgbImage& image) {
  const QImage wrapped(image.data(),
                       image.width(),
                       image.height(),
                       static_cast<qsizetype>(image.bytesPerRow()),
                       QImage::Format_RGB888);
  return wrapped.convertToFormat(QImage::Format_RGB32);
}

Picture wholePicture(RgbImage image) {
  Picture picture{.photoSize = {image.width(), image.height()}, .levels = {}, .isWhole = true, .isOriginal = true};
  picture.levels.push_back(toQImage(image));
  while (std::max(image.width(), image.height()) > kSmallestLevelPx) {
    image = vision::reducedToFit(image, std::max(image.width(), image.height()) / 2);
    picture.levels.push_back(toQImage(image));
  }
  return picture;
}

Picture smallPicture(const RgbImage& image, const store::Photo& photo) {
  return {.photoSize = {photo.widthPx, photo.heightPx},
          .levels = {toQImage(image)},
          .isWhole = image.width() == photo.widthPx,
          .isOriginal = false};
}

// Better and better pictures of one photo; the last one is whole, or why there is none.
void loadAll(QPromise<Result<Picture>>& promise,
             const work::PhotoFiles& files,
             const store::Photo& photo) {
  const auto give = [&promise, &photo](const Result<RgbImage>& image) {
    if (image) {
      promise.addResult(smallPicture(*image, photo));
    }
    return image.has_value() && image->width() >= std::min(photo.widthPx, kSmallestLevelPx) / 2;
  };
  const bool isGood = give(work::loadGlimpse(files, photo));
  if (!promise.isCanceled() && !isGood) {
    (void)give(work::loadLargePreview(files, photo));
  }
  if (!promise.isCanceled()) {
    promise.addResult(work::loadOriginal(files, photo).transform(wholePicture));
  }
}

QRect boxOfLabels(const LabelImage& labels) {
  int left = labels.width(), right = -1, top = labels.height(), bottom = -1;
  for (int y = 0; y < labels.height(); ++y) {
    const auto* const row = labels.row(y);
    for (int x = 0; x < labels.width(); ++x) {
      if (row[x] != 0) {
        left = std::min(left, x);
        right = std::max(right, x);
        top = std::min(top, y);
        bottom = y;
      }
    }
  }
  return right < 0 ? QRect() : QRect(QPoint(left, top), QPoint(right, bottom));
}

QRgb withAlpha(const QColor& colour, int alpha) {
  return qPremultiply(qRgba(colour.red(), colour.green(), colour.blue(), alpha));
}

// Lines where the label changes: solid around sound foliage, dashed around spots.
QImage contourOf(const LabelImage& labels, const QRect& box, int step) {
  const QSize size((box.width() + step - 1) / step, (box.height() + step - 1) / step);
  QImage image(size, QImage::Format_ARGB32_Premultiplied);
  image.fill(Qt::transparent);
  const int width = std::max(1, labels.width() / 1200);
  const int dash = std::max(4, labels.width() / 200);
  const auto at = [&labels](int x, int y) {
    return x < 0 || y < 0 || x >= labels.width() || y >= labels.height() ? std::uint8_t{0}
                                                                         : labels.row(y)[x];
  };
  for (int row = 0; row < image.height(); ++row) {
    auto* const line = reinterpret_cast<QRgb*>(image.scanLine(row));
    const int y = box.top() + row * step;
    for (int column = 0; column < image.width(); ++column) {
      const int x = box.left() + column * step;
      const auto here = at(x, y);
      const bool isEdge = here != 0 && (at(x - width, y) != here || at(x + width, y) != here ||
                                        at(x, y - width) != here || at(x, y + width) != here);
      if (!isEdge) {
        continue;
      }
      const bool isSpot = static_cast<Label>(here) == Label::Spotted;
      if (!isSpot || ((x + y) / dash) % 2 == 0) {
        line[column] = withAlpha(isSpot ? spotTint() : soundTint(), 255);
      }
    }
  }
  return image;
}

}  // namespace

QColor soundTint() { return {0, 158, 115}; }
QColor spotTint() { return {213, 94, 0}; }

const QImage& levelFor(const Picture& picture, double zoom) {
  const double wanted = picture.photoSize.width() * zoom;
  const QImage* best = &picture.levels.front();
  for (const auto& level : picture.levels) {
    if (level.width() >= wanted) {
      best = &level;
    }
  }
  return *best;
}

Tint tintOf(const LabelImage& labels) {
  const QRect box = boxOfLabels(labels);
  if (box.isEmpty()) {
    return {};
  }
  // Larger regions are tinted at half size: the tint is a glance, not a measure.
  const int step = std::int64_t{box.width()} * box.height() > 6'000'000 ? 2 : 1;
  QImage image((box.width() + step - 1) / step,
               (box.height() + step - 1) / step,
               QImage::Format_ARGB32_Premultiplied);
  const int stripe = std::max(2, labels.width() / 600);
  const QRgb sound = withAlpha(soundTint(), 110);
  const QRgb spots[] = {withAlpha(spotTint(), 220), withAlpha(spotTint(), 130)};
  for (int y = 0; y < image.height(); ++y) {
    auto* const line = reinterpret_cast<QRgb*>(image.scanLine(y));
    const auto* const row = labels.row(box.top() + y * step);
    for (int x = 0; x < image.width(); ++x) {
      const auto label = static_cast<Label>(row[box.left() + x * step]);
      const auto& spot = spots[static_cast<std::size_t>(((x + y) * step / stripe) % 2)];
      line[x] = label == Label::Spotted ? spot : label == Label::SoundFoliage ? sound : 0U;
    }
  }
  return {.areaPx = QRectF(box.left(), box.top(), image.width() * step, image.height() * step),
          .image = std::move(image),
          .contour = contourOf(labels, box, step)};
}

void PictureLoader::start(const store::Garden& garden, const store::Photo& photo) {
  stopPicture();
  m_watcher = new QFutureWatcher<Result<Picture>>(this);
  connect(m_watcher, &QFutureWatcherBase::resultReadyAt, this, [this](int index) {
    const auto result = m_watcher->future().resultAt(index);
    if (result) {
      Q_EMIT pictureReady(*result);
    } else {
      Q_EMIT failed(QString::fromStdString(result.error().message));
    }
  });
  m_watcher->setFuture(QtConcurrent::run(loadAll, work::filesOf(garden, photo), photo));
}

// What is being decoded ends in its own time; nobody listens any more, and it frees its pictures.
void PictureLoader::stopPicture() {
  if (m_watcher != nullptr) {
    m_watcher->disconnect(this);
    m_watcher->cancel();
    m_watcher->deleteLater();
    m_watcher = nullptr;
  }
}

void PictureLoader::startTints(const std::filesystem::path& folder,
                               const std::vector<std::string>& masks) {
  const int run = ++m_tintRun;
  if (masks.empty()) {
    Q_EMIT tintsReady({});
    return;
  }
  QtConcurrent::run([folder, masks] {
    std::vector<Tint> tints;
    for (const auto& mask : masks) {
      if (const auto labels = vision::loadLabels(folder / mask)) {
        if (auto tint = tintOf(*labels); !tint.image.isNull()) {
          tints.push_back(std::move(tint));
        }
      }
    }
    return tints;
  }).then(this, [this, run](const std::vector<Tint>& tints) {
    if (run == m_tintRun) {
      Q_EMIT tintsReady(tints);
    }
  });
}

void PictureLoader::stop() {
  stopPicture();
  ++m_tintRun;
}

}  // namespace edamori::pages
