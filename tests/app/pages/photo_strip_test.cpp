// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/photo_strip.h"

#include "app/models/photo_model.h"

#include <QTest>

#include <gtest/gtest.h>

namespace edamori::pages {
namespace {

using namespace std::chrono_literals;

store::Photo photoFrom(const char* id, store::View view, store::DateSource source) {
  store::Photo photo;
  photo.id = {id};
  photo.takenAt = {.date = 2026y / 5 / 1, .timeOfDay = 0s, .subSeconds = {}, .offsetMinutes = {}};
  photo.dateSource = source;
  photo.view = view;
  return photo;
}

// Whatever the first photo's caption is, the others are as wide as their own.
TEST(PhotoStrip, ShowsEveryCaptionWhole) {
  models::PhotoModel model;
  const store::Photo first = photoFrom("a", store::View::Front, store::DateSource::Camera);
  model.setPhotos({first});
  PhotoStrip strip(&model);
  strip.setIconSize({60, 102});  // upright photos are narrower than their captions
  strip.resize(800, strip.height());
  strip.show();
  ASSERT_TRUE(QTest::qWaitForWindowExposed(&strip));
  model.setPhotos({first, photoFrom("b", store::View::Unknown, store::DateSource::Camera),
                   photoFrom("c", store::View::CloseUp, store::DateSource::FileTime)});
  QCoreApplication::processEvents();
  for (int row = 0; row < model.rowCount(); ++row) {
    int widest = 0;
    for (const QString& line : model.index(row).data().toString().split(QLatin1Char('\n'))) {
      widest = std::max(widest, strip.fontMetrics().horizontalAdvance(line));
    }
    EXPECT_GE(strip.visualRect(model.index(row)).width(), widest) << row;
    EXPECT_LE(strip.visualRect(model.index(row)).width(), strip.gridSize().width()) << row;
    EXPECT_EQ(strip.visualRect(model.index(row)).width(), strip.gridSize().width() - 2 * strip.spacing()) << row;
  }
}

}  // namespace
}  // namespace edamori::pages
