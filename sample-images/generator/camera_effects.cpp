// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/camera_effects.h"

#include <array>

#include "generator/rng.h"
#include <opencv2/imgproc.hpp>

namespace edamori::scenes {
namespace {

// Blur of everything that lies off the focused plane, in three steps of growing radius. Each step
// blurs only what belongs to it, so that sharp parts do not bleed into soft ones.
void applyDepthOfField(cv::Mat& radiance, const cv::Mat& nearness, const CameraLook& camera) {
  const float focus = 1.0F / length(camera.target - camera.eye);
  cv::Mat radius(radiance.size(), CV_32F);
  for (int y = 0; y < radius.rows; ++y) {
    for (int x = 0; x < radius.cols; ++x) {
      const float near = nearness.at<float>(y, x);
      radius.at<float>(y, x) =
          near > 0.0F ? std::min(camera.defocusPx * 1.5F,
                                 camera.defocusPx * 2.5F *
                                     std::max(0.0F, std::abs(1.0F - near / focus) - 0.07F))
                      : camera.defocusPx * 1.5F;
    }
  }
  const cv::Mat sharp = radiance.clone();
  for (const float share : {0.35F, 0.7F, 1.0F}) {
    const double sigma = static_cast<double>(share * camera.defocusPx);
    if (sigma < 0.3) {
      continue;
    }
    cv::Mat mask = radius >= share * camera.defocusPx * 0.45F;
    mask.convertTo(mask, CV_32F, 1.0 / 255.0);
    cv::Mat mask3;
    cv::cvtColor(mask, mask3, cv::COLOR_GRAY2RGB);
    cv::Mat colour = sharp.mul(mask3);
    cv::Mat weight;
    cv::GaussianBlur(colour, colour, {}, sigma);
    cv::GaussianBlur(mask, weight, {}, sigma);
    for (int y = 0; y < radius.rows; ++y) {
      for (int x = 0; x < radius.cols; ++x) {
        const float w = weight.at<float>(y, x);
        const float t = smoothStep(0.30F * share, share, radius.at<float>(y, x) / camera.defocusPx);
        if (w > 0.02F && t > 0.0F) {
          cv::Vec3f& pixel = radiance.at<cv::Vec3f>(y, x);
          pixel = pixel * (1.0F - t) + colour.at<cv::Vec3f>(y, x) * (t / w);
        }
      }
    }
  }
}

// Exposure that puts the geometric mean of the subject at a mid grey, as a centre-weighted meter
// does.
float automaticExposure(const cv::Mat& radiance, const cv::Mat& nearness) {
  double sum = 0.0;
  double weights = 0.0;
  for (int y = 0; y < radiance.rows; y += 4) {
    for (int x = 0; x < radiance.cols; x += 4) {
      const cv::Vec3f& p = radiance.at<cv::Vec3f>(y, x);
      const double weight = nearness.at<float>(y, x) > 0.0F ? 1.0 : 0.45;
      // A strongly saturated surface may come out a little darker than black.
      sum += weight * std::log(0.004 + static_cast<double>(std::max(0.0F, luminance({p[0], p[1], p[2]}))));
      weights += weight;
    }
  }
  return 0.185F / static_cast<float>(std::exp(sum / weights));
}

// Noise as the sensor's colour mosaic leaves it: one value per site, each channel interpolated from
// its own sites.
cv::Mat mosaicNoise(cv::Size size, std::uint64_t seed) {
  cv::Mat sites(size, CV_32F);
  for (int y = 0; y < size.height; ++y) {
    Rng rng(std::uint64_t{65537} * seed + static_cast<std::uint64_t>(y));
    for (int x = 0; x < size.width; ++x) {
      // Sum of four uniforms: near enough to normal, and cheap. Variance 1.
      sites.at<float>(y, x) =
          (rng.uniform() + rng.uniform() + rng.uniform() + rng.uniform() - 2.0F) * 1.732F;
    }
  }
  std::array<cv::Mat, 3> channels;
  for (int k = 0; k < 3; ++k) {
    cv::Mat own(size, CV_32F, cv::Scalar(0.0));
    for (int y = 0; y < size.height; ++y) {
      for (int x = 0; x < size.width; ++x) {
        const int site = (y % 2) + (x % 2);  // 0 red, 1 green, 2 blue
        own.at<float>(y, x) = site == k ? sites.at<float>(y, x) : 0.0F;
      }
    }
    const cv::Mat kernel =
        k == 1
            ? (cv::Mat_<float>(3, 3) << 0.0F, 0.25F, 0.0F, 0.25F, 1.0F, 0.25F, 0.0F, 0.25F, 0.0F)
            : (cv::Mat_<float>(3, 3) << 0.25F, 0.5F, 0.25F, 0.5F, 1.0F, 0.5F, 0.25F, 0.5F, 0.25F);
    cv::filter2D(own, channels.at(static_cast<std::size_t>(k)), -1, kernel);
  }
  cv::Mat noise;
  cv::merge(channels.data(), 3, noise);
  return noise;
}

// Tone curve with a shoulder and a slight toe.
// Source: rational fit by Narkowicz 2015 to a film-like transform, coefficients from memory; then
// the sRGB transfer function.
float toned(float v) {
  const float film = clamp01(v * (2.51F * v + 0.03F) / (v * (2.43F * v + 0.59F) + 0.14F));
  return film <= 0.0031308F ? 12.92F * film : 1.055F * std::pow(film, 1.0F / 2.4F) - 0.055F;
}

cv::Vec3f tonedPixel(Vec3 light) {
  // A little of the colour is kept through the shoulder: the curve works half on brightness, half
  // per channel.
  const float y = luminance(light);
  const float curve = toned(y);
  const Vec3 each{toned(light.x), toned(light.y), toned(light.z)};
  const Vec3 ratio = y > 1e-5F ? light * (1.0F / y) : Vec3{1.0F, 1.0F, 1.0F};
  const auto kept = [&](float channel, float r) {
    return mix(channel, clamp01(curve * std::pow(std::max(r, 0.0F), 0.42F)), 0.62F);
  };
  return {kept(each.x, ratio.x), kept(each.y, ratio.y), kept(each.z, ratio.z)};
}

void exposeAndTone(cv::Mat& radiance,
                   float exposure,
                   const cv::Mat& noise,
                   const CameraLook& camera) {
  const float cx = 0.5F * static_cast<float>(radiance.cols);
  const float cy = 0.5F * static_cast<float>(radiance.rows);
  for (int y = 0; y < radiance.rows; ++y) {
    for (int x = 0; x < radiance.cols; ++x) {
      cv::Vec3f& pixel = radiance.at<cv::Vec3f>(y, x);
      const float dx = (static_cast<float>(x) - cx) / std::max(cx, cy);
      const float dy = (static_cast<float>(y) - cy) / std::max(cx, cy);
      const float fall = 1.0F - camera.vignette * (dx * dx + dy * dy) / 1.5F;
      const cv::Vec3f& n = noise.at<cv::Vec3f>(y, x);
      std::array<float, 3> light{};
      const std::array<float, 3> gain{
          camera.whiteBalance.x, camera.whiteBalance.y, camera.whiteBalance.z};
      for (int k = 0; k < 3; ++k) {
        const float v =
            std::min(pixel[k] * exposure * gain.at(static_cast<std::size_t>(k)) * fall, 12.0F);
        // Photon noise grows with the root of the signal; a small constant part is read noise.
        const float sigma = camera.noise * std::sqrt(0.00022F * v + 0.0000035F);
        light.at(static_cast<std::size_t>(k)) = std::max(0.0F, v + sigma * n[k]);
      }
      pixel = tonedPixel({light[0], light[1], light[2]});
    }
  }
}

}  // namespace

cv::Mat develop(const cv::Mat& radiance, const cv::Mat& nearness, const CameraLook& camera) {
  cv::Mat picture = radiance.clone();
  applyDepthOfField(picture, nearness, camera);
  cv::GaussianBlur(picture, picture, {}, 0.45);
  const float exposure = automaticExposure(picture, nearness) * std::exp2(camera.exposureEv);
  exposeAndTone(picture, exposure, mosaicNoise(picture.size(), camera.seed), camera);
  cv::Mat soft;
  cv::GaussianBlur(picture, soft, {}, 1.1);
  picture = picture * 1.35 - soft * 0.35;
  cv::Mat result;
  picture.convertTo(result, CV_8UC3, 255.0);
  return result;
}

}  // namespace edamori::scenes
