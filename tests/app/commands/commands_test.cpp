// SPDX-License-Identifier: GPL-3.0-or-later
// The real program, as a person in a terminal meets it.
#include "tests/support/temporary_folder.h"
#include "vision/load/load.h"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <QProcess>
#include <QString>
#include <QStringList>

#include <fstream>
#include <string>
#include <vector>

namespace edamori::test {
namespace {

struct Outcome {
  int status = -1;
  std::string out, err;
};

Outcome edamori(const QStringList& arguments) {
  QProcess process;
  process.setProgram(QStringLiteral(EDAMORI_PROGRAM));
  process.setArguments(arguments);
  process.start();
  EXPECT_TRUE(process.waitForFinished(50'000)) << "the program did not end";
  return {process.exitCode(), process.readAllStandardOutput().toStdString(),
          process.readAllStandardError().toStdString()};
}

// The same for words that a test writes plainly.
Outcome ran(const std::vector<std::string>& words) {
  QStringList arguments;
  for (const std::string& word : words) {
    arguments << QString::fromStdString(word);
  }
  return edamori(arguments);
}

QString text(const std::filesystem::path& path) { return QString::fromStdString(path.string()); }

// A flat green square on white, large enough to measure.
RgbImage greenSquare() {
  RgbImage image(400, 400, 255);
  for (int y = 100; y < 300; ++y) {
    for (int x = 100; x < 300; ++x) {
      image.at(x, y, 0) = static_cast<std::uint8_t>(60 + (x * 7 + y * 3) % 9);
      image.at(x, y, 1) = static_cast<std::uint8_t>(120 + (x * 5 + y * 11) % 9);
      image.at(x, y, 2) = static_cast<std::uint8_t>(40 + (x + y) % 9);
    }
  }
  return image;
}

void expectOneLine(const Outcome& outcome) {
  EXPECT_EQ(outcome.err.find('\n'), outcome.err.size() - 1) << outcome.err;
  EXPECT_EQ(outcome.err.rfind("edamori: ", 0), 0U) << outcome.err;
}

TEST(Program, RefusesAnUnknownCommandWithStatus2AndOneLine) {
  const Outcome outcome = edamori({QStringLiteral("prune")});
  EXPECT_EQ(outcome.status, 2);
  expectOneLine(outcome);
}

TEST(Program, PrintsHelpOnStandardOutput) {
  const Outcome outcome = edamori({QStringLiteral("--help")});
  EXPECT_EQ(outcome.status, 0);
  EXPECT_NE(outcome.out.find("measure"), std::string::npos);
  EXPECT_EQ(outcome.err, "");
}

TEST(Measure, PrintsTheFieldsOfTheContractAsJson) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "leaf.png", greenSquare()).has_value());
  const Outcome outcome = edamori({QStringLiteral("measure"), text(folder / "leaf.png"),
                                   QStringLiteral("--json"), QStringLiteral("-")});
  ASSERT_EQ(outcome.status, 0) << outcome.err;
  const auto json = nlohmann::json::parse(outcome.out);
  for (const char* const field :
       {"photo", "sha256", "width", "height", "taken_at", "date_source", "outline_px", "foliage",
        "spot", "mm_per_px", "warnings", "method"}) {
    EXPECT_TRUE(json.contains(field)) << field;
  }
  // The square is a quarter of the photo by construction (200² of 400² px).
  EXPECT_NEAR(json["foliage"]["fraction"].get<double>(), 0.25, 0.02);
  EXPECT_LE(json["foliage"]["low"].get<double>(), json["foliage"]["fraction"].get<double>());
  EXPECT_LT(json["spot"]["fraction"].get<double>(), 0.02);
  EXPECT_EQ(json["outline_px"].get<int>(), 160'000);
}

TEST(Measure, WritesLabelsOfTheSizeOfThePhoto) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "leaf.png", greenSquare()).has_value());
  const Outcome outcome = edamori({QStringLiteral("measure"), text(folder / "leaf.png"),
                                   QStringLiteral("--labels"), text(folder / "labels.png")});
  ASSERT_EQ(outcome.status, 0) << outcome.err;
  const auto labels = vision::loadLabels(folder / "labels.png");
  ASSERT_TRUE(labels.has_value());
  EXPECT_EQ(labels->width(), 400);
  EXPECT_EQ(labels->at(200, 200), static_cast<std::uint8_t>(Label::SoundFoliage));
  EXPECT_EQ(labels->at(10, 10), static_cast<std::uint8_t>(Label::NotFoliage));
}

TEST(Measure, ExplainsAnOutlineThatIsTooSmallWithStatus3) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "leaf.png", greenSquare()).has_value());
  const Outcome outcome =
      edamori({QStringLiteral("measure"), text(folder / "leaf.png"), QStringLiteral("--outline"),
               QStringLiteral("10,10 20,10 20,20"), QStringLiteral("--json"), QStringLiteral("-")});
  EXPECT_EQ(outcome.status, 3);
  expectOneLine(outcome);
  EXPECT_TRUE(nlohmann::json::parse(outcome.out)["foliage"].is_null());
}

