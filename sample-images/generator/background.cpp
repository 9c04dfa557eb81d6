// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/background.h"

#include "generator/noise.h"
#include "generator/rng.h"
#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

// Painted on a square twice the picture's longer side, then turned and shifted under the camera.
constexpr int kCanvasPx = 900;
constexpr float kHorizon = 0.56F;  // share of the canvas above the ground

cv::Scalar scalar(Vec3 colour) {
  return {
      static_cast<double>(colour.x), static_cast<double>(colour.y), static_cast<double>(colour.z)};
}

struct Brush {
  cv::Mat canvas;
  Rng rng;

  void disc(float x, float y, float radius, Vec3 colour) {
    constexpr int kShift = 4;
    const auto fixed = [](float v) { return static_cast<int>(v * 16.0F); };
    cv::circle(canvas,
               {fixed(x * kCanvasPx), fixed(y * kCanvasPx)},
               std::max(8, fixed(radius * kCanvasPx)),
               scalar(colour),
               cv::FILLED,
               cv::LINE_8,
               kShift);
  }
  void box(float x0, float y0, float x1, float y1, Vec3 colour) {
    const auto px = [](float v) { return static_cast<int>(v * kCanvasPx); };
    cv::rectangle(canvas, {px(x0), px(y0)}, {px(x1), px(y1)}, scalar(colour), cv::FILLED);
  }
};

Vec3 leafGreen(Rng& rng) {
  const Vec3 deep = fromSrgb(28, 36, 24);
  const Vec3 fresh = fromSrgb(104, 120, 72);
  return mix(deep, fresh, std::pow(rng.uniform(), 1.7F)) * rng.range(0.7F, 1.2F);
}

// Foliage as many discs, dark ones first, with a few glints of sky and sun.
void paintFoliage(Brush& brush, float top, float bottom, float ragged, int count) {
  count *= 3;
  for (int i = 0; i < count; ++i) {
    const float x = brush.rng.uniform();
    const float crest =
        top + ragged * (fractalNoise({x * 7.0F, 2.0F, 5.0F + top * 9.0F}, 3) - 0.5F);
    const float y = mix(crest, bottom, brush.rng.uniform());
    const float late = static_cast<float>(i) / static_cast<float>(count);
    const float lit =
        0.35F + 0.75F * late * (1.1F - (y - crest) / std::max(bottom - crest, 0.01F) * 0.7F);
    brush.disc(x, y, brush.rng.range(0.002F, 0.009F), leafGreen(brush.rng) * lit);
  }
  for (int i = 0; i < count / 110; ++i) {
    const float x = brush.rng.uniform();
    const float y = mix(top, bottom, std::pow(brush.rng.uniform(), 1.4F));
    const Vec3 glint = mix(fromSrgb(206, 214, 190), fromSrgb(226, 232, 140), brush.rng.uniform());
    brush.disc(x, y, brush.rng.range(0.0018F, 0.0045F), glint * brush.rng.range(0.5F, 1.5F));
  }
}

void paintSky(Brush& brush, const LightLook& light) {
  const bool clear = luminance(light.sun) > 0.8F;
  for (int y = 0; y < kCanvasPx; ++y) {
    const float t = static_cast<float>(y) / (kCanvasPx * kHorizon);
    const Vec3 colour =
        clear ? mix(fromSrgb(122, 160, 208), fromSrgb(212, 224, 232), std::min(1.0F, t))
              : mix(fromSrgb(206, 210, 214), fromSrgb(226, 228, 228), std::min(1.0F, t));
    brush.canvas.row(y).setTo(scalar(colour));
  }
}

void paintFence(Brush& brush) {
  const float boards = 17.0F;
  for (int i = 0; i < 18; ++i) {
    const float x = static_cast<float>(i) / boards;
    const Vec3 wood = mix(fromSrgb(104, 84, 66), fromSrgb(150, 132, 112), brush.rng.uniform());
    for (int k = 0; k < 60; ++k) {
      const float y = 0.14F + 0.45F * static_cast<float>(k) / 60.0F;
      const float stain = 0.62F + 0.7F * fractalNoise({x * 40.0F, y * 9.0F, 3.0F}, 4);
      brush.box(x + 0.004F, y, x + 1.0F / boards - 0.004F, y + 0.012F, wood * stain);
    }
    brush.box(x - 0.004F, 0.14F, x + 0.004F, 0.59F, fromSrgb(26, 22, 18));
  }
  brush.box(0.0F, 0.20F, 1.0F, 0.225F, fromSrgb(96, 80, 64));
  paintFoliage(brush, 0.50F, 0.62F, 0.12F, 900);
}

void paintWall(Brush& brush) {
  for (int y = 0; y < kCanvasPx * 6 / 10; ++y) {
    for (int x = 0; x < kCanvasPx; ++x) {
      const Vec3 p{static_cast<float>(x) * 0.008F, static_cast<float>(y) * 0.012F, 1.0F};
      const float stain = fractalNoise(p, 5);
      const float shadow = smoothStep(
          0.44F, 0.60F, fractalNoise(p * Vec3{0.9F, 0.7F, 1.0F} + Vec3{8.0F, 0.0F, 2.0F}, 4));
      const Vec3 plaster =
          mix(fromSrgb(176, 164, 146), fromSrgb(208, 198, 182), stain) * mix(0.5F, 1.0F, shadow);
      brush.canvas.at<cv::Vec3f>(y, x) = {plaster.x, plaster.y, plaster.z};
    }
  }
  paintFoliage(brush, 0.47F, 0.62F, 0.16F, 1500);
}

