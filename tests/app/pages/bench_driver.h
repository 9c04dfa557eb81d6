// SPDX-License-Identifier: GPL-3.0-or-later
// Drives a real Bench page over a real garden, by mouse or by keys, and looks at what is stored
// through a second Garden.
#pragma once

#include "app/look/theme.h"
#include "app/pages/bench/bench_page.h"
#include "app/pages/bench/photo_view.h"
#include "app/work/import.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"
#include "vision/load/load.h"

#include <QAbstractButton>
#include <QApplication>
#include <QLabel>
#include <QSettings>
#include <QTest>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <memory>
#include <string>
#include <vector>

#include <gmock/gmock.h>

namespace edamori::test {

// Grey-brown ground with green blots, a stand-in for foliage: sharp and well exposed.
inline RgbImage blottedPicture(int width, int height) {
  RgbImage image(width, height);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const double wave =
          std::sin(x * 0.11) * std::sin(y * 0.13) + 0.4 * std::sin(x * 0.031 + y * 0.047);
      const bool isGreen = wave > 0.05;
      const int grain = (x * 7919 + y * 104729) % 17;
      image.at(x, y, 0) = static_cast<std::uint8_t>((isGreen ? 60 : 150) + grain);
      image.at(x, y, 1) = static_cast<std::uint8_t>((isGreen ? 125 : 135) + grain);
      image.at(x, y, 2) = static_cast<std::uint8_t>((isGreen ? 45 : 120) + grain);
    }
  }
  return image;
}

// JPEG bytes, with an Exif segment that holds the orientation alone when it is not 0.
// Source of the layout: CIPA DC-008-2019 (Exif 2.32), 4.5.4 and 4.6.4: tag 0x0112, SHORT.
inline std::string jpegBytes(const RgbImage& image, int exifOrientation) {
  const auto encoded = vision::encodeJpeg(image, 92);
  EXPECT_THAT(encoded, isOk());
  std::string bytes(reinterpret_cast<const char*>(encoded->data()), encoded->size());
  if (exifOrientation == 0) {
    return bytes;
  }
  using namespace std::string_literals;
  const std::string tiff = "II*\0\x08\0\0\0"s + "\x01\0"s + "\x12\x01\x03\0\x01\0\0\0"s +
                           std::string(1, static_cast<char>(exifOrientation)) + "\0\0\0"s +
                           "\0\0\0\0"s;
  const std::string body = "Exif\0\0"s + tiff;
  const auto length = body.size() + 2;
  return bytes.insert(
      2, "\xFF\xE1"s + static_cast<char>(length >> 8) + static_cast<char>(length & 0xFF) + body);
}

class BenchDriver : public ::testing::Test {
 protected:
  void SetUp() override {
    // Not the person's own keys.
    QSettings::setPath(QSettings::NativeFormat,
                       QSettings::UserScope,
                       QString::fromStdString((m_folder / "settings").string()));
    QSettings().clear();
    look::apply(*qApp, look::Theme::Light);
    auto garden =
        store::Garden::create(m_folder / "garden", {.lockWait = std::chrono::milliseconds(20)});
    ASSERT_THAT(garden, isOk());
    m_tree.id = store::TreeId::create();
    m_tree.tag = "ED-02";
    ASSERT_THAT(garden->put(m_tree), isOk());
    m_left = addBranch(*garden, "first left", 1);
    m_right = addBranch(*garden, "first right", 2);
    m_session = std::make_unique<pages::GardenSession>(std::move(*garden));
  }
  void TearDown() override {
    m_page.reset();
    m_session.reset();
  }

  store::BranchId addBranch(store::Garden& garden, const std::string& name, int order) {
    store::Branch branch;
    branch.id = store::BranchId::create();
    branch.tree = m_tree.id;
    branch.name = name;
    branch.order = order;
    EXPECT_THAT(garden.put(branch), isOk());
    return branch.id;
  }

  store::Photo import(const RgbImage& image, const std::string& name, int exifOrientation = 0) {
    writeFile(m_folder / name, jpegBytes(image, exifOrientation));
    const auto report =
        work::importPhotos(m_session->garden(), {.paths = {m_folder / name}, .tree = m_tree.id});
    EXPECT_THAT(report, isOk());
    EXPECT_EQ(report->takenIn.size(), 1U);
    return report->takenIn.at(0).photo;
  }

