// SPDX-License-Identifier: GPL-3.0-or-later
// How long measuring takes on a 12-megapixel photo of the demo garden, one outline over most of it.
// Limits, measured in the same run because times on a shared machine say little alone:
//
//   a whole measuring       against decoding the photo
//   a stroke of the brush   200 ms from the stroke to the new figures, and against decoding
//
// Run: QT_QPA_PLATFORM=offscreen build/release/tests/measuring_bench
#include "app/pages/bench/live_figures.h"
#include "app/work/measuring.h"
#include "tests/support/temporary_folder.h"
#include "vision/figures/measure.h"
#include "vision/foliage/tissue.h"
#include "vision/load/load.h"

#include <QCoreApplication>
#include <QEventLoop>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <stdexcept>

#include <benchmark/benchmark.h>
#include <opencv2/core/utility.hpp>
#include <opencv2/imgproc.hpp>

namespace edamori::test {
namespace {

using Clock = std::chrono::steady_clock;

double msSince(Clock::time_point start) {
  return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

constexpr int kWidth = 4000, kHeight = 3000;

// A demo photo, enlarged and with the grain of a sensor, as a JPEG of some 4 MB.
class Photo {
 public:
  static const Photo& get() {
    static const Photo photo;
    return photo;
  }
  std::filesystem::path file;
  RgbImage image;
  Outline outline{.polygon = {{300, 250}, {3700, 300}, {3750, 2700}, {280, 2750}}, .holes = {}};

 private:
  Photo() {
    auto small = vision::loadPhoto(EDAMORI_BENCH_PHOTO);
    if (!small) {
      throw std::runtime_error(small.error().message);
    }
    const cv::Mat from(small->image.height(), small->image.width(), CV_8UC3, small->image.data());
    cv::Mat large, grain(kHeight, kWidth, CV_8UC3);
    cv::resize(from, large, {kWidth, kHeight}, 0, 0, cv::INTER_CUBIC);
    cv::RNG random(20261126);
    random.fill(grain, cv::RNG::UNIFORM, 0, 12);
    large += grain;
    RgbImage whole(kWidth, kHeight);
    std::copy_n(large.data, whole.byteCount(), whole.data());
    file = m_folder / "photo.jpg";
    if (const auto saved = vision::savePicture(file, whole); !saved) {
      throw std::runtime_error(saved.error().message);
    }
    image = vision::loadPhoto(file)->image;
  }
  TemporaryFolder m_folder;
};

double decodeMs() {
  const auto start = Clock::now();
  const auto decoded = vision::loadPhoto(Photo::get().file);
  benchmark::DoNotOptimize(decoded->image.data());
  return msSince(start);
}

void WholeMeasuring(benchmark::State& state) {
  const Photo& photo = Photo::get();
  double mine = 0, limit = 0;
  for (auto _ : state) {
    const auto start = Clock::now();
    const auto decoded = vision::loadPhoto(photo.file);
    const auto result = vision::measure(
        decoded->image,
        {.outline = photo.outline, .subject = Subject::Needles, .hints = {}, .learned = {}});
    const double ms = msSince(start);
    if (!result) {
      throw std::runtime_error(result.error().message);
    }
    state.SetIterationTime(ms / 1000);
    mine += ms;
    limit += decodeMs();
  }
  state.counters["of_decoding"] = mine / limit;
}
BENCHMARK(WholeMeasuring)->UseManualTime()->Iterations(12)->Unit(benchmark::kMillisecond);

// The parts of it: what the network sees, at the size it works at …
void NetworkAlone(benchmark::State& state) {
  const RgbImage work = vision::reducedToFit(Photo::get().image, 960);
  for (auto _ : state) {
    benchmark::DoNotOptimize(vision::tissueOf(work));
  }
}
BENCHMARK(NetworkAlone)->Iterations(12)->Unit(benchmark::kMillisecond);

// … all that does not depend on hints, and all that does.
void ReadOutline(benchmark::State& state) {
  for (auto _ : state) {
    benchmark::DoNotOptimize(
        vision::OutlineReading::create(Photo::get().image, Photo::get().outline));
  }
}
BENCHMARK(ReadOutline)->Iterations(12)->Unit(benchmark::kMillisecond);

void JudgeReading(benchmark::State& state) {
  const auto reading = vision::OutlineReading::create(Photo::get().image, Photo::get().outline);
  for (auto _ : state) {
    benchmark::DoNotOptimize(reading->judged({}));
  }
}
BENCHMARK(JudgeReading)->Iterations(12)->Unit(benchmark::kMillisecond);

std::vector<store::HintStroke> strokes(int count) {
  std::vector<store::HintStroke> drawn;
  for (int i = 0; i < count; ++i) {
    store::HintStroke stroke;
    stroke.kind = static_cast<store::HintKind>(i % 3);
    stroke.radiusPx = 25;
    for (int k = 0; k < 30; ++k) {
      stroke.points.push_back({900.0 + 70 * k, 700 + 137 * (i % 12) + 30 * std::sin(k * 0.5)});
    }
    drawn.push_back(std::move(stroke));
  }
  return drawn;
}

// From the stroke to the figures on their way to the panel, by the worker that the Bench uses.
void StrokeToFigures(benchmark::State& state) {
  const Photo& photo = Photo::get();
  const QImage shown = QImage(photo.image.data(), kWidth, kHeight, 3 * kWidth, QImage::Format_RGB888)
                           .convertToFormat(QImage::Format_RGB32);
  pages::LiveFigures live;
  work::MeasuringInputs inputs;
  inputs.outline.id = store::OutlineId::create();
  inputs.outline.shape = photo.outline;
  inputs.place.subject = Subject::Needles;
  QEventLoop loop;
  QObject::connect(&live, &pages::LiveFigures::judged, &loop, &QEventLoop::quit);
  live.follow(shown, inputs);
  live.judge({});
  loop.exec();
  double mine = 0, limit = 0, worst = 0;
  int count = 0;
  for (auto _ : state) {
    while (!live.isIdle()) {
      QCoreApplication::processEvents(QEventLoop::WaitForMoreEvents);
    }
    const auto start = Clock::now();
    live.judge(strokes(++count));
    loop.exec();
    const double ms = msSince(start);
    state.SetIterationTime(ms / 1000);
    mine += ms;
    worst = std::max(worst, ms);
    limit += decodeMs();
  }
  state.counters["of_decoding"] = mine / limit;
  state.counters["of_200_ms"] = mine / count / 200;
  state.counters["worst_ms"] = worst;
}
BENCHMARK(StrokeToFigures)->UseManualTime()->Iterations(12)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace edamori::test

int main(int argc, char** argv) {
  const QCoreApplication application(argc, argv);
  cv::setNumThreads(1);
  benchmark::Initialize(&argc, argv);
  try {
    benchmark::RunSpecifiedBenchmarks();
  } catch (const std::exception& error) {
    std::fprintf(stderr, "measuring_bench: %s\n", error.what());
    return 1;
  }
  return 0;
}
