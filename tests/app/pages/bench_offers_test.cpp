// SPDX-License-Identifier: GPL-3.0-or-later
// Offered scale insects on the Bench, by mouse and by keys; what counts is what the garden holds.
#include "app/pages/bench/action_list.h"
#include "tests/app/pages/bench_driver.h"

#include <QAction>
#include <QContextMenuEvent>
#include <QMenu>
#include <QPushButton>
#include <QSlider>
#include <QTabWidget>
#include <QTreeWidget>
#include <random>

namespace edamori::test {
namespace {

using ::testing::IsEmpty;
using ::testing::SizeIs;

std::uint8_t level(double value) {
  return static_cast<std::uint8_t>(std::clamp(std::lround(value), 0L, 255L));
}

const std::vector<PointPx> kDomes = {{120, 100}, {300, 260}, {480, 130}, {520, 380}};

// Grey-brown bark with four red-brown glossy domes of 10 px.
RgbImage infestedBark() {
  RgbImage image(640, 480);
  std::mt19937 random(7);
  constexpr double kRadius = 10;
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      const double grain = static_cast<double>(random() % 1000) / 1000.0 * 16 - 8;
      const double ground[] = {150 + grain, 134 + grain, 116 + grain};
      const double albedo[] = {112, 52, 36};
      for (int channel = 0; channel < 3; ++channel) {
        image.at(x, y, channel) = level(ground[channel]);
      }
      for (const PointPx& dome : kDomes) {
        const double nx = (x + 0.5 - dome.x) / kRadius, ny = (y + 0.5 - dome.y) / kRadius;
        const double cover = std::clamp(kRadius * (1 - std::hypot(nx, ny)) + 0.5, 0.0, 1.0);
        const double nz = std::sqrt(std::max(0.0, 1 - nx * nx - ny * ny));
        const double facing = std::max(0.0, -0.45 * nx - 0.45 * ny + 0.77 * nz);
        const double shine = 150 * std::pow(std::max(0.0, 2 * nz * facing - 0.77), 20);
        for (int channel = 0; channel < 3; ++channel) {
          const double lit = albedo[channel] * (0.35 + 0.75 * facing) + shine;
          image.at(x, y, channel) = level((1 - cover) * image.at(x, y, channel) + cover * lit);
        }
      }
    }
  }
  return image;
}

class BenchOffers : public BenchDriver {
 protected:
  void SetUp() override {
    BenchDriver::SetUp();
    m_photo = import(infestedBark(), "bark.jpg");
    openPage(m_photo.id);
  }
  // Chooses the tool by its key and waits for the search.
  void look() {
    view().setFocus();
    press(Qt::Key_F);
    ASSERT_TRUE(waitForSearch());
  }
  bool waitForSearch() {
    return QTest::qWaitFor([this] { return child<QLabel>("offersTold").text().contains(QLatin1String("shown")); }, 60000);
  }
  QTreeWidget& list() { return child<QTreeWidget>("offers"); }
  int shown() { return list().topLevelItemCount(); }
  // Where a photo point lies in the view, from the sizes alone; the photo is shown whole.
  QPoint seenAt(PointPx at) {
    const double scale = std::min(view().width() * 1.0 / m_photo.widthPx, view().height() * 1.0 / m_photo.heightPx);
    return QPointF(view().width() / 2.0 + (at.x - m_photo.widthPx / 2.0) * scale,
                   view().height() / 2.0 + (at.y - m_photo.heightPx / 2.0) * scale)
        .toPoint();
  }
  std::vector<store::RejectedCandidate> rejected() { return *stored().rejectedCandidates(m_photo.id); }

  store::Photo m_photo;
};

TEST_F(BenchOffers, NothingCountsUntilAPersonAccepts) {
  look();
  EXPECT_EQ(shown(), 4);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_THAT(rejected(), IsEmpty());
  clickAt(seenAt(kDomes[1]));
  const auto stored = marks(m_photo);
  ASSERT_THAT(stored, SizeIs(1));
  EXPECT_THAT(stored[0].centre, isNear(kDomes[1], 4.0));
  EXPECT_EQ(stored[0].finding, store::Finding::ScaleInsect);
  EXPECT_EQ(stored[0].kind, store::MarkKind::Dot);
  EXPECT_EQ(stored[0].stage, store::Stage::Live);
  EXPECT_EQ(stored[0].count, 1);
  EXPECT_NEAR(stored[0].radiusPx, 10, 4);
  EXPECT_EQ(shown(), 3) << "a marked one is not offered again";
  // A click beside every offer and a drag that ends on one do nothing.
  clickAt(seenAt({300, 60}));
  drag({seenAt({300, 60}), seenAt({400, 100}), seenAt(kDomes[2])});
  EXPECT_THAT(marks(m_photo), SizeIs(1));
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_EQ(shown(), 4) << "undo offers it again";
}

TEST_F(BenchOffers, ByKeysAloneOffersAreVisitedAcceptedAndRejected) {
  look();
  press(Qt::Key_Period);
  press(Qt::Key_Return);
  ASSERT_THAT(marks(m_photo), SizeIs(1));
  press(Qt::Key_X);
  ASSERT_THAT(rejected(), SizeIs(1));
  press(Qt::Key_Comma);
  press(Qt::Key_E);
  EXPECT_THAT(marks(m_photo), SizeIs(2));
  press(Qt::Key_Backspace);
  EXPECT_THAT(rejected(), SizeIs(2));
  EXPECT_EQ(shown(), 0);
  press(Qt::Key_Z, Qt::ControlModifier, 4);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  EXPECT_THAT(rejected(), IsEmpty());
  EXPECT_EQ(shown(), 4);
}

