// SPDX-License-Identifier: GPL-3.0-or-later
#include "stage.h"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

constexpr int kTilePx = 1024;
constexpr float kFarBelowPx = -300.0F;  // a backdrop, too far to be shaded by what is drawn

std::uint32_t mixed(std::uint32_t h) {
  h ^= h >> 15U;
  h *= 0x2C1B3C6DU;
  h ^= h >> 12U;
  h *= 0x297A2D39U;
  return h ^ (h >> 15U);
}

float latticeUnit(int x, int y, std::uint32_t seed) {
  return static_cast<float>(
             mixed(static_cast<std::uint32_t>(x) * 0x8DA6B343U ^
                   static_cast<std::uint32_t>(y) * 0xD8163841U ^ (seed * 0xCB1AB31FU)) >>
             8U) *
         (1.0F / 16777216.0F);
}

// Sum of periodic octaves, spread to a standard deviation of about 0.17.
std::vector<float> makeTile(int cells, std::uint32_t octaves) {
  std::vector<float> tile(static_cast<std::size_t>(kTilePx) * kTilePx, 0.5F);
  float weight = 0.5F;
  for (std::uint32_t octave = 0; octave < octaves; ++octave) {
    for (int y = 0; y < kTilePx; ++y) {
      for (int x = 0; x < kTilePx; ++x) {
        const float px = fl(x * cells) / fl(kTilePx);
        const float py = fl(y * cells) / fl(kTilePx);
        const int ix = whole(px);
        const int iy = whole(py);
        const float u = smoothStep(0.0F, 1.0F, px - fl(ix));
        const float v = smoothStep(0.0F, 1.0F, py - fl(iy));
        const int nx = (ix + 1) % cells;
        const int ny = (iy + 1) % cells;
        const float value = mix(mix(latticeUnit(ix, iy, octave), latticeUnit(nx, iy, octave), u),
                                mix(latticeUnit(ix, ny, octave), latticeUnit(nx, ny, octave), u),
                                v);
        tile[static_cast<std::size_t>(y) * kTilePx + static_cast<std::size_t>(x)] +=
            weight * (value - 0.5F) * 1.3F;
      }
    }
    weight *= 0.58F;
    cells *= 2;
  }
  return tile;
}

float average(const Stage& stage, int x, int y, float Surface::* member) {
  return 0.25F * (stage.at(2 * x, 2 * y).*member + stage.at(2 * x + 1, 2 * y).*member +
                  stage.at(2 * x, 2 * y + 1).*member + stage.at(2 * x + 1, 2 * y + 1).*member);
}

cv::Mat halvedHeight(const Stage& stage) {
  cv::Mat height(stage.height() / 2, stage.width() / 2, CV_32F);
  for (int y = 0; y < height.rows; ++y) {
    for (int x = 0; x < height.cols; ++x) {
      height.at<float>(y, x) = 0.5F * average(stage, x, y, &Surface::height);
    }
  }
  return height;
}

// Share of the sun that reaches each pixel, by marching over the heights towards the sun.
cv::Mat sunShare(const cv::Mat& height, const Light& light) {
  cv::Mat share(height.size(), CV_32F, cv::Scalar(1.0));
  double highest = 0.0;
  cv::minMaxLoc(height, nullptr, &highest);
  const float run = std::hypot(light.sunDirection.x, light.sunDirection.y);
  const float rise = light.sunDirection.z / std::max(run, 0.02F);
  const Vec3 step = light.sunDirection * (1.0F / std::max(run, 0.02F));
  const float reach = std::min(static_cast<float>(highest) / rise, 400.0F);
  for (int y = 0; y < height.rows; ++y) {
    for (int x = 0; x < height.cols; ++x) {
      const float own = height.at<float>(y, x);
      if (own < kFarBelowPx) {
        continue;
      }
      const float limit = std::min(reach, (static_cast<float>(highest) - own) / rise);
      for (float far = 1.5F; far < limit; far += 1.0F + 0.12F * far) {
        const int sx = x + static_cast<int>(step.x * far);
        const int sy = y + static_cast<int>(step.y * far);
        if (sx < 0 || sy < 0 || sx >= height.cols || sy >= height.rows) {
          break;
        }
        if (height.at<float>(sy, sx) > own + far * rise + 1.2F) {
          share.at<float>(y, x) = 1.0F - light.shadowStrength;
          break;
        }
      }
    }
  }
  const double blur = std::max(0.6, static_cast<double>(light.shadowSoftnessPx));
  cv::GaussianBlur(share, share, {}, blur);
  return share;
}

