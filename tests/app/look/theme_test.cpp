// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/look/theme.h"

#include <QImage>
#include <QPainter>
#include <QPixmap>

#include <gmock/gmock.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <utility>
#include <vector>

namespace edamori::look {
namespace {

// WCAG 2.1 (W3C Recommendation, 5 June 2018), definitions "relative luminance" and "contrast ratio".
double luminance(const QColor& colour) {
  const auto linear = [](int byte) {
    const double c = byte / 255.0;
    return c <= 0.03928 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * linear(colour.red()) + 0.7152 * linear(colour.green()) + 0.0722 * linear(colour.blue());
}

double contrast(const QColor& a, const QColor& b) {
  const double high = std::max(luminance(a), luminance(b)), low = std::min(luminance(a), luminance(b));
  return (high + 0.05) / (low + 0.05);
}

// Black on white is 21 : 1 by the definition itself.
TEST(Contrast, OfBlackOnWhiteIs21) { EXPECT_NEAR(contrast(Qt::black, Qt::white), 21.0, 1e-9); }

constexpr double kEnough = 4.5;  // WCAG 2.1, success criterion 1.4.3

class PaletteContrast : public ::testing::TestWithParam<Theme> {};

TEST_P(PaletteContrast, IsEnoughForTextAndStatesOnEveryGround) {
  const Palette& p = palette(GetParam());
  for (const auto& [groundName, ground] : {std::pair{"page", p.page}, {"panel", p.panel}, {"raised", p.raised}}) {
    for (const auto& [name, colour] : {std::pair{"text", p.text}, {"quietText", p.quietText}, {"good", p.good},
                                       {"warning", p.warning}, {"bad", p.bad}, {"accent", p.accent}}) {
      EXPECT_GE(contrast(colour, ground), kEnough) << name << " on " << groundName;
    }
  }
  EXPECT_GE(contrast(p.onAccent, p.accent), kEnough);
}

INSTANTIATE_TEST_SUITE_P(BothThemes, PaletteContrast, ::testing::Values(Theme::Light, Theme::Dark),
                         [](const auto& given) { return given.param == Theme::Light ? "Light" : "Dark"; });

constexpr std::array kFindings{store::Finding::ScaleInsect, store::Finding::Aphids, store::Finding::NeedleBlight,
                               store::Finding::LeafSpot, store::Finding::SprayScorch, store::Finding::Other};

// Okabe & Ito 2008, "Color Universal Design": the set in 8-bit sRGB.
TEST(FindingColours, AreOfTheOkabeItoSetAndDiffer) {
  const std::set<QString> published{"#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7"};
  std::set<QString> used;
  for (const store::Finding finding : kFindings) {
    const QString name = findingColour(finding).name();
    EXPECT_TRUE(published.count(name)) << name.toStdString();
    used.insert(name);
  }
  EXPECT_EQ(used.size(), kFindings.size());
}

QImage drawn(store::Finding finding, store::Stage stage, const QColor& ground) {
  QImage image(64, 64, QImage::Format_RGB32);
  image.fill(ground);
  QPainter painter(&image);
  drawFinding(painter, finding, stage, {32.0, 32.0}, 14.0);
  return image;
}

// Pixels that differ from the ground, whatever their colour.
std::vector<bool> silhouette(store::Finding finding, store::Stage stage) {
  const QImage image = drawn(finding, stage, QColor(128, 128, 128));
  std::vector<bool> result;
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      const QColor colour = image.pixelColor(x, y);
      result.push_back(colour != QColor(128, 128, 128));
    }
  }
  return result;
}

std::ptrdiff_t differing(const std::vector<bool>& a, const std::vector<bool>& b) {
  std::ptrdiff_t count = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    count += a[i] != b[i] ? 1 : 0;
  }
  return count;
}

TEST(FindingShapes, DifferWithoutTheirColours) {
  for (std::size_t i = 0; i < kFindings.size(); ++i) {
    const auto one = silhouette(kFindings[i], store::Stage::Live);
    EXPECT_GT(std::count(one.begin(), one.end(), true), 200);
    for (std::size_t k = i + 1; k < kFindings.size(); ++k) {
      // A leaf spot's ring and a hexagon are close in outline, but not that close.
      EXPECT_GT(differing(one, silhouette(kFindings[k], store::Stage::Live)), 40) << i << " and " << k;
    }
  }
}

TEST(FindingShapes, ShowTheStageByFormToo) {
  for (const store::Finding finding : kFindings) {
    const QImage live = drawn(finding, store::Stage::Live, Qt::gray);
    const QImage dead = drawn(finding, store::Stage::Dead, Qt::gray);
    const QImage removed = drawn(finding, store::Stage::Removed, Qt::gray);
    EXPECT_NE(live, dead);
    EXPECT_NE(dead, removed);
    EXPECT_GT(differing(silhouette(finding, store::Stage::Dead), silhouette(finding, store::Stage::Removed)), 40);
  }
}

// WCAG 2.1, SC 1.4.11 asks 3 : 1 of graphics; the halo must give it on any ground, the shape's own colour included.
TEST(FindingShapes, StandOutOnAnyGround) {
  std::vector<QColor> grounds{Qt::black, Qt::white, QColor(128, 128, 128), QColor(60, 90, 40), QColor(190, 200, 90)};
  for (const store::Finding finding : kFindings) {
    grounds.push_back(findingColour(finding));
  }
  for (const store::Finding finding : kFindings) {
    for (const QColor& ground : grounds) {
      const QImage image = drawn(finding, store::Stage::Live, ground);
      int strong = 0;
      for (int y = 0; y < 64; ++y) {
        for (int x = 0; x < 64; ++x) {
          strong += contrast(image.pixelColor(x, y), ground) >= 3.0 ? 1 : 0;
        }
      }
      EXPECT_GT(strong, 60) << findingName(finding).toStdString() << " on " << ground.name().toStdString();
    }
  }
}

TEST(Icons, AreDrawnAtTheDensityAskedFor) {
  for (int i = 0; i <= static_cast<int>(Glyph::Offer); ++i) {
    const QPixmap sharp = icon(static_cast<Glyph>(i)).pixmap(QSize(24, 24), 2.0);
    ASSERT_EQ(sharp.size(), QSize(48, 48)) << i;
    const QImage image = sharp.toImage();
    int painted = 0;
    for (int y = 0; y < 48; ++y) {
      for (int x = 0; x < 48; ++x) {
        painted += qAlpha(image.pixel(x, y)) > 128 ? 1 : 0;
      }
    }
    EXPECT_GT(painted, 60) << i;
  }
}

TEST(Icons, DifferFromEachOther) {
  std::vector<QImage> seen;
  for (int i = 0; i <= static_cast<int>(Glyph::Offer); ++i) {
    const QImage image = icon(static_cast<Glyph>(i)).pixmap(24, 24).toImage();
    EXPECT_EQ(std::count(seen.begin(), seen.end(), image), 0) << i;
    seen.push_back(image);
  }
}

TEST(Fonts, KeepToTheTypeScale) {
  EXPECT_EQ(font(TextSize::Small).pointSize(), 9);
  EXPECT_EQ(font(TextSize::Body).pointSize(), 10);
  EXPECT_EQ(font(TextSize::Heading).pointSize(), 13);
  EXPECT_EQ(font(TextSize::Title).pointSize(), 18);
  EXPECT_EQ(font(TextSize::Body).family(), QStringLiteral("DejaVu Sans"));
}

}  // namespace
}  // namespace edamori::look