struct BadPhoto {
  const char* name;
  std::string bytes;
};

TEST(Measure, RefusesFilesThatAreNoPhotosWithStatus4AndOneLine) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "whole.jpg", greenSquare()).has_value());
  const std::string whole = readWholeFile(folder / "whole.jpg");
  for (const BadPhoto& bad :
       {BadPhoto{"empty.jpg", ""}, BadPhoto{"text.jpg", "Dear keeper, this is a letter.\n"},
        BadPhoto{"cut_short.jpg", whole.substr(0, whole.size() / 2)}}) {
    writeFile(folder / bad.name, bad.bytes);
    const Outcome outcome = edamori({QStringLiteral("measure"), text(folder / bad.name)});
    EXPECT_EQ(outcome.status, 4) << bad.name;
    expectOneLine(outcome);
    EXPECT_NE(outcome.err.find(bad.name), std::string::npos) << outcome.err;
  }
  const Outcome missing = edamori({QStringLiteral("measure"), text(folder / "nowhere.jpg")});
  EXPECT_EQ(missing.status, 4);
  expectOneLine(missing);
}

TEST(Import, ListsWhatWasTakenInAlreadyThereAndRefused) {
  const TemporaryFolder folder;
  const QString garden = text(folder / "garden");
  ASSERT_EQ(edamori({QStringLiteral("garden"), QStringLiteral("new"), garden}).status, 0);
  std::filesystem::create_directories(folder / "card" / "deeper");
  ASSERT_TRUE(vision::savePicture(folder / "card" / "a.jpg", greenSquare()).has_value());
  std::filesystem::copy_file(folder / "card" / "a.jpg", folder / "card" / "deeper" / "b.jpg");
  writeFile(folder / "card" / "c.jpg", "no photo");
  const Outcome outcome = edamori({QStringLiteral("import"), QStringLiteral("--garden"), garden,
                                   QStringLiteral("--new-tree"), QStringLiteral("T-1"),
                                   text(folder / "card")});
  EXPECT_EQ(outcome.status, 0) << outcome.err;
  EXPECT_EQ(outcome.out.rfind("1 taken in, 1 already there, 1 refused", 0), 0U) << outcome.out;
  EXPECT_NE(outcome.out.find("c.jpg"), std::string::npos);
  const Outcome check = edamori({QStringLiteral("check"), QStringLiteral("--garden"), garden});
  EXPECT_EQ(check.status, 0) << check.out << check.err;
}

TEST(Import, RefusesAFolderThatIsNoGardenWithStatus5) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  const Outcome outcome = edamori({QStringLiteral("import"), QStringLiteral("--garden"),
                                   text(folder.path()), text(folder / "a.jpg")});
  EXPECT_EQ(outcome.status, 5);
  expectOneLine(outcome);
  EXPECT_FALSE(std::filesystem::exists(folder / "garden.sqlite"));
}

TEST(Check, ReportsAnOriginalThatWasChangedWithStatus5) {
  const TemporaryFolder folder;
  const QString garden = text(folder / "garden");
  ASSERT_EQ(edamori({QStringLiteral("garden"), QStringLiteral("new"), garden}).status, 0);
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  ASSERT_EQ(edamori({QStringLiteral("import"), QStringLiteral("--garden"), garden,
                     text(folder / "a.jpg")})
                .status,
            0);
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder / "garden" / "photos")) {
    if (entry.is_regular_file()) {
      std::filesystem::permissions(entry.path(), std::filesystem::perms::owner_all);
      std::ofstream(entry.path(), std::ios::app) << "x";
    }
  }
  const Outcome outcome = edamori({QStringLiteral("check"), QStringLiteral("--garden"), garden});
  EXPECT_EQ(outcome.status, 5);
  EXPECT_NE(outcome.out, "");
}

TEST(Backup, ComesBackWhole) {
  const TemporaryFolder folder;
  const QString garden = text(folder / "garden");
  ASSERT_EQ(edamori({QStringLiteral("garden"), QStringLiteral("new"), garden}).status, 0);
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  ASSERT_EQ(edamori({QStringLiteral("import"), QStringLiteral("--garden"), garden,
                     text(folder / "a.jpg")})
                .status,
            0);
  const Outcome backup = edamori({QStringLiteral("backup"), QStringLiteral("--garden"), garden,
                                  QStringLiteral("--out"), text(folder / "b.tar")});
  ASSERT_EQ(backup.status, 0) << backup.err;
  const Outcome restore = edamori({QStringLiteral("restore"), text(folder / "b.tar"),
                                   QStringLiteral("--garden"), text(folder / "again")});
  ASSERT_EQ(restore.status, 0) << restore.err;
  const Outcome check =
      edamori({QStringLiteral("check"), QStringLiteral("--garden"), text(folder / "again")});
  EXPECT_EQ(check.status, 0) << check.out << check.err;
  EXPECT_NE(check.out.find("1 photos"), std::string::npos) << check.out;
}