  void openPage(const store::PhotoId& photo) {
    m_page.reset();
    m_page = std::make_unique<pages::BenchPage>();
    m_page->resize(1280, 800);
    m_page->setSession(m_session.get());
    m_page->show();
    ASSERT_TRUE(QTest::qWaitForWindowActive(m_page.get()));
    ASSERT_THAT(m_page->openPhoto(photo), isOk());
    ASSERT_TRUE(QTest::qWaitFor([this] { return view().isWhole(); }, 30000));
  }

  template <typename T>
  T& child(const char* name) {
    T* found = m_page->findChild<T*>(QLatin1String(name));
    if (found == nullptr) {
      ADD_FAILURE() << "there is no control named " << name;
      std::abort();
    }
    return *found;
  }
  pages::PhotoView& view() { return child<pages::PhotoView>("photo"); }
  QString hint() { return child<QLabel>("hint").text(); }

  // Where a view point lies on a photo that is shown whole, from the sizes alone.
  PointPx whole(const store::Photo& photo, QPointF at) {
    const double scale =
        std::min(view().width() * 1.0 / photo.widthPx, view().height() * 1.0 / photo.heightPx);
    return {.x = photo.widthPx / 2.0 + (at.x() - view().width() / 2.0) / scale,
            .y = photo.heightPx / 2.0 + (at.y() - view().height() / 2.0) / scale};
  }

  // By mouse.
  void click(const char* name) {
    auto& button = child<QAbstractButton>(name);
    ASSERT_TRUE(button.isVisible() && button.isEnabled()) << name;
    QTest::mouseClick(&button, Qt::LeftButton, {}, QPoint(10, button.height() / 2));
  }
  void clickAt(QPoint at, Qt::KeyboardModifiers modifiers = {}) {
    QTest::mouseClick(&view(), Qt::LeftButton, modifiers, at);
  }
  void drag(const std::vector<QPoint>& way, Qt::MouseButton button = Qt::LeftButton) {
    QTest::mousePress(&view(), button, {}, way.front());
    for (const QPoint& at : way) {
      QTest::mouseMove(&view(), at);
    }
    QTest::mouseRelease(&view(), button, {}, way.back());
  }
  void drawOutline(const std::vector<QPoint>& corners) {
    click("outlineButton");
    for (const QPoint& corner : corners) {
      clickAt(corner);
    }
    QTest::mouseDClick(&view(), Qt::LeftButton, {}, corners.back());
  }
  // By keys, sent to what has the focus.
  static void press(int key, Qt::KeyboardModifiers modifiers = {}, int times = 1) {
    for (int i = 0; i < times; ++i) {
      ASSERT_NE(QApplication::focusWidget(), nullptr);
      QTest::keyClick(QApplication::focusWidget(), static_cast<Qt::Key>(key), modifiers);
    }
  }

  // What the garden holds, through a connection of its own.
  [[nodiscard]] store::Garden stored() {
    auto garden = store::Garden::open(m_folder / "garden");
    EXPECT_THAT(garden, isOk());
    return std::move(*garden);
  }
  [[nodiscard]] std::vector<store::Mark> marks(const store::Photo& photo) {
    return *stored().marks(photo.id);
  }
  [[nodiscard]] std::vector<store::OutlineRecord> outlines(const store::Photo& photo) {
    return *stored().outlines(photo.id);
  }
  [[nodiscard]] std::vector<store::Measurement> measurements(const store::Photo& photo) {
    return *stored().measurements(photo.id);
  }

  TemporaryFolder m_folder;
  store::Tree m_tree;
  store::BranchId m_left, m_right;
  std::unique_ptr<pages::GardenSession> m_session;
  std::unique_ptr<pages::BenchPage> m_page;
};

MATCHER_P2(isNear, expected, tolerancePx, "is near the expected point") {
  *result_listener << arg.x << ", " << arg.y << " against " << expected.x << ", " << expected.y;
  return std::hypot(arg.x - expected.x, arg.y - expected.y) <= tolerancePx;
}

}  // namespace edamori::test
