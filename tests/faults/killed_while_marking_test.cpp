// SPDX-License-Identifier: GPL-3.0-or-later
// A person marks; the program is killed (SIGKILL) at a random moment; every mark that was confirmed
// on the screen before is in the garden afterwards. 200 moments.
//
// The program under fire is this one, started again with "--mark GARDEN PHOTO": it opens the Bench
// and clicks dots until it dies, and tells each mark that the list on the page shows.
#include "app/look/theme.h"
#include "app/pages/bench/bench_page.h"
#include "app/pages/bench/photo_view.h"
#include "app/work/import.h"
#include "store/safety/safety.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"
#include "vision/load/load.h"

#include <QApplication>
#include <QTest>
#include <QTreeWidget>
#include <chrono>
#include <cstdio>
#include <random>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include <gmock/gmock.h>
#include <csignal>
#include <sys/wait.h>
#include <unistd.h>

namespace edamori::test {
namespace {

constexpr int kMoments = 200;
constexpr int kPhotos = 20;

RgbImage smallPicture(int seed) {
  RgbImage image(96, 64);
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width() * 3; ++x) {
      image.row(y)[x] = static_cast<std::uint8_t>((x * 7 + y * 13 + seed * 31) & 0xFF);
    }
  }
  return image;
}

// Never returns but by a failure; marks and tells until it is killed.
int mark(const std::string& folder, const std::string& photo) {
  auto garden = store::Garden::open(folder);
  if (!garden) {
    return 2;
  }
  pages::GardenSession session(std::move(*garden));
  pages::BenchPage page;
  page.setSession(&session);
  page.resize(900, 700);
  page.show();
  auto* const view = page.findChild<pages::PhotoView*>(QStringLiteral("photo"));
  auto* const list = page.findChild<QTreeWidget*>(QStringLiteral("marks"));
  if (!page.openPhoto({photo}) || !QTest::qWaitFor([view] { return view->isWhole(); }, 20000)) {
    return 3;
  }
  QTest::keyClick(view, Qt::Key_D);
  std::set<QString> told;
  for (int i = 0; i < list->topLevelItemCount(); ++i) {
    told.insert(list->topLevelItem(i)->data(0, Qt::UserRole).toString());
  }
  for (int i = 0;; ++i) {
    const QPoint middle = view->rect().center();
    QTest::mouseClick(
        view, Qt::LeftButton, {}, middle + QPoint(i * 37 % 200 - 100, i * 53 % 160 - 80));
    if (i % 7 == 6) {  // steps taken back and made again go through the same door
      QTest::keyClick(view, Qt::Key_Z, Qt::ControlModifier);
      QTest::keyClick(view, Qt::Key_Z, Qt::ControlModifier | Qt::ShiftModifier);
    }
    for (int row = 0; row < list->topLevelItemCount(); ++row) {
      const QString id = list->topLevelItem(row)->data(0, Qt::UserRole).toString();
      if (told.insert(id).second) {
        std::printf("%s\n", qPrintable(id));
        std::fflush(stdout);
      }
    }
  }
}

struct Child {
  pid_t process = 0;
  FILE* said = nullptr;
};

Child startMarking(const std::string& folder, const std::string& photo) {
  int ends[2];
  EXPECT_EQ(pipe(ends), 0);
  const std::string program = QCoreApplication::applicationFilePath().toStdString();
  const pid_t process = fork();
  if (process == 0) {
    dup2(ends[1], STDOUT_FILENO);
    close(ends[0]);
    close(ends[1]);
    execl(program.c_str(), program.c_str(), "--mark", folder.c_str(), photo.c_str(), nullptr);
    _exit(9);
  }
  close(ends[1]);
  return {.process = process, .said = fdopen(ends[0], "r")};
}

std::vector<std::string> rest(FILE* said) {
  std::vector<std::string> lines;
  char line[128];
  while (std::fgets(line, sizeof line, said) != nullptr) {
    const std::string text(line);
    if (!text.empty() && text.back() == '\n') {  // a line cut off was not told
      lines.push_back(text.substr(0, text.size() - 1));
    }
  }
  return lines;
}

TEST(KilledWhileMarking, EveryConfirmedMarkIsThereAfterwards) {
  const TemporaryFolder temporary;
  const auto folder = temporary / "garden";
  std::vector<std::string> photos;
  {
    auto garden = store::Garden::create(folder);
    ASSERT_THAT(garden, isOk());
    for (int i = 0; i < kPhotos; ++i) {
      const auto file = temporary / ("photo" + std::to_string(i) + ".png");
      ASSERT_THAT(vision::savePicture(file, smallPicture(i)), isOk());
      const auto report = work::importPhotos(*garden, {.paths = {file}, .tree = {}});
      ASSERT_THAT(report, isOk());
      photos.push_back(report->takenIn.at(0).photo.id.text);
    }
  }
  std::mt19937 random(20260501);
  std::uniform_int_distribution<int> moment(0, 60'000);  // µs after the first confirmed mark
  std::size_t confirmed = 0;
  for (int i = 0; i < kMoments; ++i) {
    SCOPED_TRACE("moment " + std::to_string(i));
    const auto& photo = photos[static_cast<std::size_t>(i % kPhotos)];
    const Child child = startMarking(folder.string(), photo);
    char first[128];
    ASSERT_NE(std::fgets(first, sizeof first, child.said), nullptr) << "it died by itself";
    std::this_thread::sleep_for(std::chrono::microseconds(moment(random)));
    ASSERT_EQ(kill(child.process, SIGKILL), 0);
    int status = 0;
    ASSERT_EQ(waitpid(child.process, &status, 0), child.process);
    ASSERT_TRUE(WIFSIGNALED(status)) << "it ended before it was killed: " << status;
    auto told = rest(child.said);
    std::fclose(child.said);
    told.insert(told.begin(), std::string(first).substr(0, std::string(first).find('\n')));
    confirmed += told.size();

    const auto garden = store::Garden::open(folder);
    ASSERT_THAT(garden, isOk());
    const auto marks = garden->marks({photo});
    ASSERT_THAT(marks, isOk());
    std::set<std::string> there;
    for (const auto& mark : *marks) {
      there.insert(mark.id.text);
    }
    for (const auto& id : told) {
      ASSERT_TRUE(there.contains(id)) << id << " was confirmed and is gone";
    }
    // Each mark came with a step to take it back by, in the same transaction.
    const auto steps = garden->workSteps({photo});
    ASSERT_THAT(steps, isOk());
    EXPECT_GE(steps->size(), there.size());
  }
  EXPECT_GT(confirmed, static_cast<std::size_t>(kMoments)) << "killed before it did anything";
  const auto garden = store::Garden::open(folder);
  ASSERT_THAT(garden, isOk());
  const auto report = store::checkGarden(*garden, {});
  ASSERT_THAT(report, isOk());
  EXPECT_TRUE(report->problems.empty()) << report->problems.front();
}

}  // namespace
}  // namespace edamori::test

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  QApplication application(argc, argv);
  edamori::look::apply(application, edamori::look::Theme::Light);
  if (argc == 4 && std::string(argv[1]) == "--mark") {
    return edamori::test::mark(argv[2], argv[3]);
  }
  ::testing::InitGoogleMock(&argc, argv);
  return RUN_ALL_TESTS();
}