// The wording is ours, whatever the parser of arguments says.
TEST(Program, SaysInItsOwnWordsWhatIsWrongWithTheArguments) {
  struct Mistake {
    std::vector<std::string> arguments;
    const char* words;
  };
  for (const Mistake& mistake :
       {Mistake{{"measure"}, "edamori: PHOTO is missing; see edamori measure --help"},
        Mistake{{"compare", "a.jpg"}, "edamori: AFTER is missing; see edamori compare --help"},
        Mistake{{"letter", "--tree", "T"}, "edamori: --garden DIR and --out FILE are missing; see edamori letter --help"},
        Mistake{{"figures", "--garden"}, "edamori: --garden needs a value; see edamori figures --help"},
        Mistake{{"prune"}, "edamori: there is no command or option \"prune\"; see edamori --help"},
        Mistake{{"check", "--garden", "x", "--fast"}, "edamori: \"--fast\" has no meaning here; see edamori check --help"},
        Mistake{{"figures", "--garden", "x", "--format", "xml"}, "edamori: --format takes table, csv or json, not \"xml\""}}) {
    const Outcome outcome = ran(mistake.arguments);
    EXPECT_EQ(outcome.status, 2);
    EXPECT_EQ(outcome.err, std::string(mistake.words) + "\n");
  }
}

TEST(Import, RefusesAMistypedTagAndListsNearOnes) {
  const TemporaryFolder folder;
  const std::string garden = (folder / "garden").string();
  ASSERT_EQ(ran({"garden", "new", garden}).status, 0);
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  ASSERT_EQ(ran({"import", "--garden", garden, "--new-tree", "ED-01", (folder / "a.jpg").string()}).status, 0);
  const Outcome typo = ran({"import", "--garden", garden, "--tree", "ED-O1", (folder / "a.jpg").string()});
  EXPECT_EQ(typo.status, 2);
  expectOneLine(typo);
  EXPECT_NE(typo.err.find("nearest are: ED-01"), std::string::npos) << typo.err;
  EXPECT_NE(typo.err.find("--new-tree ED-O1"), std::string::npos) << typo.err;
  EXPECT_EQ(ran({"import", "--garden", garden, "--tree", "ED-01", (folder / "a.jpg").string()}).status, 0);
  EXPECT_EQ(ran({"import", "--garden", garden, "--new-tree", "ED-01", (folder / "a.jpg").string()}).status, 2);
}

TEST(Letter, IsNotWrittenOverAFileUnlessAsked) {
  const TemporaryFolder folder;
  const std::string garden = (folder / "garden").string();
  ASSERT_EQ(ran({"garden", "new", garden}).status, 0);
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  ASSERT_EQ(ran({"import", "--garden", garden, "--new-tree", "T", (folder / "a.jpg").string()}).status, 0);
  writeFile(folder / "t.html", "kept");
  std::vector<std::string> letter{"letter", "--garden", garden, "--tree", "T", "--out", (folder / "t.html").string()};
  const Outcome refused = ran(letter);
  EXPECT_EQ(refused.status, 5);
  expectOneLine(refused);
  EXPECT_NE(refused.err.find("--replace"), std::string::npos) << refused.err;
  EXPECT_EQ(readWholeFile(folder / "t.html"), "kept");
  letter.emplace_back("--replace");
  const Outcome replaced = ran(letter);
  EXPECT_EQ(replaced.status, 0) << replaced.err;
  EXPECT_NE(readWholeFile(folder / "t.html"), "kept");
}

TEST(Figures, OfAGardenWithoutAnyGiveAHint) {
  const TemporaryFolder folder;
  const std::string garden = (folder / "garden").string();
  ASSERT_EQ(ran({"garden", "new", garden}).status, 0);
  const Outcome outcome = ran({"figures", "--garden", garden});
  EXPECT_EQ(outcome.status, 0);
  EXPECT_EQ(outcome.out, "");
  expectOneLine(outcome);
}

TEST(Measure, NamesTheSubjectItUsed) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "a.png", greenSquare()).has_value());
  EXPECT_EQ(ran({"measure", (folder / "a.png").string()}).out.rfind("subject         leaf\n", 0), 0U);
  EXPECT_EQ(ran({"measure", (folder / "a.png").string(), "--subject", "needles"}).out.rfind("subject         needles\n", 0), 0U);
}

TEST(Restore, SaysOfACutOffBackupThatItEndsTooEarly) {
  const TemporaryFolder folder;
  const std::string garden = (folder / "garden").string();
  ASSERT_EQ(ran({"garden", "new", garden}).status, 0);
  ASSERT_EQ(ran({"backup", "--garden", garden, "--out", (folder / "b.tar").string()}).status, 0);
  const std::string whole = readWholeFile(folder / "b.tar");
  writeFile(folder / "cut.tar", whole.substr(0, whole.size() / 2));
  const Outcome outcome = ran({"restore", (folder / "cut.tar").string(), "--garden", (folder / "again").string()});
  EXPECT_EQ(outcome.status, 4);
  expectOneLine(outcome);
  EXPECT_NE(outcome.err.find("ends too early"), std::string::npos) << outcome.err;
  EXPECT_FALSE(std::filesystem::exists(folder / "again"));
}

}  // namespace
}  // namespace edamori::test