cv::Mat skyShare(const cv::Mat& height, const Light& light) {
  cv::Mat open(height.size(), CV_32F, cv::Scalar(1.0));
  for (const float reach : {light.occlusionReachPx, 0.3F * light.occlusionReachPx}) {
    const int side = std::max(3, static_cast<int>(2.0F * reach) | 1);
    cv::Mat soft;
    cv::blur(height, soft, {side, side});
    cv::blur(soft, soft, {side / 2 + 1, side / 2 + 1});
    cv::Mat below = soft - height;
    below = below * (1.0 / static_cast<double>(reach));
    cv::max(below, 0.0, below);
    cv::min(below, 1.2, below);
    open -= below * static_cast<double>(light.occlusion) * 0.5;
  }
  cv::max(open, 0.12, open);
  open.setTo(1.0, height < static_cast<double>(kFarBelowPx));
  return open;
}

float dappleAt(const Light& light, int x, int y) {
  if (light.dapple <= 0.0F) {
    return 1.0F;
  }
  const float shift = hashedUnit(light.seed);
  const float n = tileNoise(fl(x) / (6.0F * light.dappleSizePx) + shift,
                            fl(y) / (6.0F * light.dappleSizePx) + 0.37F + shift);
  const float edge = 0.004F + 0.06F * hashedUnit(light.seed + 1);
  return 1.0F - light.dapple * smoothStep(0.52F - edge, 0.52F + edge, n);
}

Vec3 shaded(const Surface& s, const Light& light, float sunPart, float skyPart) {
  const float flat = s.normalX * s.normalX + s.normalY * s.normalY;
  const float length = 1.0F / std::sqrt(1.0F + flat);
  const Vec3 normal{s.normalX * length, s.normalY * length, length};
  const float facing = dot(normal, light.sunDirection);
  const float through = fl(s.translucency) * (1.0F / 255.0F);
  const float lambert = std::max(0.0F, facing);
  const Vec3 half = normalized(light.sunDirection + Vec3{0.0F, 0.0F, 1.0F});
  const float shine = std::max(0.0F, dot(normal, half));
  const float exponent = 6.0F + 90.0F * s.gloss * s.gloss;
  const float glint = s.gloss * 0.9F * std::pow(shine, exponent) * sunPart;
  const float skyGlint = 0.10F * s.gloss * (1.0F - 0.5F * normal.y) * skyPart;
  const Vec3 direct = light.sun * (sunPart * (lambert + 0.35F * through * (0.4F + std::abs(facing))));
  const Vec3 ambient = light.sky * (skyPart * (0.75F + 0.25F * normal.z - 0.2F * normal.y));
  // Light that crossed the blade is yellower and more saturated.
  const Vec3 tint = mix(Vec3{1.0F, 1.0F, 1.0F}, Vec3{1.1F, 1.12F, 0.6F}, 0.6F * through);
  return s.albedo * tint * (direct + ambient) + light.sun * glint + light.sky * skyGlint;
}

unsigned char majority(std::array<unsigned char, 4> labels) {
  std::sort(labels.begin(), labels.end());
  return labels[1] == labels[2] || labels[0] != labels[1] ? labels[2] : labels[1];
}

void addDepthBlur(Lit& scene, float blurPx) {
  double highest = 0.0;
  cv::minMaxLoc(scene.height, nullptr, &highest);
  cv::Mat soft;
  cv::GaussianBlur(scene.radiance, soft, {}, static_cast<double>(blurPx));
  cv::Mat weight = 1.0 - scene.height * (1.6 / std::max(highest, 1.0));
  cv::max(weight, 0.0, weight);
  cv::min(weight, 1.0, weight);
  cv::GaussianBlur(weight, weight, {}, 0.5 * static_cast<double>(blurPx) + 0.5);
  for (int y = 0; y < weight.rows; ++y) {
    for (int x = 0; x < weight.cols; ++x) {
      cv::Vec3f& p = scene.radiance.at<cv::Vec3f>(y, x);
      p += (soft.at<cv::Vec3f>(y, x) - p) * weight.at<float>(y, x);
    }
  }
}