void paintGarden(Brush& brush) {
  paintFoliage(brush, 0.05F, 0.6F, 0.16F, 7000);
  for (int i = 0; i < 7; ++i) {
    const float x = brush.rng.uniform();
    const float y = brush.rng.range(0.22F, 0.46F);
    const float size = brush.rng.range(0.05F, 0.12F);
    const Vec3 hue =
        brush.rng.uniform() < 0.3F ? fromSrgb(120, 62, 48) : leafGreen(brush.rng) * 1.8F;
    for (int k = 0; k < 160; ++k) {
      const Vec3 d = brush.rng.direction();
      brush.disc(x + d.x * size,
                 y + d.y * size * 0.7F,
                 brush.rng.range(0.004F, 0.012F),
                 hue * (0.75F - 0.45F * d.y) * brush.rng.range(0.6F, 1.2F));
    }
    brush.box(x - 0.006F, y + size * 0.5F, x + 0.006F, 0.6F, fromSrgb(58, 46, 36));
  }
}

void paintGround(Brush& brush) {
  for (int y = static_cast<int>(kCanvasPx * (kHorizon + 0.02F)); y < kCanvasPx; ++y) {
    for (int x = 0; x < kCanvasPx; ++x) {
      const float depth = 1.0F / (static_cast<float>(y) / kCanvasPx - kHorizon + 0.05F);
      const Vec3 p{
          (static_cast<float>(x) - kCanvasPx * 0.5F) * depth * 0.0025F, depth * 1.4F, 6.0F};
      const float patch = 0.45F * fractalNoise(p, 4) + 0.55F * fractalNoise(p * 5.0F, 3);
      const Vec3 ground =
          mix(fromSrgb(84, 84, 62), fromSrgb(138, 130, 114), smoothStep(0.36F, 0.64F, patch)) *
          (0.6F + 0.4F * fractalNoise(p * 3.0F, 3));
      brush.canvas.at<cv::Vec3f>(y, x) = {ground.x, ground.y, ground.z};
    }
  }
}

// A lens out of focus spreads each point into an even disc.
void discBlur(cv::Mat& canvas, int radius) {
  const int size = 2 * radius + 1;
  cv::Mat kernel(size, size, CV_32F, cv::Scalar(0.0));
  cv::circle(kernel, {radius, radius}, radius, cv::Scalar(1.0), cv::FILLED, cv::LINE_AA);
  kernel /= cv::sum(kernel)[0];
  cv::filter2D(canvas, canvas, -1, kernel, {-1, -1}, 0.0, cv::BORDER_REFLECT);
}

}  // namespace

cv::Mat paintBackdrop(const BackdropLook& look,
                      const LightLook& light,
                      const CameraLook& camera,
                      int reduction) {
  Brush brush{cv::Mat(kCanvasPx, kCanvasPx, CV_32FC3), Rng(look.seed)};
  paintSky(brush, light);
  if (look.kind != BackdropKind::Garden) {
    paintFoliage(brush, 0.10F, 0.42F, 0.14F, 2200);
  }
  switch (look.kind) {
    case BackdropKind::Fence:
      paintFence(brush);
      break;
    case BackdropKind::Wall:
      paintWall(brush);
      break;
    case BackdropKind::Garden:
      paintGarden(brush);
      break;
    case BackdropKind::Hedge:
      paintFoliage(brush, 0.16F, 0.6F, 0.05F, 6500);
      break;
  }
  paintGround(brush);
  const Vec3 level = (light.sun * 0.42F + light.sky * 0.8F) * look.tint * look.brightness;
  cv::multiply(brush.canvas, scalar(level), brush.canvas);
  const int outWidth = camera.widthPx / reduction;
  const int outHeight = camera.heightPx / reduction;
  const float longer = static_cast<float>(std::max(outWidth, outHeight));
  const float zoom = 1.45F * longer / kCanvasPx;  // canvas to picture
  discBlur(brush.canvas, std::max(2, static_cast<int>(look.blurShare * longer / zoom)));
  // Something three metres behind moves with the viewing direction and a little with the camera
  // itself.
  const Vec3 direction = normalized(camera.target - camera.eye);
  const float panPx = longer * 1.3F;
  const float shiftX = panPx * (direction.x / -direction.z) + longer * camera.eye.x * 0.00012F;
  const float shiftY = panPx * (direction.y / -direction.z) + longer * 0.10F;
  const double roll = static_cast<double>(radians(camera.rollDeg));
  const double c = std::cos(roll) * static_cast<double>(zoom);
  const double s = std::sin(roll) * static_cast<double>(zoom);
  constexpr double kMiddle = kCanvasPx * 0.5;
  const double tx = outWidth * 0.5 - static_cast<double>(shiftX);
  const double ty = outHeight * 0.5 + static_cast<double>(shiftY);
  const cv::Matx23d pictureFromCanvas(
      c, -s, tx - c * kMiddle + s * kMiddle, s, c, ty - s * kMiddle - c * kMiddle);
  cv::Mat picture;
  cv::warpAffine(brush.canvas,
                 picture,
                 pictureFromCanvas,
                 {outWidth, outHeight},
                 cv::INTER_LINEAR,
                 cv::BORDER_REFLECT);
  return picture;
}

}  // namespace edamori::scenes
