// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/figure_table_model.h"
#include "app/models/photo_model.h"
#include "app/models/rows_model.h"
#include "app/models/text.h"
#include "app/models/tree_card_model.h"
#include "app/models/undo_list.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"

#include <QAbstractItemModelTester>

#include <gmock/gmock.h>

namespace edamori::test {
namespace {

using namespace std::chrono_literals;
using models::TreeCardModel;

constexpr std::chrono::year_month_day kToday = 2026y / 4 / 18;

store::Recheck dueOn(std::chrono::year_month_day due) {
  store::Recheck recheck;
  recheck.due = due;
  return recheck;
}

work::FigureRow row(const char* figure,
                    const char* branch,
                    double value,
                    const store::PhotoId& photo) {
  work::FigureRow made;
  made.figure = figure;
  made.branchName = branch;
  made.measurement.figure = figure;
  made.measurement.branch.text = branch;
  made.measurement.photo = photo;
  made.measurement.estimate = {value, value - 0.02, value + 0.02};
  return made;
}

work::TreeSummary tree(const char* tag, const char* species, const char* owner, const char* place) {
  work::TreeSummary made;
  made.tree.id = store::TreeId::create();
  made.tree.tag = tag;
  made.tree.species = species;
  made.tree.place = place;
  made.ownerName = owner;
  return made;
}

store::Photo photo(std::chrono::year_month_day day, store::DateSource source) {
  store::Photo made;
  made.id = store::PhotoId::create();
  made.takenAt.date = day;
  made.dateSource = source;
  return made;
}

TEST(DueWords, CountCalendarDays) {
  using models::DueState;
  const auto words = [](std::chrono::year_month_day due) {
    return models::dueWords(dueOn(due), kToday);
  };
  EXPECT_EQ(words(2026y / 4 / 18).text, QLatin1String("Due today"));
  EXPECT_EQ(words(2026y / 4 / 17).text, QLatin1String("Overdue by 1 day"));
  EXPECT_EQ(words(2026y / 3 / 18).text, QLatin1String("Overdue by 31 days"));
  EXPECT_EQ(words(2026y / 4 / 23).text, QLatin1String("Next check in 5 days"));
  EXPECT_EQ(words(2026y / 4 / 17).state, DueState::Overdue);
  EXPECT_EQ(models::dueWords(std::nullopt, kToday).state, DueState::NonePlanned);
}

TEST(PhotoDateWords, SayWhenTheDateIsOnlyTheFileTime) {
  store::LocalTime time;
  time.date = kToday;
  EXPECT_EQ(models::photoDateWords(time, store::DateSource::Camera), QLatin1String("18 Apr 2026"));
  EXPECT_EQ(models::photoDateWords(time, store::DateSource::FileTime),
            QLatin1String("18 Apr 2026 (uncertain)"));
  EXPECT_EQ(models::photoDateWords({}, store::DateSource::Camera), QLatin1String("date unknown"));
}

TEST(CardFigures, NameTheBranchThatNeedsALookMost) {
  const QStringList lines = models::cardFigures({row("foliage", "low", 0.7, {}),
                                                 row("foliage", "top", 0.4, {}),
                                                 row("spot", "low", 0.05, {}),
                                                 row("spot", "top", 0.2, {})},
                                                3);
  ASSERT_EQ(lines.size(), 2);
  EXPECT_TRUE(lines[0].contains(QLatin1String(", top\n"))) << lines[0].toStdString();
  EXPECT_TRUE(lines[0].contains(QLatin1String("40.0")));
  EXPECT_TRUE(lines[1].contains(QLatin1String(", top\n")));
  EXPECT_TRUE(models::cardFigures({}, 3).isEmpty());
}

TEST(CardFigures, SayWhereCautionIsDue) {
  work::FigureRow doubtful = row("spot", "low", 0.3, {});
  doubtful.measurement.cautions = {{"inseparable", "Foliage and background look alike here."}};
  const QStringList lines = models::cardFigures({row("foliage", "low", 0.7, {}), doubtful}, 3);
  ASSERT_EQ(lines.size(), 2);
  EXPECT_FALSE(lines[0].contains(QLatin1String("caution")));
  EXPECT_TRUE(lines[1].endsWith(QLatin1String(", with caution")));
}

TEST(TreeCardModel, KeepsTheContractOfItemModels) {
  TreeCardModel model;
  models::TreeFilter filter;
  filter.setSourceModel(&model);
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  const QAbstractItemModelTester filterTester(
      &filter, QAbstractItemModelTester::FailureReportingMode::Fatal);
  model.setTrees({tree("A-1", "Acer palmatum", "First Owner", "north bench"),
                  tree("B-2", "Pinus thunbergii", "", "south bench")},
                 kToday);
  EXPECT_EQ(filter.rowCount(), 2);
  filter.setText(QStringLiteral("pinus SOUTH"));
  ASSERT_EQ(filter.rowCount(), 1);
  EXPECT_EQ(filter.index(0, 0).data(TreeCardModel::TagRole).toString(), QLatin1String("B-2"));
  filter.setText(QStringLiteral("first"));
  EXPECT_EQ(filter.rowCount(), 1);
  filter.setText(QStringLiteral("acer south"));
  EXPECT_EQ(filter.rowCount(), 0);
  model.setTrees({}, kToday);
}

TEST(TreeCardModel, SaysEverythingToAssistiveTechnology) {
  TreeCardModel model;
  work::TreeSummary summary = tree("A-1", "Acer palmatum", "First Owner", "north bench");
  summary.nextRecheck = dueOn(kToday);
  summary.livePests = 4;
  summary.photoCount = 1;
  model.setTrees({summary}, kToday);
  EXPECT_EQ(
      model.index(0).data(Qt::AccessibleTextRole).toString(),
      QLatin1String(
          "A-1, Acer palmatum, First Owner, north bench, Due today, 4 live insects, counted, 1 photo"));
}

TEST(PhotoModel, KeepsTheContractOfItemModels) {
  models::PhotoModel model;
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  model.setPhotos({photo(kToday, store::DateSource::FileTime)});
  EXPECT_EQ(model.index(0).data().toString(), QLatin1String("18 Apr 2026\ndate uncertain"));
  EXPECT_EQ(model.photoAt(1), nullptr);
}

TEST(FigureTableModel, LeavesWhatWasNotMeasuredEmpty) {
  models::FigureTableModel model;
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  work::TreeDetail detail;
  for (const char* name : {"low", "top"}) {
    store::Branch branch;
    branch.id.text = name;
    branch.name = name;
    detail.branches.push_back(branch);
  }
  detail.photos = {photo(2026y / 4 / 1, store::DateSource::Camera),
                   photo(2026y / 4 / 2, store::DateSource::Camera),
                   photo(2026y / 4 / 3, store::DateSource::Camera)};
  detail.figures = {row("foliage", "low", 0.7, detail.photos[0].id),
                    row("foliage", "top", 0.5, detail.photos[2].id),
                    row("spot", "top", 0.1, detail.photos[1].id)};
  model.setFigure(detail, "foliage");
  ASSERT_EQ(model.columnCount(), 2);  // the middle photo carries no foliage figure
  ASSERT_EQ(model.rowCount(), 2);
  // Newest first.
  EXPECT_TRUE(model.index(0, 1).data().toString().startsWith(QLatin1String("70.0")));
  EXPECT_FALSE(model.index(0, 0).data().isValid());
  EXPECT_EQ(model.headerData(0, Qt::Horizontal, Qt::DisplayRole).toString(),
            QLatin1String("3 Apr 2026"));
  EXPECT_EQ(model.headerData(1, Qt::Horizontal, Qt::DisplayRole).toString(),
            QLatin1String("1 Apr 2026"));
  EXPECT_EQ(model.photoAt(model.index(1, 0)), detail.photos[2].id);
  EXPECT_EQ(models::FigureTableModel::figuresOf(detail),
            (std::vector<std::string>{"foliage", "spot"}));
}

// Bark is not foliage: the rule of store::carriesFoliage.
TEST(FigureTableModel, LeavesOutBranchesWithoutFoliage) {
  work::TreeDetail detail;
  detail.branches = {{.id = {"trunk"}, .tree = {}, .kind = store::BranchKind::TrunkLine, .name = "Trunk", .order = 1},
                     {.id = {"low"}, .tree = {}, .kind = store::BranchKind::Branch, .name = "Low", .order = 2}};
  detail.photos = {photo(2026y / 4 / 1, store::DateSource::Camera), photo(2026y / 4 / 2, store::DateSource::Camera)};
  detail.figures = {row("foliage", "trunk", 0.4, detail.photos[0].id), row("spot", "trunk", 0.1, detail.photos[0].id),
                    row("foliage", "low", 0.7, detail.photos[1].id)};
  detail.figures[0].isOfFoliage = detail.figures[1].isOfFoliage = false;
  models::FigureTableModel model;
  model.setFigure(detail, "foliage");
  ASSERT_EQ(model.rowCount(), 1);
  ASSERT_EQ(model.columnCount(), 1);
  EXPECT_EQ(model.headerData(0, Qt::Vertical, Qt::DisplayRole).toString(), QLatin1String("Low"));
  EXPECT_TRUE(model.index(0, 0).data().toString().startsWith(QLatin1String("70.0")));
  EXPECT_EQ(models::FigureTableModel::figuresOf(detail), std::vector<std::string>{"foliage"});
}

TEST(RowsModel, KeepsTheContractOfItemModels) {
  models::RowsModel model({QStringLiteral("Name"), QStringLiteral("Kind")});
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  model.setRows({{"id", {QStringLiteral("low"), QStringLiteral("branch")}, {}}});
  EXPECT_EQ(model.idAt(model.indexOf("id")), "id");
  EXPECT_FALSE(model.indexOf("other").isValid());
}

TEST(UndoList, KeepsAStepThatCouldNotBeTakenBack) {
  const TemporaryFolder folder;
  auto garden = store::Garden::create(folder / "garden");
  ASSERT_THAT(garden, isOk());
  models::UndoList undo;
  bool works = false;
  undo.push(QStringLiteral("step"), [&works](store::Garden&) -> Result<void> {
    return works ? Result<void>() : fail(ErrorCode::Conflict, "busy");
  });
  EXPECT_THAT(undo.undoLatest(*garden), failsWith(ErrorCode::Conflict));
  EXPECT_FALSE(undo.isEmpty());
  works = true;
  EXPECT_THAT(undo.undoLatest(*garden), isOk());
  EXPECT_THAT(undo.undoLatest(*garden), failsWith(ErrorCode::NotFound));
}

// Each step writes its name down; taking it back strikes it out.
TEST(UndoList, DoesAgainWhatWasTakenBackUntilSomethingElseIsDone) {
  const TemporaryFolder folder;
  auto garden = store::Garden::create(folder / "garden");
  ASSERT_THAT(garden, isOk());
  std::string written;
  models::UndoList undo;
  const auto act = [&](char name, bool canRedo = true) {
    written += name;
    const auto redo = [&written, name](store::Garden&) -> Result<void> {
      written += name;
      return {};
    };
    undo.push(QString(QLatin1Char(name)), [&written](store::Garden&) -> Result<void> {
      written.pop_back();
      return {};
    }, canRedo ? models::UndoList::Change(redo) : models::UndoList::Change());
  };
  act('a');
  act('b');
  ASSERT_THAT(undo.undoLatest(*garden), isOk());
  ASSERT_THAT(undo.undoLatest(*garden), isOk());
  EXPECT_EQ(undo.latestUndone(), QStringLiteral("a"));
  ASSERT_THAT(undo.redoLatest(*garden), isOk());
  EXPECT_EQ(written, "a");
  EXPECT_EQ(undo.latest(), QStringLiteral("a"));
  act('c');
  EXPECT_FALSE(undo.canRedo()) << "b would come after c";
  EXPECT_THAT(undo.redoLatest(*garden), failsWith(ErrorCode::NotFound));
  ASSERT_THAT(undo.undoLatest(*garden), isOk());
  undo.forgetUndone();
  EXPECT_FALSE(undo.canRedo());
  act('d', false);
  ASSERT_THAT(undo.undoLatest(*garden), isOk());
  EXPECT_FALSE(undo.canRedo());
  EXPECT_EQ(written, "a");
}

}  // namespace
}  // namespace edamori::test