void addMotion(cv::Mat& picture, float lengthPx, float angle) {
  const int side = 2 * static_cast<int>(std::ceil(0.5F * lengthPx)) + 1;
  cv::Mat kernel = cv::Mat::zeros(side, side, CV_32F);
  const float c = 0.5F * fl(side - 1);
  for (float t = -0.5F; t <= 0.5F; t += 0.05F) {
    const int x = static_cast<int>(std::lround(c + t * lengthPx * std::cos(angle)));
    const int y = static_cast<int>(std::lround(c + t * lengthPx * std::sin(angle)));
    kernel.at<float>(y, x) += 1.0F;
  }
  kernel /= cv::sum(kernel)[0];
  cv::filter2D(picture, picture, -1, kernel);
}

void addLens(cv::Mat& radiance, Rng& rng) {
  const float kind = rng.uniform();
  const float blur = kind < 0.55F ? rng.range(0.0F, 0.7F) : rng.range(0.5F, 2.5F) * rng.uniform() + 0.3F;
  if (blur > 0.15F) {
    cv::GaussianBlur(radiance, radiance, {}, static_cast<double>(blur));
  }
  if (rng.uniform() < 0.12F) {
    addMotion(radiance, rng.range(1.5F, 6.0F), rng.range(0.0F, kPi));
  }
  if (rng.uniform() < 0.25F) {  // Veiling glare.
    const cv::Scalar mean = cv::mean(radiance);
    const double veil = static_cast<double>(rng.range(0.01F, 0.10F));
    radiance = radiance * (1.0 - veil) + mean * veil;
  }
}

// 8-bit tone curve of linear light in steps of 1/1024 up to 4.
std::vector<float> toneCurve(Rng& rng) {
  const float shoulder = rng.range(0.15F, 0.9F);
  const float contrast = rng.range(-0.25F, 0.7F);
  const float black = rng.uniform() < 0.3F ? rng.range(0.0F, 0.05F) : 0.0F;
  std::vector<float> curve(4097);
  for (std::size_t i = 0; i < curve.size(); ++i) {
    const float v = static_cast<float>(i) / 1024.0F;
    const float rolled = v < 1.0F - shoulder
                             ? v
                             : 1.0F - shoulder +
                                   shoulder * (1.0F - std::exp(-(v - 1.0F + shoulder) / shoulder));
    const float e = rolled <= 0.0031308F ? 12.92F * rolled
                                         : 1.055F * std::pow(rolled, 1.0F / 2.4F) - 0.055F;
    const float s = mix(e, e * e * (3.0F - 2.0F * e), contrast);
    curve[i] = black + (1.0F - black) * s;
  }
  return curve;
}

Vec3 whiteBalance(Rng& rng) {
  const float warm = 0.13F * rng.normal();
  const float green = 0.035F * rng.normal();
  return {std::exp(std::clamp(warm, -0.3F, 0.3F)), std::exp(green),
          std::exp(-1.15F * std::clamp(warm, -0.3F, 0.3F))};
}

float exposureOf(const cv::Mat& radiance, Rng& rng) {
  std::vector<float> values;
  for (int y = 3; y < radiance.rows; y += 9) {
    for (int x = 3; x < radiance.cols; x += 9) {
      const cv::Vec3f& p = radiance.at<cv::Vec3f>(y, x);
      values.push_back(luminance({p[0], p[1], p[2]}));
    }
  }
  std::sort(values.begin(), values.end());
  float mean = 0.0F;
  for (const float v : values) {
    mean += v;
  }
  mean /= static_cast<float>(values.size());
  const float bright = values[values.size() * 97 / 100];
  const float gain = std::min(rng.range(0.17F, 0.27F) / mean, 1.15F / bright);
  return gain * std::exp2(std::clamp(0.45F * rng.normal(), -1.0F, 1.0F));
}

cv::Mat sensorNoise(cv::Size size, Rng& rng) {
  cv::Mat noise(size, CV_32FC3);
  cv::RNG source(static_cast<std::uint64_t>(rng.uniform() * 1.6e7F) * 2654435761ULL + 77U);
  source.fill(noise, cv::RNG::NORMAL, 0.0, 1.0);
  if (rng.uniform() < 0.75F) {  // Demosaicing and noise reduction correlate it.
    const double reach = static_cast<double>(rng.range(0.45F, 1.1F));
    cv::GaussianBlur(noise, noise, {}, reach);
    noise *= 1.0 + 1.6 * reach;
  }
  return noise;
}

}  // namespace