TEST_F(BenchOffers, RejectedOnesDoNotComeBackAfterAnotherSearchOrARestart) {
  look();
  press(Qt::Key_Period);
  press(Qt::Key_X);
  ASSERT_THAT(rejected(), SizeIs(1));
  const PointPx place = rejected()[0].centre;
  EXPECT_EQ(shown(), 3);
  click("lookAgain");
  ASSERT_TRUE(QTest::qWaitFor([this] { return child<QPushButton>("lookAgain").isVisible(); }, 60000));
  EXPECT_EQ(shown(), 3);
  openPage(m_photo.id);  // as after a restart: nothing is offered until it is looked for
  EXPECT_EQ(shown(), 0);
  look();
  EXPECT_EQ(shown(), 3);
  // The rejection can be taken back after the restart too.
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_THAT(rejected(), IsEmpty());
  EXPECT_EQ(shown(), 4);
  click("redoButton");
  ASSERT_THAT(rejected(), SizeIs(1));
  EXPECT_EQ(rejected()[0].centre, place);
}

TEST_F(BenchOffers, AllShownAreAcceptedOrRejectedAsOneStep) {
  look();
  press(Qt::Key_E, Qt::ShiftModifier);
  EXPECT_THAT(marks(m_photo), SizeIs(4));
  EXPECT_EQ(shown(), 0);
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_THAT(marks(m_photo), IsEmpty());
  click("rejectAllOffersButton");
  EXPECT_THAT(rejected(), SizeIs(4));
  EXPECT_THAT(marks(m_photo), IsEmpty());
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_THAT(rejected(), IsEmpty());
}

TEST_F(BenchOffers, TheScoreSliderHidesOffersAndWhatIsHiddenIsNotAccepted) {
  look();
  auto& slider = child<QSlider>("leastScore");
  slider.setFocus();
  press(Qt::Key_End);
  const int sure = shown();
  EXPECT_LE(sure, 4);
  EXPECT_TRUE(child<QLabel>("offersTold").text().contains(QStringLiteral("%1 of").arg(sure)));
  press(Qt::Key_Home);
  EXPECT_GE(shown(), 4);
  for (int i = 0; i < shown(); ++i) {
    EXPECT_FALSE(list().topLevelItem(i)->text(0).isEmpty());
  }
  press(Qt::Key_End);
  if (sure > 0) {
    click("acceptAllOffersButton");
  }
  EXPECT_THAT(marks(m_photo), SizeIs(sure));
}

TEST_F(BenchOffers, AreLookedForWithinConfirmedOutlinesOnly) {
  const QPoint a = seenAt({230, 190}), b = seenAt({370, 330});
  const std::vector<QPoint> corners{a, {b.x(), a.y()}, b, {a.x(), b.y()}};
  drawOutline(corners);
  click("keepOutline");
  ASSERT_THAT(outlines(m_photo), SizeIs(1));
  look();
  ASSERT_EQ(shown(), 1);
  EXPECT_EQ(list().topLevelItem(0)->text(3), QStringLiteral("first left"));
  press(Qt::Key_Period);
  press(Qt::Key_Return);
  ASSERT_THAT(marks(m_photo), SizeIs(1));
  EXPECT_EQ(marks(m_photo)[0].branch, m_left);
}

TEST_F(BenchOffers, TheMenuAndTheListSpeakOfTheOfferUnderThem) {
  look();
  QContextMenuEvent ask(QContextMenuEvent::Mouse, seenAt(kDomes[3]), view().mapToGlobal(seenAt(kDomes[3])));
  QApplication::sendEvent(&view(), &ask);
  auto* const menu = m_page->findChild<QMenu*>(QStringLiteral("photoMenu"));
  ASSERT_NE(menu, nullptr);
  const auto actions = menu->actions();
  auto* const reject = m_page->findChild<QAction*>(QStringLiteral("rejectOffer"));
  ASSERT_TRUE(actions.contains(reject));
  reject->trigger();
  menu->close();
  ASSERT_THAT(rejected(), SizeIs(1));
  EXPECT_THAT(rejected()[0].centre, isNear(kDomes[3], 4.0));
  // The list: what is chosen there is accepted by Enter.
  EXPECT_FALSE(list().accessibleName().isEmpty());
  list().setFocus();
  list().setCurrentItem(list().topLevelItem(1));
  press(Qt::Key_Return);
  EXPECT_THAT(marks(m_photo), SizeIs(1));
}

TEST_F(BenchOffers, EachCanBeFoundInTheListOfActionsWithAKeyAndAnExplanation) {
  for (const char* const name : {"offer", "acceptOffer", "rejectOffer", "acceptAllOffers", "rejectAllOffers", "nextOffer", "previousOffer"}) {
    auto* const action = m_page->findChild<QAction*>(QLatin1String(name));
    ASSERT_NE(action, nullptr) << name;
    EXPECT_FALSE(action->shortcut().isEmpty()) << name;
    EXPECT_FALSE(action->property("explanation").toString().isEmpty()) << name;
  }
}

}  // namespace
}  // namespace edamori::test
