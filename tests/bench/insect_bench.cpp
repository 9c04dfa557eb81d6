// SPDX-License-Identifier: GPL-3.0-or-later
// How long the search for scale insects takes, against decoding the same photo in the same run:
//
//   of_decoding      the whole photo
//   of_decoding      within an outline of a tenth of it
//
// Run: build/release/tests/insect_bench
#include "vision/insects/scale_insects.h"
#include "vision/load/load.h"

#include <chrono>
#include <cmath>
#include <cstdint>
#include <stdexcept>

#include <benchmark/benchmark.h>

namespace edamori::vision {
namespace {

using Clock = std::chrono::steady_clock;

double secondsSince(Clock::time_point start) { return std::chrono::duration<double>(Clock::now() - start).count(); }

// Bark-like grain, so that the JPEG is about as large as a telephone's.
RgbImage grainedPhoto(int width, int height) {
  RgbImage image(width, height);
  unsigned state = 5;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      state = state * 1664525U + 1013904223U;
      const int grain = static_cast<int>(state >> 27);
      const int ridge = static_cast<int>(20 * std::sin(0.05 * x) * std::sin(0.02 * y));
      image.at(x, y, 0) = static_cast<std::uint8_t>(110 + ridge + grain);
      image.at(x, y, 1) = static_cast<std::uint8_t>(94 + ridge + grain);
      image.at(x, y, 2) = static_cast<std::uint8_t>(76 + ridge + grain);
    }
  }
  return image;
}

void search(benchmark::State& state, const InsectSearch& asked, int width, int height) {
  const auto bytes = encodeJpeg(grainedPhoto(width, height), 90);
  double mine = 0.0, decoding = 0.0;
  for (auto _ : state) {
    auto start = Clock::now();
    const auto photo = decodePhoto(bytes.value(), "grain");
    decoding += secondsSince(start);
    start = Clock::now();
    const auto found = findScaleInsects(photo->image, asked);
    const double took = secondsSince(start);
    if (!found) {
      throw std::runtime_error(found.error().message);
    }
    mine += took;
    state.SetIterationTime(took);
  }
  state.counters["of_decoding"] = mine / decoding;
}

void WholePhotoOf12Megapixels(benchmark::State& state) { search(state, {}, 4000, 3000); }
void WholePhotoOf48Megapixels(benchmark::State& state) { search(state, {}, 8000, 6000); }
void TenthOf12Megapixels(benchmark::State& state) {
  search(state,
         {.outlines = {{.polygon = {{500, 500}, {2500, 500}, {2500, 1100}, {500, 1100}}, .holes = {}}},
          .sizes = {},
          .leastScore = 0.1,
          .goOn = {}},
         4000, 3000);
}

BENCHMARK(WholePhotoOf12Megapixels)->UseManualTime()->Iterations(3)->Unit(benchmark::kMillisecond);
BENCHMARK(WholePhotoOf48Megapixels)->UseManualTime()->Iterations(2)->Unit(benchmark::kMillisecond);
BENCHMARK(TenthOf12Megapixels)->UseManualTime()->Iterations(3)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace edamori::vision

BENCHMARK_MAIN();
