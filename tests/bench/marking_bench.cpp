// SPDX-License-Identifier: GPL-3.0-or-later
// How fast the Bench is on a 48-megapixel photo. Each figure stands beside a named limit measured in
// the same run on the same machine, because times on a shared machine say little alone:
//
//   first picture    against a 1/8 decode of the same file by libjpeg (what cannot be avoided
//                    without a thumbnail)
//   frames           against one plain copy of a frame of that size
//   a mark           against one durable transaction of one row
//
// Run: QT_QPA_PLATFORM=offscreen build/release/tests/marking_bench
#include "app/look/theme.h"
#include "app/pages/bench/bench_page.h"
#include "app/pages/bench/photo_view.h"
#include "app/work/import.h"
#include "app/work/photos.h"
#include "tests/support/temporary_folder.h"
#include "vision/load/load.h"

#include <QApplication>
#include <QElapsedTimer>
#include <QEventLoop>
#include <QTest>
#include <algorithm>
#include <chrono>
#include <cstring>
#include <fstream>
#include <memory>
#include <stdexcept>
#include <string>

#include <benchmark/benchmark.h>
#include <exiv2/exiv2.hpp>
#include <sys/resource.h>

namespace edamori::test {
namespace {

using Clock = std::chrono::steady_clock;

double msSince(Clock::time_point start) {
  return std::chrono::duration<double, std::milli>(Clock::now() - start).count();
}

template <typename Value>
Value need(Result<Value> value) {
  if (!value) {
    throw std::runtime_error(value.error().message);
  }
  return std::move(value).value();
}
void need(const Result<void>& result) {
  if (!result) {
    throw std::runtime_error(result.error().message);
  }
}

// Leaf-like grain, so that the JPEG is about as large as a telephone's.
RgbImage largePhoto(int seed) {
  RgbImage image(8000, 6000);
  unsigned state = static_cast<unsigned>(seed);
  for (int y = 0; y < image.height(); ++y) {
    auto* const row = image.row(y);
    for (int x = 0; x < image.width(); ++x) {
      state = state * 1664525U + 1013904223U;
      const int grain = static_cast<int>(state >> 28);
      const int blot = ((x / 40) ^ (y / 30)) & 31;
      row[3 * x] = static_cast<std::uint8_t>(70 + blot + grain);
      row[3 * x + 1] = static_cast<std::uint8_t>(100 + 2 * blot + grain);
      row[3 * x + 2] = static_cast<std::uint8_t>(50 + blot + grain);
    }
  }
  return image;
}

void writeJpeg(const std::filesystem::path& file, const RgbImage& image, bool hasThumbnail) {
  need(vision::savePicture(file, image));
  if (hasThumbnail) {
    const auto small = need(vision::encodeJpeg(vision::reducedToFit(image, 160), 85));
    auto opened = Exiv2::ImageFactory::open(file.string());
    opened->readMetadata();
    Exiv2::ExifThumb(opened->exifData())
        .setJpegThumbnail(reinterpret_cast<const Exiv2::byte*>(small.data()),
                          static_cast<long>(small.size()));
    opened->writeMetadata();
  }
}

// Made once: two 48-megapixel photos, the second with 5 000 marks.
class Stage {
 public:
  static Stage& get() {
    static Stage stage;
    return stage;
  }
  store::Photo plain, withThumbnail;
  std::unique_ptr<pages::GardenSession> session;

  void forgetPreviews() {
    std::filesystem::remove_all(session->garden().previewsFolder());
    std::filesystem::create_directory(session->garden().previewsFolder());
  }

