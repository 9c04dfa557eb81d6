// SPDX-License-Identifier: GPL-3.0-or-later
// How fluid a pair of 12-megapixel photos is on Before & After: one step of what a person does, until
// it is painted. Beside each stands how many plain copies of a frame of that size it takes, measured
// in the same run, because times on a shared machine say little alone.
//
// Run: QT_QPA_PLATFORM=offscreen [QT_SCALE_FACTOR=2] build/release/tests/pair_bench
#include "app/look/theme.h"
#include "app/pages/before_after/pair_view.h"

#include <QApplication>
#include <QTest>
#include <chrono>
#include <cstring>
#include <functional>
#include <stdexcept>
#include <vector>

#include <benchmark/benchmark.h>

namespace edamori::test {
namespace {

using pages::PairMode;
using pages::PairView;
using Clock = std::chrono::steady_clock;

double msSince(Clock::time_point start) {
  return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

RgbImage grain(unsigned seed) {
  RgbImage image(4000, 3000);
  unsigned state = seed;
  for (int y = 0; y < image.height(); ++y) {
    auto* const row = image.row(y);
    for (int x = 0; x < 3 * image.width(); ++x) {
      state = state * 1664525U + 1013904223U;
      row[x] = static_cast<std::uint8_t>(90 + (((x / 90) ^ (y / 30)) & 31) + static_cast<int>(state >> 28));
    }
  }
  return image;
}

struct Stage {
  Stage() {
    const QSize size(4000, 3000);
    pages::PairPictures pictures;
    pictures.before = pages::pairPicture(grain(1), size);
    pictures.after = pages::pairPicture(grain(2), size);
    pictures.outlineBefore =
        Outline{.polygon = {{900, 700}, {2900, 800}, {3000, 2400}, {1000, 2300}}, .holes = {}};
    pages::ComparisonShown shown;
    shown.aligned = true;
    shown.laidOn = pictures.after;
    shown.grey = {.photoSize = size, .levels = {pictures.after.levels.back()}, .isWhole = false};
    shown.outlineAfterOnBefore = *pictures.outlineBefore;
    QImage change(1000, 800, QImage::Format_ARGB32_Premultiplied);
    change.fill(QColor(0, 114, 178, 90));
    shown.change = {.areaPx = QRectF(900, 700, 2100, 1700), .image = change};
    view.resize(1280, 800);
    view.setPictures(pictures);
    view.setComparison(shown);
    view.show();
    if (!QTest::qWaitForWindowExposed(&view)) throw std::runtime_error("the pair never came on screen");
  }
  PairView view;
};

double plainCopyMs(const QSize& sizePx) {
  static std::vector<char> from(static_cast<std::size_t>(sizePx.width() * sizePx.height() * 4), 7);
  static std::vector<char> to(from.size());
  const auto start = Clock::now();
  std::memcpy(to.data(), from.data(), from.size());
  benchmark::DoNotOptimize(to.data());
  return msSince(start);
}

void step(benchmark::State& state, PairMode mode, const std::function<void(PairView&, int)>& act) {
  Stage stage;
  stage.view.setMode(mode);
  stage.view.repaint();
  double mine = 0, worst = 0, limit = 0;
  int i = 0;
  for (auto _ : state) {
    const auto start = Clock::now();
    act(stage.view, i++);
    stage.view.repaint();
    const double ms = msSince(start);
    state.SetIterationTime(ms / 1000);
    mine += ms;
    worst = std::max(worst, ms);
    limit += plainCopyMs(stage.view.size() * stage.view.devicePixelRatioF());
  }
  state.counters["worst_ms"] = worst;
  state.counters["of_a_copy"] = mine / limit;
}

void drag(PairView& view, int i) {
  const int by = i % 40 < 20 ? 9 : -9;
  const QPoint from(300, 300);
  QTest::mousePress(&view, Qt::LeftButton, {}, from);
  QTest::mouseMove(&view, from + QPoint(by, by / 3));
  QTest::mouseRelease(&view, Qt::LeftButton, {}, from + QPoint(by, by / 3));
}

void pan(benchmark::State& state) { step(state, PairMode::SideBySide, drag); }
void panBehindTheLine(benchmark::State& state) { step(state, PairMode::Line, drag); }
void panWhatChanged(benchmark::State& state) { step(state, PairMode::Change, drag); }
void moveTheLine(benchmark::State& state) {
  step(state, PairMode::Line, [](PairView& view, int i) { view.setLine((i % 100) / 100.0); });
}
void showTheOther(benchmark::State& state) {
  step(state, PairMode::InTurn, [](PairView& view, int) { view.showOther(); });
}
void zoom(benchmark::State& state) {
  step(state, PairMode::SideBySide, [](PairView& view, int i) {
    view.zoom(i % 10 < 5 ? PairView::Zoom::In : PairView::Zoom::Out);
  });
}

BENCHMARK(pan)->UseManualTime()->Iterations(60)->Unit(benchmark::kMillisecond);
BENCHMARK(panBehindTheLine)->UseManualTime()->Iterations(60)->Unit(benchmark::kMillisecond);
BENCHMARK(panWhatChanged)->UseManualTime()->Iterations(60)->Unit(benchmark::kMillisecond);
BENCHMARK(moveTheLine)->UseManualTime()->Iterations(60)->Unit(benchmark::kMillisecond);
BENCHMARK(showTheOther)->UseManualTime()->Iterations(60)->Unit(benchmark::kMillisecond);
BENCHMARK(zoom)->UseManualTime()->Iterations(60)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace edamori::test

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  QApplication application(argc, argv);
  edamori::look::apply(application, edamori::look::Theme::Light);
  benchmark::Initialize(&argc, argv);
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
