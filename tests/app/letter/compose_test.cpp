// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/compose_internal.h"

#include "app/work/figure_inputs.h"
#include "tests/app/letter/sample_detail.h"
#include "tests/support/matchers.h"

#include <gmock/gmock.h>

namespace edamori::letter {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using namespace std::chrono_literals;

// Everything a reader sees, block after block, with plain spaces.
std::string textOf(const Document& document) {
  struct Reader {
    QString operator()(const Heading& b) const { return b.text; }
    QString operator()(const Paragraph& b) const { return b.text; }
    QString operator()(const Bullets& b) const { return b.items.join(QLatin1Char('\n')); }
    QString operator()(const Facts& b) const {
      QString text;
      for (const auto& [name, value] : b.lines) {
        text += name + QStringLiteral(": ") + value + QLatin1Char('\n');
      }
      return text;
    }
    QString operator()(const Table& b) const {
      QString text = b.heads.join(QStringLiteral(" | "));
      for (const QStringList& row : b.rows) {
        text += QLatin1Char('\n') + row.join(QStringLiteral(" | "));
      }
      return text;
    }
    QString operator()(const PictureRow& b) const {
      QString text = b.title;
      for (const Picture& picture : b.pictures) {
        text += QLatin1Char('\n') + picture.caption;
        for (const LegendEntry& entry : picture.legend) {
          text += QStringLiteral("\n# ") + entry.text;
        }
      }
      return text;
    }
    QString operator()(const Chart& b) const { return b.description; }
  };
  QString text = document.title + QLatin1Char('\n') + document.subtitle + QLatin1Char('\n');
  for (const Block& block : document.blocks) {
    text += std::visit(Reader(), block) + QLatin1Char('\n');
  }
  return text.replace(QChar(0x00A0), QLatin1Char(' ')).toStdString();
}

std::string composed(const work::TreeDetail& detail, const LetterRequest& request = test::sampleRequest()) {
  return textOf(compose(detail, request, QStringLiteral("Test garden"), test::plainPicture));
}

TEST(Compose, ShowsEveryFigureOfTheRecordsWithItsInterval) {
  const std::string text = composed(test::sampleDetail());
  // The records' values, written out by hand.
  for (const char* figure : {"71.2 % (66.8–75.3 %)", "63.4 % (59.0–67.5 %)", "69.0 % (64.1–73.7 %)",
                             "62.4 % (58.1–66.9 %)", "12.4 % (5.2–19.3 %)", "8.3 % (4.7–13.1 %)",
                             "64.1 % (58.8–68.9 %)", "−1.1 % (−9.4 to 7.1 %)"}) {
    EXPECT_THAT(text, HasSubstr(figure));
  }
}

TEST(Compose, KeepsTheVerdictsAsTheyAre) {
  const std::string text = composed(test::sampleDetail());
  EXPECT_THAT(text, HasSubstr("There is a clear loss of foliage cover on First left: 12.4 % (5.2–19.3 %) from 3 May 2025 to 12 April 2026."));
  EXPECT_THAT(text, HasSubstr("There is no clear change in foliage cover"));
  EXPECT_THAT(text, HasSubstr("| no clear change |"));
  EXPECT_THAT(text, Not(HasSubstr("clear gain")));
}

// Exact Poisson limits (Garwood 1936, Biometrika 28:437): 0 → 3.689; 7 → 2.814, 14.423.
TEST(Compose, GivesCountsTheirPoissonLimits) {
  const std::string text = composed(test::sampleDetail());
  EXPECT_THAT(text, HasSubstr("2025-05-03 | First left | Scale insect | 7 (2.8–14.4) | 3 | – |"));
  EXPECT_THAT(text, HasSubstr("2026-04-12 | First left | Scale insect | none seen (95 % upper bound 3.7) | – | – |"));
  EXPECT_THAT(text, HasSubstr("2026-04-12 | Apex | Scale insect | none seen (95 % upper bound 3.7) | – | 4 |"));
}

TEST(Compose, NamesWhatARecordLacks) {
  const std::string text = composed(test::sampleDetail());
  for (const char* field : {"registration number", "certificate number"}) {
    EXPECT_THAT(text, HasSubstr(field));
  }
  EXPECT_THAT(text, HasSubstr("incomplete: registration number, "));
  EXPECT_THAT(text, HasSubstr("| complete"));
  EXPECT_THAT(text, HasSubstr("Re-entry: 12 h, as entered from the label"));
  EXPECT_THAT(text, HasSubstr("the product label is the law"));
}

TEST(Compose, NeverInventsAReentryTime) {
  work::TreeDetail detail = test::sampleDetail();
  detail.treatments[1].reentryHours.reset();
  const std::string text = composed(detail);
  EXPECT_THAT(text, HasSubstr("Re-entry: not recorded; see the product label"));
  EXPECT_THAT(text, HasSubstr("re-entry time from the label"));
}

TEST(Compose, SaysWhereADateIsUncertain) {
  const std::string text = composed(test::sampleDetail());
  EXPECT_THAT(text, HasSubstr("2025-09-20 (uncertain)"));
  EXPECT_THAT(text, HasSubstr("2 of them taken on 2 days"));
}

TEST(Compose, TracesEachFigureToPhotoOutlineMethodAndDay) {
  const std::string text = composed(test::sampleDetail());
  EXPECT_THAT(text, HasSubstr("P1: P1.jpg · 1a2b3c4d · 2025-05-03\nP2: P2.jpg · 5e6f7a8b · 2025-09-20 (uncertain)\n"
                              "P3: P3.jpg · 9c0d1e2f · 2026-04-12\n"));
  EXPECT_THAT(text, HasSubstr("M1: foliage-and-spots, version 3, measured on 2026-04-13\n"));
  EXPECT_THAT(text, HasSubstr("5 | First left: loss by cover | 12.4 % (5.2–19.3 %) | P3 against P1 | ab12cd31 | M1 | –"));
  EXPECT_THAT(text, HasSubstr("C1: The photo is somewhat blurred here."));
  EXPECT_THAT(text, HasSubstr("6 | First left: spotted or blighted | 8.3 % (4.7–13.1 %) | P3 | ab12cd31 | M1 | C1"));
  EXPECT_THAT(text, HasSubstr("8.3 % (4.7–13.1 %), with a caution, on First left"));
}

TEST(Compose, LeavesOutOfACautionWhatTheGrowerIsToDo) {
  work::TreeDetail detail = test::sampleDetail();
  detail.figures[5].measurement.cautions[0].text =
      "Foliage and background look alike here; paint hints, or photograph against a plain board.";
  const std::string text = composed(detail);
  EXPECT_THAT(text, HasSubstr("C1: Foliage and background look alike here."));
  EXPECT_THAT(text, Not(HasSubstr("paint hints")));
}

TEST(Compose, KeepsToThePeriodBothEndsIncluded) {
  LetterRequest request = test::sampleRequest();
  request.from = 2025y / 6 / 1;
  request.to = 2025y / 9 / 20;
  const std::string text = composed(test::sampleDetail(), request);
  EXPECT_THAT(text, HasSubstr("69.0 % (64.1–73.7 %)"));
  EXPECT_THAT(text, HasSubstr("Invented Oil"));
  EXPECT_THAT(text, Not(HasSubstr("62.4 %")));
  EXPECT_THAT(text, Not(HasSubstr("71.2 %")));
  EXPECT_THAT(text, Not(HasSubstr("Hand removal")));
}

TEST(Compose, ListsOpenChecksAndCallsLateOnesOverdue) {
  const std::string text = composed(test::sampleDetail());
  EXPECT_THAT(text, HasSubstr("1 April 2026\noverdue | whole tree | look at the needles"));
  EXPECT_THAT(text, HasSubstr("1 May 2026 | First left | count the scale insects again"));
}

TEST(Compose, SaysWhyAPictureIsMissing) {
  const Document document = compose(test::sampleDetail(), test::sampleRequest(), {}, [](const auto&, const auto&) {
    return PictureAnswer{{}, QStringLiteral("the original is not there"), {}};
  });
  EXPECT_THAT(textOf(document), HasSubstr("The picture could not be shown: the original is not there"));
}

TEST(Compose, OfATreeWithoutAnythingStillMakesALetter) {
  work::TreeDetail bare;
  bare.summary.tree.tag = "ED-09";
  const std::string text = composed(bare);
  EXPECT_THAT(text, HasSubstr("No photos of this tree"));
  EXPECT_THAT(text, HasSubstr("Nothing was measured"));
  EXPECT_THAT(text, HasSubstr("No checks are planned."));
  EXPECT_THAT(text, HasSubstr("Ladders:"));
}

TEST(Compose, KeepsTheEarlierResultOfAKeptPairNewestFirst) {
  work::TreeDetail detail = test::sampleDetail();
  detail.pairs = {{.id = {"K1"}, .tree = {"T"}, .branch = {"B1"}, .before = {"P1"}, .after = {"P2"}, .title = {}},
                  {.id = {"K2"}, .tree = {"T"}, .branch = {"B1"}, .before = {"P1"}, .after = {"P3"}, .title = {}}};
  const work::FigureRow earlier = test::change(
      test::figure(detail.photos[1], "B1", "First left", "loss-by-cover", {0.031, -0.04, 0.101}), detail.photos[0], "no clear change");
  detail.figures.insert(detail.figures.begin() + 3, earlier);
  const std::string text = composed(detail);
  const auto newer = text.find("| 12.4 % (5.2–19.3 %) | clear loss |");
  const auto older = text.find("| 3.1 % (−4.0 to 10.1 %) | no clear change |");
  ASSERT_NE(newer, std::string::npos) << text;
  ASSERT_NE(older, std::string::npos) << text;
  EXPECT_LT(newer, older);
  EXPECT_THAT(text, HasSubstr("First left: 3.1 % (−4.0 to 10.1 %) from 3 May 2025 to 20 September 2025"));
  detail.pairs.clear();  // Nobody kept the earlier pair: it is history.
  EXPECT_THAT(composed(detail), Not(HasSubstr("First left | Loss by cover | 3.1 %")));
}

TEST(Compose, SaysThatAKeptPairWithoutALossCannotTell) {
  work::TreeDetail detail = test::sampleDetail();
  detail.pairs = {{.id = {"K1"}, .tree = {"T"}, .branch = {"B1"}, .before = {"P2"}, .after = {"P3"}, .title = {}},
                  {.id = {"K2"}, .tree = {"T"}, .branch = {"B1"}, .before = {"P1"}, .after = {"P3"}, .title = {}}};
  const std::string line = "First left | Loss by cover | none stated | cannot tell | 2025-09-20 (uncertain) → 2026-04-12 | –";
  const std::string text = composed(detail);
  EXPECT_THAT(text, HasSubstr(line));
  EXPECT_EQ(text.find("none stated"), text.rfind("none stated"));  // the other pair has its loss
  detail.branches[0].kind = store::BranchKind::TrunkLine;  // bark has no foliage to lose
  EXPECT_THAT(composed(detail), Not(HasSubstr("none stated")));
}

// An owner who divides the covers of the two photos has to come to the loss.
TEST(Compose, SaysOfWhatCoversALossIs) {
  work::TreeDetail detail = test::sampleDetail();
  for (work::FigureRow& row : detail.figures) {
    if (row.figure == "loss-by-cover") {
      row.measurement.method.parameters = work::withInputs("{}", {.coverBefore = Estimate{0.712, 0.668, 0.753},
                                                                  .coverAfter = Estimate{0.624, 0.581, 0.669}});
    }
  }
  EXPECT_THAT(composed(detail), HasSubstr("cover 71.2 % → 62.4 %"));
  EXPECT_EQ(composed(test::sampleDetail()).find("cover 71.2"), std::string::npos) << "not kept by older versions";
}

TEST(Compose, NamesTheBranchOfAPairOnce) {
  work::TreeDetail detail = test::sampleDetail();
  detail.pairs = {{.id = {"K1"}, .tree = {"T"}, .branch = {"B1"}, .before = {"P1"}, .after = {"P3"}, .title = {}}};
  for (const auto& [title, shown] : {std::pair{"", "\nFirst left\n"}, std::pair{"First left", "\nFirst left\n"},
                                     std::pair{"First left: May and April", "\nFirst left: May and April\n"},
                                     std::pair{"Spring", "\nFirst left – Spring\n"},
                                     std::pair{"First lefthand", "\nFirst left – First lefthand\n"}}) {
    detail.pairs[0].title = title;
    EXPECT_THAT(composed(detail), HasSubstr(shown));
  }
}

TEST(Compose, SaysWhenTheFoliageIsClearlyLessSpotted) {
  work::TreeDetail detail = test::sampleDetail();
  detail.figures.push_back(test::change(
      test::figure(detail.photos[2], "B1", "First left", "spot-change", {-0.12, -0.18, -0.05}), detail.photos[0], ""));
  const std::string text = composed(detail);
  EXPECT_THAT(text, HasSubstr("The foliage is clearly less spotted, by the change of its spotted share, on First left: "
                              "−12.0 points (−18.0 to −5.0 points) from 3 May 2025 to 12 April 2026."));
  detail.figures.back().measurement.estimate = {-0.02, -0.08, 0.05};
  EXPECT_THAT(composed(detail), HasSubstr("There is no clear change in the spotted share on First left"));
}

// Exact Poisson limits (Garwood 1936): 7 → 2.814, 14.423; 0 → 3.689.
TEST(Compose, SaysWhatARemovalDidToTheInsectsOfAKeptPair) {
  work::TreeDetail detail = test::sampleDetail();
  detail.pairs = {{.id = {"X"}, .tree = {"T"}, .branch = {"B1"}, .before = {"P1"}, .after = {"P3"}, .title = {}}};
  EXPECT_THAT(composed(detail), HasSubstr("Live scale insects on First left went from 7 (95 % interval 2.8–14.4) on "
                                          "3 May 2025 to none seen (95 % upper bound 3.7) on 12 April 2026."));
  detail.pairs[0].before = {"P2"};  // nobody looked for insects on it
  EXPECT_THAT(composed(detail), Not(HasSubstr("went from")));
}

TEST(Compose, SaysThatACheckIsOverdue) {
  LetterRequest request = test::sampleRequest();
  request.today = std::chrono::year_month_day(std::chrono::year(2026), std::chrono::month(4), std::chrono::day(20));
  EXPECT_THAT(composed(test::sampleDetail(), request), HasSubstr("A check is overdue since 1 April 2026 (the whole tree"));
}

// Bark is not foliage (the rule of store::carriesFoliage); insects are counted on it.
TEST(Compose, LeavesFiguresOfBarkOutAndKeepsItsCounts) {
  work::TreeDetail detail = test::sampleDetail();
  detail.branches[0].kind = store::BranchKind::TrunkLine;
  for (work::FigureRow& row : detail.figures) {
    row.isOfFoliage = row.measurement.branch != store::BranchId{"B1"};
  }
  const std::string text = composed(detail);
  EXPECT_THAT(text, Not(HasSubstr("8.3 %")));
  EXPECT_THAT(text, Not(HasSubstr("62.4 %")));
  EXPECT_THAT(text, HasSubstr("64.1 % (58.8–68.9 %)"));
  EXPECT_THAT(text, HasSubstr("First left | Scale insect | 7 (2.8–14.4)"));
}

TEST(Compose, PromisesNoMoreOfTheIntervalThanItIs) {
  const std::string text = composed(test::sampleDetail());
  EXPECT_THAT(text, HasSubstr("a 95 % interval: what the photo cannot tell"));
  EXPECT_THAT(text, Not(HasSubstr("95 times in 100")));
}

TEST(CheckRequest, RefusesAPeriodThatEndsBeforeItBegins) {
  LetterRequest request = test::sampleRequest();
  request.from = 2026y / 4 / 2;
  request.to = 2026y / 4 / 1;
  EXPECT_THAT(checkRequest(request), test::failsWith(ErrorCode::InvalidArgument));
  request.to = request.from;
  EXPECT_THAT(checkRequest(request), test::isOk());
}

TEST(CheckRequest, RefusesADayThatDoesNotExist) {
  LetterRequest request = test::sampleRequest();
  request.from = 2026y / 2 / 30;
  EXPECT_THAT(checkRequest(request), test::failsWith(ErrorCode::InvalidArgument));
}

}  // namespace
}  // namespace edamori::letter
