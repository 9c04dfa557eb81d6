// SPDX-License-Identifier: GPL-3.0-or-later
// From nothing to a compared pair of photos, once by mouse and once by keys alone; what counts is
// what the store holds afterwards.
#include "store/garden/garden.h"
#include "tests/app/pages/window_driver.h"

#include <QListView>
#include <QTableView>

namespace edamori::test {
namespace {

using ::testing::SizeIs;

class Journey : public WindowDriver {
 protected:
  store::Tree onlyTree() {
    const auto trees = stored().trees();
    EXPECT_THAT(trees, isOkAnd(SizeIs(1)));
    return trees->front();
  }

  // Outlines are drawn on the Bench, which has tests of its own.
  void outlineFirstPhoto() {
    store::Garden garden = stored();
    const store::Tree tree = onlyTree();
    store::OutlineRecord outline;
    outline.id = store::OutlineId::create();
    outline.photo = garden.photos(tree.id)->front().id;
    outline.branch = garden.branches(tree.id)->front().id;
    outline.shape.polygon = {{180, 140}, {760, 140}, {760, 580}, {180, 580}};
    ASSERT_THAT(garden.put(outline), isOk());
  }

  void expectWholeStory() {
    const store::Garden garden = stored();
    const store::Tree tree = onlyTree();
    EXPECT_EQ(garden.name(), "Test garden");
    EXPECT_EQ(tree.tag, "T-01");
    EXPECT_EQ(tree.species, "Acer palmatum");
    ASSERT_THAT(garden.owners(), isOkAnd(SizeIs(1)));
    EXPECT_EQ(garden.owners()->front().name, "Invented Owner");
    EXPECT_EQ(tree.owner, garden.owners()->front().id);
    EXPECT_THAT(garden.photos(tree.id), isOkAnd(SizeIs(2)));
    EXPECT_THAT(garden.unfiledPhotos(), isOkAnd(SizeIs(0)));
    ASSERT_THAT(garden.branches(tree.id), isOkAnd(SizeIs(1)));
    EXPECT_EQ(garden.branches(tree.id)->front().name, "first left");
    const auto treatments = garden.treatments(tree.id);
    ASSERT_THAT(treatments, isOkAnd(SizeIs(1)));
    EXPECT_EQ(treatments->front().kind, store::TreatmentKind::Spray);
    EXPECT_EQ(treatments->front().product, "Label product");
    EXPECT_EQ(treatments->front().reentryHours, 12.5);
    const auto rechecks = garden.rechecks(tree.id);
    ASSERT_THAT(rechecks, isOkAnd(SizeIs(1)));
    EXPECT_EQ(rechecks->front().reason, "scale on the underside");
    EXPECT_TRUE(rechecks->front().doneAt.has_value());
  }

