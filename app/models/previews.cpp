// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/previews.h"

#include "app/models/previews_internal.h"
#include "app/models/text.h"
#include "app/work/photos.h"

namespace edamori::models {

namespace {

constexpr int kCacheKib = 160 * 1024;  // some 200 small previews

}  // namespace

QImage qImage(const RgbImage& image) {
  return QImage(image.data(),
                image.width(),
                image.height(),
                static_cast<qsizetype>(image.bytesPerRow()),
                QImage::Format_RGB888)
      .convertToFormat(QImage::Format_RGB32);
}

void PreviewWorker::read(const QString& key,
                         const store::Photo& photo,
                         const store::OutlineId& outline,
                         int longSidePx) {
  if (m_stopped->load()) {
    m_garden.reset();
    return;
  }
  QImage image;
  try {
    image = load(photo, outline, longSidePx);
  } catch (const std::exception&) {
    // Out of memory on a hostile photo: shown as a photo without a picture.
  }
  Q_EMIT done(key, image);
}

QImage PreviewWorker::load(const store::Photo& photo,
                           const store::OutlineId& outline,
                           int longSidePx) {
  if (!m_garden) {
    auto opened = store::Garden::open(m_folder);
    if (!opened) {
      return {};
    }
    m_garden.emplace(std::move(opened).value());
  }
  if (outline.isEmpty()) {
    const auto image = work::loadPreview(*m_garden, photo, longSidePx);
    return image ? qImage(*image) : QImage();
  }
  const auto record = m_garden->find(outline);
  if (!record || !*record) {
    return {};
  }
  const auto image = work::loadCrop(*m_garden, photo, (**record).shape, longSidePx);
  return image ? qImage(*image) : QImage();
}

PreviewLoader::PreviewLoader(const std::filesystem::path& gardenFolder, QObject* parent)
    : QObject(parent), m_stopped(std::make_shared<std::atomic<bool>>(false)), m_cache(kCacheKib) {
  m_worker = new PreviewWorker(gardenFolder, m_stopped);
  m_worker->moveToThread(&m_thread);
  connect(&m_thread, &QThread::finished, m_worker, &QObject::deleteLater);
  connect(m_worker, &PreviewWorker::done, this, &PreviewLoader::take);
  m_thread.start(QThread::LowPriority);
}

PreviewLoader::~PreviewLoader() {
  m_stopped->store(true);
  m_thread.quit();
  m_thread.wait();
}

std::optional<QPixmap> PreviewLoader::preview(const store::Photo& photo, int longSidePx) {
  const QString key = QStringLiteral("%1/%2").arg(qText(photo.sha256)).arg(longSidePx);
  return lookUp(key, photo, {}, longSidePx);
}

std::optional<QPixmap> PreviewLoader::crop(const store::Photo& photo,
                                           const store::Measurement& measurement,
                                           int longSidePx) {
  const QString key = QStringLiteral("crop/%1/%2").arg(qText(measurement.id.text)).arg(longSidePx);
  return lookUp(key, photo, measurement.outline, longSidePx);
}

std::optional<QPixmap> PreviewLoader::lookUp(const QString& key,
                                             const store::Photo& photo,
                                             const store::OutlineId& outline,
                                             int longSidePx) {
  if (const QPixmap* known = m_cache.object(key)) {
    return *known;
  }
  if (!m_asked.contains(key) && !m_unreadable.contains(key)) {
    m_asked.insert(key);
    QMetaObject::invokeMethod(m_worker, [worker = m_worker, key, photo, outline, longSidePx] {
      worker->read(key, photo, outline, longSidePx);
    });
  }
  return std::nullopt;
}

void PreviewLoader::take(const QString& key, const QImage& image) {
  m_asked.remove(key);
  if (image.isNull()) {
    m_unreadable.insert(key);
  } else {
    m_cache.insert(key,
                   new QPixmap(QPixmap::fromImage(image)),
                   std::max<qsizetype>(1, image.sizeInBytes() / 1024));
  }
  Q_EMIT ready();
}

}  // namespace edamori::models