 private:
  Stage() {
    auto garden = need(store::Garden::create(m_folder / "garden"));
    store::Tree tree;
    tree.id = store::TreeId::create();
    tree.tag = "BENCH";
    need(garden.put(tree));
    writeJpeg(m_folder / "plain.jpg", largePhoto(1), false);
    writeJpeg(m_folder / "thumbnail.jpg", largePhoto(2), true);
    const auto import = [&](const char* name) {
      const auto report =
          need(work::importPhotos(garden, {.paths = {m_folder / name}, .tree = tree.id}));
      return report.takenIn.at(0).photo;
    };
    plain = import("plain.jpg");
    withThumbnail = import("thumbnail.jpg");
    need(garden.inTransaction([&]() -> Result<void> {
      for (int i = 0; i < 5000; ++i) {
        store::Mark mark;
        mark.id = store::MarkId::create();
        mark.photo = withThumbnail.id;
        mark.finding = static_cast<store::Finding>(i % 6);
        mark.stage = static_cast<store::Stage>(i % 3);
        mark.centre = {(i * 7919) % 8000 + 0.5, (i * 104729) % 6000 + 0.5};
        EDAMORI_RETURN_IF_ERROR(garden.put(mark));
      }
      return {};
    }));
    session = std::make_unique<pages::GardenSession>(std::move(garden));
  }
  TemporaryFolder m_folder;
};

double eighthDecodeMs(const store::Photo& photo) {
  const auto files = work::filesOf(Stage::get().session->garden(), photo);
  const auto start = Clock::now();
  const auto decoded = need(vision::loadPhoto(files.original, {.reduceBy = 8}));
  benchmark::DoNotOptimize(decoded.image.data());
  return msSince(start);
}

double memoryMiB(const std::string& key) {
  std::ifstream status("/proc/self/status");
  std::string word;
  while (status >> word) {
    if (word == key) {
      double kib = 0;
      status >> kib;
      return kib / 1024;
    }
  }
  return 0;
}

void resetPeak() { std::ofstream("/proc/self/clear_refs") << "5"; }

double firstPictureMs(const store::Photo& photo) {
  Stage::get().forgetPreviews();
  pages::PictureLoader loader;
  QEventLoop loop;
  QObject::connect(&loader, &pages::PictureLoader::pictureReady, &loop, &QEventLoop::quit);
  const auto start = Clock::now();
  loader.start(Stage::get().session->garden(), photo);
  loop.exec();
  const double ms = msSince(start);
  loader.stop();
  QThreadPool::globalInstance()->waitForDone();
  return ms;
}

void firstPicture(benchmark::State& state, const store::Photo& photo, double limitMs) {
  double limit = 0, mine = 0;
  for (auto _ : state) {
    const double ms = firstPictureMs(photo);
    state.SetIterationTime(ms / 1000);
    mine += ms;
    limit += eighthDecodeMs(photo);
  }
  state.counters["of_eighth_decode"] = mine / limit;
  state.counters["of_issue_limit"] = mine / static_cast<double>(state.iterations()) / limitMs;
}

void FirstPictureWithThumbnail(benchmark::State& state) {
  firstPicture(state, Stage::get().withThumbnail, 50);
}
BENCHMARK(FirstPictureWithThumbnail)->UseManualTime()->Iterations(10)->Unit(benchmark::kMillisecond);

void FirstPictureWithoutThumbnail(benchmark::State& state) {
  firstPicture(state, Stage::get().plain, 200);
}
BENCHMARK(FirstPictureWithoutThumbnail)
    ->UseManualTime()
    ->Iterations(10)
    ->Unit(benchmark::kMillisecond);

// A page of 2560 × 1440 view px for the photo alone, with 5 000 marks.
class OpenPage {
 public:
  OpenPage() {
    page.setSession(Stage::get().session.get());
    page.resize(3100, 1600);
    page.show();
    need(page.openPhoto(Stage::get().withThumbnail.id));
    view = page.findChild<pages::PhotoView*>(QStringLiteral("photo"));
    if (!QTest::qWaitFor([this] { return view->isWhole(); }, 30000)) {
      throw std::runtime_error("the photo was not shown");
    }
    page.resize(page.width() + 2560 - view->width(), page.height() + 1440 - view->height());
    QCoreApplication::processEvents();
  }
  pages::BenchPage page;
  pages::PhotoView* view = nullptr;
};

// Opens the photo in a fresh page: what the process holds at most meanwhile.
void MemoryWithOnePhoto(benchmark::State& state) {
  for (auto _ : state) {
    resetPeak();
    OpenPage open;
    state.counters["peak_MiB"] = memoryMiB("VmHWM:");
    state.counters["then_MiB"] = memoryMiB("VmRSS:");
    state.counters["of_700_MB"] = memoryMiB("VmHWM:") * 1.048576 / 700;
  }
}
BENCHMARK(MemoryWithOnePhoto)->Iterations(1)->Unit(benchmark::kMillisecond);

double frameCopyMs() {
  static const QImage from(2560, 1440, QImage::Format_RGB32);
  static QImage to(2560, 1440, QImage::Format_RGB32);
  const auto start = Clock::now();
  std::memcpy(to.bits(), from.constBits(), static_cast<std::size_t>(from.sizeInBytes()));
  benchmark::DoNotOptimize(to.constBits());
  return msSince(start);
}

// `act` moves the view a little; each frame is painted at once and timed alone.
template <typename Act>
void frames(benchmark::State& state, Act act) {
  OpenPage open;
  std::vector<double> ms, copies;
  int frame = 0;
  for (auto _ : state) {
    const auto start = Clock::now();
    act(*open.view, frame++);
    open.view->repaint();
    ms.push_back(msSince(start));
    state.SetIterationTime(ms.back() / 1000);
    copies.push_back(frameCopyMs());
  }
  std::ranges::sort(ms);
  std::ranges::sort(copies);
  state.counters["p50_ms"] = ms[ms.size() / 2];
  state.counters["p99_ms"] = ms[ms.size() * 99 / 100];
  state.counters["p50_of_copy"] = ms[ms.size() / 2] / copies[copies.size() / 2];
  state.counters["p99_of_16_ms"] = ms[ms.size() * 99 / 100] / 16;
}

void PanFrames(benchmark::State& state) {
  frames(state, [](pages::PhotoView& view, int frame) {
    if (frame == 0) {
      view.setZoom(0.5);
    }
    view.panBy({frame / 40 % 2 == 0 ? -9.0 : 9.0, frame / 20 % 2 == 0 ? 5.0 : -5.0});
  });
}
BENCHMARK(PanFrames)->UseManualTime()->Iterations(300)->Unit(benchmark::kMillisecond);

void ZoomFrames(benchmark::State& state) {
  frames(state, [](pages::PhotoView& view, int frame) {
    const double factor = frame / 30 % 2 == 0 ? 1.07 : 1 / 1.07;
    view.zoomAbout({900, 700}, view.zoom() * factor);
  });
}
BENCHMARK(ZoomFrames)->UseManualTime()->Iterations(300)->Unit(benchmark::kMillisecond);

void PointerFramesWithLoupe(benchmark::State& state) {
  frames(state, [](pages::PhotoView& view, int frame) {
    view.setLoupeShown(pages::PhotoView::Shown::Yes);
    QTest::mouseMove(&view, QPoint(600 + frame % 300 * 3, 500));
  });
}
BENCHMARK(PointerFramesWithLoupe)->UseManualTime()->Iterations(100)->Unit(benchmark::kMillisecond);

double oneRowMs(store::Garden& garden, const store::TreeId& tree) {
  store::Note note;
  note.id = store::NoteId::create();
  note.tree = tree;
  note.writtenAt = store::now();
  note.text = "one row";
  const auto start = Clock::now();
  need(garden.put(note));
  return msSince(start);
}

// From the click to the mark stored and shown, with 5 000 others on the photo.
void OneMoreMark(benchmark::State& state) {
  OpenPage open;
  QTest::keyClick(open.view, Qt::Key_D);
  auto& garden = Stage::get().session->garden();
  const auto tree = need(garden.trees()).at(0).id;
  double mine = 0, limit = 0;
  int place = 0;
  for (auto _ : state) {
    const auto start = Clock::now();
    QTest::mouseClick(open.view, Qt::LeftButton, {}, QPoint(500 + 3 * place, 600 + place));
    open.view->repaint();
    const double ms = msSince(start);
    ++place;
    state.SetIterationTime(ms / 1000);
    mine += ms;
    limit += oneRowMs(garden, tree);
  }
  state.counters["of_one_row"] = mine / limit;
}
BENCHMARK(OneMoreMark)->UseManualTime()->Iterations(30)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace edamori::test

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  QApplication application(argc, argv);
  edamori::look::apply(application, edamori::look::Theme::Light);
  benchmark::Initialize(&argc, argv);
  try {
    benchmark::RunSpecifiedBenchmarks();
  } catch (const std::exception& error) {
    fprintf(stderr, "marking_bench: %s\n", error.what());
    return 1;
  }
  return 0;
}