  // The scene is the same, 14 px to the side: whatever else is said, it must not be a change.
  void expectNoChangeMeasured() {
    const auto measurements = stored().measurementsOfTree(onlyTree().id);
    ASSERT_THAT(measurements, isOk());
    const auto loss =
        std::ranges::find(*measurements, "loss-by-cover", &store::Measurement::figure);
    ASSERT_NE(loss, measurements->end());
    EXPECT_TRUE(loss->baselinePhoto.has_value());
    EXPECT_EQ(loss->verdict, "no clear change");
    EXPECT_LE(loss->estimate.low, 0.0);
    EXPECT_GE(loss->estimate.high, 0.0);
  }
};

TEST_F(Journey, ByMouse) {
  click("newGarden");
  ASSERT_TRUE(waitForForm("newGardenDialog"));
  fill("gardenName", "Test garden");
  paste("gardenFolder", gardenFolder());
  paste("gardenPhotos", photoFolder());
  click("primary");

  ASSERT_TRUE(waitForForm("importDialog"));
  click("importStart");
  auto* summary = child<QLabel>("importSummary");
  ASSERT_TRUE(waitFor([summary] {
    return summary->text().startsWith(QLatin1String("2 taken in"));
  })) << summary->text().toStdString();
  click("importClose");
  ASSERT_TRUE(waitForNoForm());
  EXPECT_TRUE(child<QWidget>("shelf")->isVisible());

  click("owners");
  ASSERT_TRUE(waitForForm("ownersDialog"));
  fill("ownerName", "Invented Owner");
  click("ownerSave");
  click("ownersClose");
  ASSERT_TRUE(waitForNoForm());

  click("addTree");
  ASSERT_TRUE(waitForForm("treeDialog"));
  click("primary");
  EXPECT_TRUE(child<QLabel>("formProblem")->isVisible()) << "a tree without a tag is not taken";
  fill("treeTag", "T-01");
  fill("treeSpecies", "Acer palmatum");
  child<QComboBox>("treeOwner")->setCurrentIndex(1);
  click("primary");
  ASSERT_TRUE(waitForNoForm());

  child<QListView>("unfiledPhotos")->selectAll();
  click("filePhotos");
  EXPECT_FALSE(child<QWidget>("shelf")->isVisible());

  auto* cards = child<QListView>("treeCards");
  const QPoint card = cards->visualRect(cards->model()->index(0, 0)).center();
  QTest::mouseClick(cards->viewport(), Qt::LeftButton, {}, card);
  QTest::mouseDClick(cards->viewport(), Qt::LeftButton, {}, card);
  ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));

  click("addBranch");
  ASSERT_TRUE(waitForForm("branchDialog"));
  fill("branchName", "first left");
  click("primary");
  ASSERT_TRUE(waitForNoForm());

  child<QTabWidget>("treeSections")->setCurrentIndex(2);
  click("addTreatment");
  ASSERT_TRUE(waitForForm("treatmentDialog"));
  auto* kind = child<QComboBox>("treatmentKind");
  EXPECT_FALSE(child<QLabel>("sprayCautions")->isVisible());
  kind->setCurrentIndex(kind->findText(QStringLiteral("Spray")));
  EXPECT_TRUE(child<QLabel>("sprayCautions")->isVisible());
  fill("treatmentProduct", "Label product");
  fill("treatmentReentry", "soon");
  click("primary");
  EXPECT_TRUE(child<QLabel>("formProblem")->isVisible()) << "hours must be a number";
  fill("treatmentReentry", "12.5");
  click("primary");
  ASSERT_TRUE(waitForNoForm());

  child<QTabWidget>("treeSections")->setCurrentIndex(3);
  click("addRecheck");
  ASSERT_TRUE(waitForForm("recheckDialog"));
  fill("recheckReason", "scale on the underside");
  click("primary");
  ASSERT_TRUE(waitForNoForm());
  child<QTableView>("rechecks")->selectRow(0);
  click("recheckDone");
  expectWholeStory();

  outlineFirstPhoto();
  click("compare");
  ASSERT_TRUE(waitFor([this] { return child<QWidget>("beforeAfterPage")->isVisible(); }));
  click("compareStart");
  auto* figures = child<QLabel>("compareFigures");
  ASSERT_TRUE(waitFor([figures] { return !figures->text().isEmpty(); }, 50000))
      << child<QLabel>("compareVerdict")->text().toStdString();
  expectNoChangeMeasured();
  click("compareKeep");
  EXPECT_THAT(stored().pairs(onlyTree().id), isOkAnd(SizeIs(1)));

  click("toTree");
  click("removePhoto");
  EXPECT_THAT(stored().photos(onlyTree().id), isOkAnd(SizeIs(1)));
  click("messageUndo");
  EXPECT_THAT(stored().photos(onlyTree().id), isOkAnd(SizeIs(2)));
}

