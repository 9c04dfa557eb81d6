// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/photo_picture.h"

#include "app/work/photos.h"
#include "vision/load/load.h"

#include <QColor>
#include <QPointer>
#include <QtConcurrent>
#include <algorithm>
#include <atomic>
#include <memory>
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
  Picture picture{.photoSize = {image.width(), image.height()}, .levels = {}, .isWhole = true};
  picture.levels.push_back(toQImage(image));
  while (std::max(image.width(), image.height()) > kSmallestLevelPx) {
    image = vision::reducedToFit(image, std::max(image.width(), image.height()) / 2);
    picture.levels.push_back(toQImage(image));
  }
  return picture;
}

Result<Picture> loadWhole(const std::filesystem::path& folder, const store::Photo& photo) {
  const auto garden = store::Garden::open(folder);
  if (!garden) {
    return garden.error();
  }
  return work::loadOriginal(*garden, photo).transform(wholePicture);
}

Result<Picture> loadSmall(const std::filesystem::path& folder, const store::Photo& photo) {
  const auto garden = store::Garden::open(folder);
  if (!garden) {
    return garden.error();
  }
  return work::loadPreview(*garden, photo, work::kLargePreviewPx)
      .transform([&photo](const RgbImage& image) {
        return Picture{.photoSize = {photo.widthPx, photo.heightPx},
                       .levels = {toQImage(image)},
                       .isWhole = image.width() == photo.widthPx};
      });
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

}  // namespace

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

QColor soundTint() { return {0, 158, 115}; }
QColor spotTint() { return {213, 94, 0}; }

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
          .image = std::move(image)};
}

void PictureLoader::start(const std::filesystem::path& folder, const store::Photo& photo) {
  const int run = ++m_run;
  // Each step is taken up only while its run is the latest.
  QtConcurrent::run([folder, photo] {
    return loadSmall(folder, photo);
  }).then(this, [this, run, folder, photo](const Result<Picture>& small) {
    if (run != m_run) {
      return;
    }
    if (small) {
      Q_EMIT pictureReady(*small);
    }
    QtConcurrent::run([folder, photo] {
      return loadWhole(folder, photo);
    }).then(this, [this, run](const Result<Picture>& whole) {
      if (run != m_run) {
        return;
      }
      if (whole) {
        Q_EMIT pictureReady(*whole);
      } else {
        Q_EMIT failed(QString::fromStdString(whole.error().message));
      }
    });
  });
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
  ++m_run;
  ++m_tintRun;
}

}  // namespace edamori::pages