namespace {

float sampled(const std::vector<float>& tile, float x, float y) {
  const float px = (x - std::floor(x)) * kTilePx;
  const float py = (y - std::floor(y)) * kTilePx;
  const int ix = std::min(static_cast<int>(px), kTilePx - 1);
  const int iy = std::min(static_cast<int>(py), kTilePx - 1);
  const float u = px - fl(ix);
  const float v = py - fl(iy);
  const int nx = (ix + 1) & (kTilePx - 1);
  const int ny = (iy + 1) & (kTilePx - 1);
  const auto value = [&tile](int tx, int ty) {
    return tile[static_cast<std::size_t>(ty) * kTilePx + static_cast<std::size_t>(tx)];
  };
  return mix(mix(value(ix, iy), value(nx, iy), u), mix(value(ix, ny), value(nx, ny), u), v);
}

}  // namespace

float tileNoise(float x, float y) {
  static const std::vector<float> tile = makeTile(6, 7);
  return sampled(tile, x, y);
}

float noiseAt(float x, float y, float features) {
  if (features <= 40.0F) {
    return tileNoise(x * features / 6.0F, y * features / 6.0F);
  }
  static const std::vector<float> fineTile = makeTile(96, 3);
  // Turned, so that what repeats does not line up with the frame.
  const float u = (0.83F * x + 0.557F * y) * features / 96.0F;
  const float v = (0.83F * y - 0.557F * x) * features / 96.0F;
  return sampled(fineTile, u, v);
}

Cell cellAt(float x, float y, std::uint32_t seed) {
  const int cx = whole(x);
  const int cy = whole(y);
  float first = 9.0F;
  float second = 9.0F;
  Cell cell;
  for (int dy = -1; dy <= 1; ++dy) {
    for (int dx = -1; dx <= 1; ++dx) {
      const std::uint32_t h = mixed(static_cast<std::uint32_t>(cx + dx) * 0x8DA6B343U ^
                                    static_cast<std::uint32_t>(cy + dy) * 0xD8163841U ^ seed);
      const float sx = fl(cx + dx) + 0.1F + 0.8F * static_cast<float>(h & 1023U) / 1024.0F;
      const float sy = fl(cy + dy) + 0.1F + 0.8F * static_cast<float>((h >> 10U) & 1023U) / 1024.0F;
      const float d = (sx - x) * (sx - x) + (sy - y) * (sy - y);
      if (d < first) {
        second = first;
        first = d;
        cell.value = static_cast<float>(h >> 20U) / 4096.0F;
        cell.siteX = sx;
        cell.siteY = sy;
      } else if (d < second) {
        second = d;
      }
    }
  }
  cell.nearest = std::sqrt(first);
  cell.border = std::sqrt(second) - cell.nearest;
  return cell;
}

Light randomLight(Rng& rng, float scalePx) {
  Light light;
  const float angle = rng.range(0.0F, 2.0F * kPi);
  const float elevation = radians(rng.range(22.0F, 80.0F));
  light.sunDirection = {std::cos(angle) * std::cos(elevation),
                        std::sin(angle) * std::cos(elevation), std::sin(elevation)};
  const float overcast = rng.uniform() < 0.45F ? rng.range(0.5F, 0.95F) : rng.range(0.0F, 0.4F);
  light.sun = mix(Vec3{1.25F, 1.15F, 0.98F}, Vec3{0.3F, 0.3F, 0.3F}, overcast) *
              (1.0F / light.sunDirection.z * 0.7F + 0.3F);
  light.sky = mix(Vec3{0.16F, 0.20F, 0.28F}, Vec3{0.72F, 0.75F, 0.78F}, overcast) * rng.range(0.7F, 1.4F);
  light.shadowSoftnessPx = scalePx * (0.001F + 0.02F * overcast * rng.uniform());
  light.occlusion = rng.range(0.35F, 0.9F);
  light.occlusionReachPx = scalePx * rng.range(0.015F, 0.05F);
  light.gradient = rng.uniform() < 0.5F ? rng.range(0.0F, 0.55F) : 0.0F;
  light.gradientAngle = rng.range(0.0F, 2.0F * kPi);
  light.dappleSizePx = scalePx * rng.range(0.05F, 0.4F);
  light.seed = static_cast<std::uint64_t>(rng.uniform() * 1.6e7F);
  return light;
}