TEST_F(Journey, ByKeysAlone) {
  tabTo("newGarden");
  press(Qt::Key_Space);
  ASSERT_TRUE(waitForForm("newGardenDialog"));
  tabTo("gardenName");
  type("Test garden");
  tabTo("gardenFolder");
  paste("gardenFolder", gardenFolder());
  press(Qt::Key_Return);
  ASSERT_TRUE(waitForNoForm());

  press(Qt::Key_I, Qt::ControlModifier);
  ASSERT_TRUE(waitForForm("importDialog"));
  tabTo("importPath");
  paste("importPath", photoFolder());
  tabTo("importAdd");
  press(Qt::Key_Space);
  tabTo("importStart");
  press(Qt::Key_Space);
  auto* summary = child<QLabel>("importSummary");
  ASSERT_TRUE(
      waitFor([summary] { return summary->text().startsWith(QLatin1String("2 taken in")); }));
  tabTo("importClose");
  press(Qt::Key_Space);
  ASSERT_TRUE(waitForNoForm());

  tabTo("owners");
  press(Qt::Key_Space);
  ASSERT_TRUE(waitForForm("ownersDialog"));
  tabTo("ownerName");
  type("Invented Owner");
  tabTo("ownerSave");
  press(Qt::Key_Space);
  press(Qt::Key_Escape);
  ASSERT_TRUE(waitForNoForm());

  press(Qt::Key_T, Qt::ControlModifier);
  ASSERT_TRUE(waitForForm("treeDialog"));
  type("T-01");
  tabTo("treeSpecies");
  type("Acer palmatum");
  tabTo("treeOwner");
  press(Qt::Key_Down);
  press(Qt::Key_Return, Qt::ControlModifier);
  ASSERT_TRUE(waitForNoForm());

  tabTo("unfiledPhotos");
  press(Qt::Key_A, Qt::ControlModifier);
  tabTo("filePhotos");
  press(Qt::Key_Space);

  press(Qt::Key_F, Qt::ControlModifier);
  type("palm");
  press(Qt::Key_Return);
  press(Qt::Key_Return);
  ASSERT_TRUE(waitFor([this] { return child<QWidget>("treePage")->isVisible(); }));

  press(Qt::Key_B, Qt::ControlModifier);
  ASSERT_TRUE(waitForForm("branchDialog"));
  type("first left");
  press(Qt::Key_Return);
  ASSERT_TRUE(waitForNoForm());

  press(Qt::Key_T, Qt::ControlModifier | Qt::ShiftModifier);
  ASSERT_TRUE(waitForForm("treatmentDialog"));
  tabTo("treatmentKind");
  type("S");
  tabTo("treatmentProduct");
  type("Label product");
  tabTo("treatmentReentry");
  type("12.5");
  press(Qt::Key_Return);
  ASSERT_TRUE(waitForNoForm());

  press(Qt::Key_C, Qt::ControlModifier | Qt::ShiftModifier);
  ASSERT_TRUE(waitForForm("recheckDialog"));
  tabTo("recheckReason");
  type("scale on the underside");
  press(Qt::Key_Return);
  ASSERT_TRUE(waitForNoForm());
  tabTo("rechecks");
  press(Qt::Key_Down);
  if (!child<QTableView>("rechecks")->currentIndex().isValid()) {
    press(Qt::Key_Down);
  }
  tabTo("recheckDone");
  press(Qt::Key_Space);
  expectWholeStory();

  outlineFirstPhoto();
  press(Qt::Key_K, Qt::ControlModifier);
  ASSERT_TRUE(waitFor([this] { return child<QWidget>("beforeAfterPage")->isVisible(); }));
  tabTo("compareStart");
  press(Qt::Key_Space);
  auto* figures = child<QLabel>("compareFigures");
  ASSERT_TRUE(waitFor([figures] { return !figures->text().isEmpty(); }, 50000));
  expectNoChangeMeasured();
  press(Qt::Key_2, Qt::ControlModifier);

  tabTo("treePhotos");
  tabTo("removePhoto");
  press(Qt::Key_Space);
  EXPECT_THAT(stored().photos(onlyTree().id), isOkAnd(SizeIs(1)));
  press(Qt::Key_Z, Qt::ControlModifier);
  EXPECT_THAT(stored().photos(onlyTree().id), isOkAnd(SizeIs(2)));
}

}  // namespace
}  // namespace edamori::test
