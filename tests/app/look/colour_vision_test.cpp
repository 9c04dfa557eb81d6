// SPDX-License-Identifier: GPL-3.0-or-later
// What people with a colour-vision deficiency see of the program's colours.
#include "app/look/theme.h"
#include "app/pages/before_after/pair_shown.h"
#include "vision/quality/colour.h"

#include <QColor>
#include <QImage>
#include <QPainter>

#include <gmock/gmock.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>

namespace edamori::look {
namespace {

// Machado, Oliveira & Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15(6), 1291-1298: matrices for
// severity 1.0, on linear light (values from memory; each row sums to 1, so that grey stays grey).
struct Deficiency {
  std::string name;
  std::array<std::array<double, 3>, 3> matrix;
};

const std::array<Deficiency, 3>& deficiencies() {
  static const std::array<Deficiency, 3> all{{
      {"protanopia", {{{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}}}},
      {"deuteranopia", {{{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}}},
      {"tritanopia", {{{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}}}},
  }};
  return all;
}

// IEC 61966-2-1, the other way round.
int sampleOf(double linear) {
  const double c = std::clamp(linear, 0.0, 1.0);
  const double encoded = c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1 / 2.4) - 0.055;
  return static_cast<int>(std::lround(255 * encoded));
}

std::array<double, 3> linearOf(const QColor& colour) {
  return {vision::linearOf(static_cast<std::uint8_t>(colour.red())), vision::linearOf(static_cast<std::uint8_t>(colour.green())),
          vision::linearOf(static_cast<std::uint8_t>(colour.blue()))};
}

QColor seen(const QColor& colour, const Deficiency& by) {
  const auto light = linearOf(colour);
  std::array<int, 3> samples{};
  for (std::size_t i = 0; i < 3; ++i) {
    const auto& row = by.matrix.at(i);
    samples.at(i) = sampleOf(row[0] * light[0] + row[1] * light[1] + row[2] * light[2]);
  }
  return {samples[0], samples[1], samples[2]};
}

// WCAG 2.1, "relative luminance" and "contrast ratio".
double contrast(const QColor& a, const QColor& b) {
  const auto luminance = [](const QColor& colour) {
    const auto light = linearOf(colour);
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2];
  };
  const auto [low, high] = std::minmax({luminance(a), luminance(b)});
  return (high + 0.05) / (low + 0.05);
}

// CIE 1976 colour difference.
double difference(const QColor& a, const QColor& b) {
  const auto lab = [](const QColor& c) {
    return vision::labOf(static_cast<std::uint8_t>(c.red()), static_cast<std::uint8_t>(c.green()), static_cast<std::uint8_t>(c.blue()));
  };
  const vision::Lab one = lab(a), other = lab(b);
  return std::hypot(one.l - other.l, one.a - other.a, one.b - other.b);
}

TEST(ColourVision, LeavesGreysAloneAndTakesRedFromGreen) {
  const QColor red(200, 60, 40), green(90, 130, 40);
  for (const Deficiency& by : deficiencies()) {
    for (int grey = 0; grey < 256; grey += 51) {
      EXPECT_EQ(seen(QColor(grey, grey, grey), by), QColor(grey, grey, grey)) << by.name;
    }
  }
  EXPECT_LT(difference(seen(red, deficiencies()[1]), seen(green, deficiencies()[1])), difference(red, green) / 3);
}

TEST(ColourVision, TextAndStatesKeepTheirContrast) {
  for (const Deficiency& by : deficiencies()) {
    for (const Theme theme : {Theme::Light, Theme::Dark}) {
      const Palette& p = palette(theme);
      for (const QColor& ground : {p.page, p.panel, p.raised}) {
        for (const auto& [name, colour] : {std::pair{"text", p.text}, {"quietText", p.quietText}, {"good", p.good},
                                           {"warning", p.warning}, {"bad", p.bad}, {"accent", p.accent}}) {
          // WCAG 2.1, success criterion 1.4.3.
          EXPECT_GE(contrast(seen(colour, by), seen(ground, by)), 4.5) << name << ", " << by.name;
        }
      }
    }
  }
}

// Marks are told apart by their shapes (FindingShapes); here, that the shapes can be seen at all.
TEST(ColourVision, MarksStandOutOnLeavesBarkAndSky) {
  for (const Deficiency& by : deficiencies()) {
    for (const QColor& ground : {QColor(60, 90, 40), QColor(190, 200, 90), QColor(96, 74, 56), QColor(150, 185, 220), QColor(150, 40, 40)}) {
      for (const auto finding : {store::Finding::ScaleInsect, store::Finding::Aphids, store::Finding::NeedleBlight,
                                 store::Finding::LeafSpot, store::Finding::SprayScorch, store::Finding::Other}) {
        QImage image(64, 64, QImage::Format_RGB32);
        image.fill(ground);
        QPainter painter(&image);
        drawFinding(painter, finding, store::Stage::Live, {32.0, 32.0}, 14.0);
        painter.end();
        int strong = 0;
        for (int i = 0; i < 64 * 64; ++i) {
          // WCAG 2.1, success criterion 1.4.11.
          strong += contrast(seen(image.pixelColor(i % 64, i / 64), by), seen(ground, by)) >= 3.0 ? 1 : 0;
        }
        EXPECT_GT(strong, 60) << findingName(finding).toStdString() << ", " << by.name;
      }
    }
  }
}

// The change picture has patterns too (slanted, level and upright bars, dots); its colours differ all the same.
TEST(ColourVision, WhatChangedDiffersInTheChangePicture) {
  using vision::ChangeKind;
  // A difference is just noticed at about 2.3 (Mahy, Van Eycken & Oosterlinck 1994, Color Res. Appl. 19, 105-121).
  constexpr double kClear = 20.0;
  for (const Deficiency& by : deficiencies()) {
    for (const auto& [a, b] : {std::pair{ChangeKind::Lost, ChangeKind::Gained}, {ChangeKind::Lost, ChangeKind::Spotted},
                               {ChangeKind::Gained, ChangeKind::Spotted}, {ChangeKind::Cleared, ChangeKind::Lost},
                               {ChangeKind::Cleared, ChangeKind::Gained}, {ChangeKind::Cleared, ChangeKind::Spotted}}) {
      EXPECT_GT(difference(seen(pages::changeColour(a), by), seen(pages::changeColour(b), by)), kClear)
          << by.name << " " << static_cast<int>(a) << " " << static_cast<int>(b);
    }
  }
}

}  // namespace
}  // namespace edamori::look