Lit lit(const Stage& stage, const Light& light) {
  Lit result;
  result.height = halvedHeight(stage);
  const cv::Mat sun = sunShare(result.height, light);
  const cv::Mat sky = skyShare(result.height, light);
  result.radiance.create(result.height.size(), CV_32FC3);
  result.labels.create(result.height.size(), CV_8U);
  const float gx = light.gradient * std::cos(light.gradientAngle);
  const float gy = light.gradient * std::sin(light.gradientAngle);
  for (int y = 0; y < result.height.rows; ++y) {
    for (int x = 0; x < result.height.cols; ++x) {
      const float sunPart = sun.at<float>(y, x) * dappleAt(light, x, y);
      const float skyPart = sky.at<float>(y, x);
      Vec3 sum;
      std::array<unsigned char, 4> labels{};
      for (int k = 0; k < 4; ++k) {
        const Surface& s = stage.at(2 * x + k % 2, 2 * y + k / 2);
        sum += shaded(s, light, sunPart, skyPart);
        labels.at(static_cast<std::size_t>(k)) = s.label;
      }
      const float slope = 1.0F + gx * (fl(x) / fl(result.height.cols) - 0.5F) +
                          gy * (fl(y) / fl(result.height.rows) - 0.5F);
      sum = sum * (0.25F * slope);
      result.radiance.at<cv::Vec3f>(y, x) = {sum.x, sum.y, sum.z};
      result.labels.at<unsigned char>(y, x) = majority(labels);
    }
  }
  return result;
}

cv::Mat photographed(Lit& scene, Rng& rng, float depthBlurPx) {
  cv::Mat& light = scene.radiance;
  if (depthBlurPx > 0.3F) {
    addDepthBlur(scene, depthBlurPx);
  }
  addLens(light, rng);
  const float gain = exposureOf(light, rng);
  const Vec3 balance = whiteBalance(rng) * gain;
  const std::vector<float> curve = toneCurve(rng);
  const float noisy = rng.uniform() < 0.7F ? rng.range(0.1F, 1.2F) : rng.range(1.0F, 4.5F);
  const cv::Mat noise = sensorNoise(light.size(), rng);
  const float saturation = std::clamp(1.0F + 0.18F * rng.normal(), 0.6F, 1.55F);
  const float vignette = rng.uniform() < 0.5F ? rng.range(0.0F, 0.45F) : 0.0F;
  const float cx = 0.5F * fl(light.cols);
  const float cy = 0.5F * fl(light.rows);
  const auto toned = [&](float v, float n) {
    const float sigma = noisy * std::sqrt(0.00025F * std::max(v, 0.0F) + 0.000004F);
    return curve[static_cast<std::size_t>(std::clamp((v + sigma * n) * 1024.0F, 0.0F, 4096.0F))];
  };
  for (int y = 0; y < light.rows; ++y) {
    for (int x = 0; x < light.cols; ++x) {
      cv::Vec3f& p = light.at<cv::Vec3f>(y, x);
      const cv::Vec3f& n = noise.at<cv::Vec3f>(y, x);
      const float dx = (fl(x) - cx) / cx;
      const float dy = (fl(y) - cy) / cx;
      const float fall = 1.0F - vignette * (dx * dx + dy * dy) * 0.66F;
      const Vec3 c{toned(p[0] * balance.x * fall, n[0]), toned(p[1] * balance.y * fall, n[1]),
                   toned(p[2] * balance.z * fall, n[2])};
      const float grey = luminance(c);
      const Vec3 out = Vec3{grey, grey, grey} + (c - Vec3{grey, grey, grey}) * saturation;
      p = {out.x, out.y, out.z};
    }
  }
  if (rng.uniform() < 0.6F) {
    cv::Mat soft;
    cv::GaussianBlur(light, soft, {}, static_cast<double>(rng.range(0.8F, 1.6F)));
    const double strength = static_cast<double>(rng.range(0.1F, 0.8F));
    light = light * (1.0 + strength) - soft * strength;
  }
  cv::Mat picture;
  light.convertTo(picture, CV_8UC3, 255.0);
  return picture;
}

}  // namespace edamori::scenes
