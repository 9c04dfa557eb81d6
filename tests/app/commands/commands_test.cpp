// SPDX-License-Identifier: GPL-3.0-or-later
// The real program, as a person in a terminal meets it.
#include "app/work/demo.h"
#include "tests/app/work/leafy_garden.h"
#include "tests/support/temporary_folder.h"
#include "vision/load/load.h"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <QProcess>
#include <QString>
#include <QStringList>

#include <algorithm>
#include <cmath>
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

// Grey bark with one dark red-brown glossy dome of 9 px in the lamp's light.
RgbImage barkWithOneInsect() {
  RgbImage image(320, 240);
  for (int y = 0; y < 240; ++y) {
    for (int x = 0; x < 320; ++x) {
      const double nx = (x + 0.5 - 200) / 9.0;
      const double ny = (y + 0.5 - 100) / 9.0;
      const double cover = std::clamp(9.0 * (1 - std::hypot(nx, ny)) + 0.5, 0.0, 1.0);
      const double nz = std::sqrt(std::max(0.0, 1 - nx * nx - ny * ny));
      const double facing = std::max(0.0, -0.45 * nx - 0.45 * ny + 0.77 * nz);
      const double shine = 150 * std::pow(std::max(0.0, 2 * nz * facing - 0.77), 20);
      const double ground[] = {150, 134, 116};
      const double albedo[] = {112, 52, 36};
      for (int channel = 0; channel < 3; ++channel) {
        const double lit = albedo[channel] * (0.35 + 0.75 * facing) + shine;
        const double value = (1 - cover) * (ground[channel] + (x * 7 + y * 13) % 9) + cover * lit;
        image.at(x, y, channel) = static_cast<std::uint8_t>(std::clamp(value, 0.0, 255.0));
      }
    }
  }
  return image;
}

TEST(Find, PrintsTheCandidatesOfTheContractAsJson) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "bark.png", barkWithOneInsect()).has_value());
  const std::string photo = (folder / "bark.png").string();
  const Outcome outcome = ran({"find", photo, "--finding", "scale", "--json", "-"});
  ASSERT_EQ(outcome.status, 0) << outcome.err;
  const auto json = nlohmann::json::parse(outcome.out);
  ASSERT_FALSE(json.at("candidates").empty());
  const auto& best = json["candidates"][0];
  EXPECT_NEAR(best.at("x").get<double>(), 200, 4);
  EXPECT_NEAR(best.at("y").get<double>(), 100, 4);
  EXPECT_NEAR(best.at("radius_px").get<double>(), 9, 3.5);
  EXPECT_GT(best.at("score").get<double>(), 0.5);
  EXPECT_LE(best.at("score").get<double>(), 1.0);
  EXPECT_EQ(json.at("width"), 320);
  // Outside the outline nothing is offered; without --json it is told in words.
  const Outcome outside = ran({"find", photo, "--finding", "scale", "--outline", "5,5 90,5 90,200 5,200"});
  EXPECT_EQ(outside.status, 0) << outside.err;
  EXPECT_EQ(outside.out.rfind("0 possible scale insects", 0), 0U) << outside.out;
}

TEST(Find, EndsWithTheStatusOfEachMistakeAndOneLine) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "bark.png", barkWithOneInsect()).has_value());
  const std::string photo = (folder / "bark.png").string();
  const std::vector<std::pair<std::vector<std::string>, int>> mistakes = {
      {{"find", photo}, 2},
      {{"find", photo, "--finding", "aphids"}, 2},
      {{"find", photo, "--finding", "scale", "--outline", "1,1 2"}, 2},
      {{"find", photo, "--finding", "scale", "--outline", ""}, 2},
      {{"find", photo, "--finding", "scale", "--outline", "900,900 950,900 950,950"}, 3},
      {{"find", (folder / "none.jpg").string(), "--finding", "scale"}, 4},
      {{"find", photo, "--finding", "scale", "--json", (folder / "no" / "x.json").string()}, 5},
  };
  for (const auto& [words, status] : mistakes) {
    const Outcome outcome = ran(words);
    EXPECT_EQ(outcome.status, status) << words.back();
    expectOneLine(outcome);
  }
  const Outcome refused = ran({"find", photo, "--finding", "scale", "--outline", "900,900 950,900 950,950", "--json", "-"});
  EXPECT_EQ(refused.status, 3);
  EXPECT_TRUE(nlohmann::json::parse(refused.out).at("candidates").is_null());
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
  EXPECT_EQ(outcome.status, 4);
  expectOneLine(outcome);
  EXPECT_NE(outcome.err.find("1 of 3 files could not be taken in"), std::string::npos) << outcome.err;
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
  const Outcome taken = edamori({QStringLiteral("import"), QStringLiteral("--garden"), garden, text(folder / "a.jpg")});
  ASSERT_EQ(taken.status, 0);
  EXPECT_NE(taken.out.find("they belong to no tree yet"), std::string::npos) << taken.out;
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

TEST(Check, RecomputesEveryFigureWhenAsked) {
  const TemporaryFolder folder;
  const std::vector<std::string> check{"check", "--garden", (folder / "garden").string(), "--remeasure"};
  LeafyGarden leafy(folder);
  const auto figures = work::measureOutline(leafy.garden, leafy.first, leafy.threeStrokes());
  ASSERT_TRUE(figures.has_value());
  const Outcome sound = ran(check);
  EXPECT_EQ(sound.status, 0) << sound.out << sound.err;
  EXPECT_NE(sound.out.find("all agree: " + std::to_string(figures->size()) + " figures recomputed bit for bit"),
            std::string::npos)
      << sound.out;
  EXPECT_EQ(sound.err, "") << "no progress where nobody watches";
  store::Measurement made = figures->front();
  made.estimate.value = std::nextafter(made.estimate.value, made.estimate.low);
  ASSERT_TRUE(leafy.garden.put(made).has_value());
  const Outcome drifted = ran(check);
  EXPECT_EQ(drifted.status, 5);
  expectOneLine(drifted);
  EXPECT_NE(drifted.out.find("T-1, first.png, first left, Foliage cover: stored "), std::string::npos)
      << drifted.out;
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

TEST(Letter, OffersTheNearestTagsForOneThatNoTreeHas) {
  const TemporaryFolder folder;
  const QString garden = text(folder / "garden");
  ASSERT_EQ(edamori({QStringLiteral("garden"), QStringLiteral("new"), garden}).status, 0);
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  ASSERT_EQ(ran({"import", "--garden", (folder / "garden").string(), "--new-tree", "T-01", (folder / "a.jpg").string()}).status, 0);
  const Outcome outcome = ran({"letter", "--garden", (folder / "garden").string(), "--tree", "t-01", "--out", (folder / "l.pdf").string()});
  EXPECT_EQ(outcome.status, 2);
  expectOneLine(outcome);
  EXPECT_NE(outcome.err.find("nearest are: T-01"), std::string::npos) << outcome.err;
}

TEST(Measure, WritesLabelsOnlyAsPng) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  const Outcome outcome = ran({"measure", (folder / "a.jpg").string(), "--labels", (folder / "l.jpg").string()});
  EXPECT_EQ(outcome.status, 2);
  expectOneLine(outcome);
  EXPECT_FALSE(std::filesystem::exists(folder / "l.jpg"));
}

// Whoever has painted is not told to paint. A maple between red and yellow, which the network cannot tell from dying leaves.
TEST(Measure, AdvisesHintsOnlyWithoutHints) {
  const auto samples = work::samplesFolder();
  ASSERT_TRUE(samples.has_value());
  const TemporaryFolder folder;
  LabelImage hints(1680, 1260, 0);
  hints.at(5, 5) = static_cast<std::uint8_t>(Hint::NotFoliage);
  ASSERT_TRUE(vision::saveLabels(folder / "hints.png", hints).has_value());
  std::vector<std::string> words{"measure", (*samples / "photos" / "ED-06_2026-05-30_front.jpg").string(), "--outline",
                                 "1028,206 996,284 922,314 857,303 803,346 722,347 629,305 686,206 724,152 766,119 "
                                 "797,41 870,52 925,93 1027,114"};
  const Outcome without = ran(words);
  EXPECT_NE(without.out.find("paint hints on sound and on spotted foliage"), std::string::npos) << without.out;
  words.insert(words.end(), {"--hints", (folder / "hints.png").string()});
  const Outcome with = ran(words);
  EXPECT_EQ(with.out.find("paint hints"), std::string::npos) << with.out;
  EXPECT_NE(with.out.find("in spite of the hints"), std::string::npos) << with.out;
}

// What is read is never written over, nor what another program made.
TEST(Targets, SpareThePhotosAndOtherFiles) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  ASSERT_TRUE(vision::savePicture(folder / "b.png", greenSquare()).has_value());
  writeFile(folder / "notes.txt", "mine");
  writeFile(folder / "notes.png", "mine");
  std::filesystem::create_symlink(folder / "a.jpg", folder / "link.json");
  const auto path = [&folder](const char* name) { return (folder / name).string(); };
  const std::string photo = readWholeFile(folder / "a.jpg");
  const std::string picture = readWholeFile(folder / "b.png");
  const std::vector<std::vector<std::string>> refused{
      {"measure", path("a.jpg"), "--json", path("a.jpg")},
      {"measure", path("a.jpg"), "--json", path("link.json")},
      {"measure", path("a.jpg"), "--json", path("notes.txt")},
      {"measure", path("b.png"), "--labels", path("b.png")},
      {"measure", path("a.jpg"), "--labels", path("notes.png")},
      {"measure", path("a.jpg"), "--hints", path("b.png"), "--labels", path("b.png")},
      {"compare", path("a.jpg"), path("b.png"), "--aligned", path("b.png")},
      {"compare", path("a.jpg"), path("b.png"), "--json", path("b.png")},
      {"find", path("a.jpg"), "--finding", "scale", "--json", path("a.jpg")}};
  for (const std::vector<std::string>& words : refused) {
    const Outcome outcome = ran(words);
    EXPECT_NE(outcome.status, 0) << words.back();
    expectOneLine(outcome);
    EXPECT_NE(outcome.err.find("name another file"), std::string::npos) << outcome.err;
  }
  EXPECT_EQ(readWholeFile(folder / "a.jpg"), photo);
  EXPECT_EQ(readWholeFile(folder / "b.png"), picture);
  EXPECT_EQ(readWholeFile(folder / "notes.txt"), "mine");
  // A script may run again.
  for (int run = 0; run < 2; ++run) {
    EXPECT_EQ(ran({"measure", path("a.jpg"), "--json", path("a.json"), "--labels", path("a.png")}).status, 0) << run;
  }
}

TEST(Compare, RefusesOnePhotoTwice) {
  const TemporaryFolder folder;
  ASSERT_TRUE(vision::savePicture(folder / "a.jpg", greenSquare()).has_value());
  std::filesystem::copy_file(folder / "a.jpg", folder / "b.jpg");
  const Outcome outcome = ran({"compare", (folder / "a.jpg").string(), (folder / "b.jpg").string()});
  EXPECT_EQ(outcome.status, 2);
  expectOneLine(outcome);
  EXPECT_NE(outcome.err.find("same photo"), std::string::npos) << outcome.err;
}

TEST(Compare, SaysThatTheEarlierPhotoWasNamedLast) {
  const auto samples = work::samplesFolder();
  ASSERT_TRUE(samples.has_value());
  const std::filesystem::path photos = *samples / "photos";
  const Outcome outcome = ran({"compare", (photos / "ED-01_2026-04-14_front.jpg").string(),
                               (photos / "ED-01_2026-04-11_front.jpg").string(), "--outline",
                               "400,900 700,900 700,1040 400,1040", "--points", "600,1000=600,1000 900,500=900,500"});
  EXPECT_NE(outcome.out.find("the photo named first is the later one"), std::string::npos) << outcome.out << outcome.err;
}

// Two places that are not the same put the branch where the program is sure that it is not.
TEST(Compare, TellsNoChangeWhenThePlacesContradictThePhotos) {
  const auto samples = work::samplesFolder();
  ASSERT_TRUE(samples.has_value());
  const std::filesystem::path photos = *samples / "photos";
  const auto withPlaces = [&photos](const char* places) {
    return ran({"compare", (photos / "ED-01_2026-04-11_front.jpg").string(),
                (photos / "ED-01_2026-04-14_front.jpg").string(), "--subject", "needles", "--outline",
                "140,960 240,890 420,880 560,860 640,940 700,1000 640,1060 420,1080 240,1130 150,1080", "--points", places});
  };
  const Outcome wrong = withPlaces("300,1500=300,1500 600,900=600,900");
  EXPECT_NE(wrong.out.find("verdict       cannot tell"), std::string::npos) << wrong.out;
  EXPECT_NE(wrong.out.find("look whether they are the same places"), std::string::npos) << wrong.out;
  EXPECT_EQ(wrong.out.find("spot change"), std::string::npos) << wrong.out;
  EXPECT_EQ(wrong.out.find("loss by"), std::string::npos) << wrong.out;
  EXPECT_EQ(wrong.status, 3);
  EXPECT_NE(wrong.err.find("the places contradict what both photos show"), std::string::npos) << wrong.err;
  const Outcome right = withPlaces("140,960=201,939 640,940=666,930");
  EXPECT_NE(right.out.find("verdict       no clear change"), std::string::npos) << right.out;
  EXPECT_NE(right.out.find("by 2 places that are the same on both"), std::string::npos) << right.out;
  EXPECT_EQ(right.out.find("look whether"), std::string::npos) << right.out;
  const Outcome beyond = withPlaces("300,1700=300,1700 600,900=600,900");
  EXPECT_EQ(beyond.status, 2);
  EXPECT_NE(beyond.err.find("a place lies beyond the before photo, which is 1260 × 1680 px"), std::string::npos) << beyond.err;
}

// The plain square alone gives the program nothing to hold on to; moved by 20 px, two of its corners say where it is.
TEST(Compare, LaysPhotosOnEachOtherByPlacesThatAPersonGives) {
  const TemporaryFolder folder;
  const RgbImage square = greenSquare();
  RgbImage moved(400, 400, 255);
  for (int y = 0; y < 400; ++y) {
    for (int x = 20; x < 400; ++x) {
      for (int channel = 0; channel < 3; ++channel) {
        moved.at(x, y, channel) = square.at(x - 20, y, channel);
      }
    }
  }
  ASSERT_TRUE(vision::savePicture(folder / "a.png", square).has_value());
  ASSERT_TRUE(vision::savePicture(folder / "b.png", moved).has_value());
  const std::vector<std::string> pair{"compare", (folder / "a.png").string(), (folder / "b.png").string()};
  const auto with = [&pair](const std::string& points) {
    std::vector<std::string> words = pair;
    words.insert(words.end(), {"--outline", "50,50 350,50 350,350 50,350", "--points", points, "--json", "-"});
    return ran(words);
  };
  const Outcome placed = with("100,100=120,100 300,300=320,300");
  ASSERT_EQ(placed.status, 0) << placed.err;
  const auto json = nlohmann::json::parse(placed.out);
  EXPECT_TRUE(json.at("aligned").get<bool>());
  EXPECT_EQ(json.at("model").get<std::string>(), "similarity");
  EXPECT_NEAR(json.at("outline_after").at(0).at(0).get<double>(), 70.0, 0.01);
  EXPECT_EQ(json.at("verdict").get<std::string>(), "no clear change");
  for (const char* wrong : {"100,100", "100,100=120", "1,2=3,4 x,y=z,w", "1,2=3,4,5"}) {
    const Outcome refused = with(wrong);
    EXPECT_EQ(refused.status, 2) << wrong;
    expectOneLine(refused);
  }
  EXPECT_EQ(with("100,100=120,100").status, 2) << "one place alone says nothing of the turn";
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

TEST(Forget, TakesBackWhatHintsOfMeasureTaught) {
  const TemporaryFolder folder;
  const std::string garden = (folder / "garden").string(), photo = (folder / "leaf.png").string(),
                    next = (folder / "next.png").string(), hints = (folder / "hints.png").string();
  RgbImage image = greenSquare();
  ASSERT_TRUE(vision::savePicture(photo, image).has_value());
  for (int x = 0; x < 400; ++x) {
    image.at(x, 5, 0) = 250;  // another photo, by one line
  }
  ASSERT_TRUE(vision::savePicture(next, image).has_value());
  LabelImage painted(400, 400, 0);
  for (int y = 120; y < 280; ++y) {
    for (int x = 120; x < 150; ++x) {
      painted.at(x, y) = static_cast<std::uint8_t>(Hint::NotFoliage);
    }
  }
  ASSERT_TRUE(vision::saveLabels(hints, painted).has_value());
  ASSERT_EQ(ran({"garden", "new", garden}).status, 0);
  ASSERT_EQ(ran({"import", "--garden", garden, "--new-tree", "T-1", photo}).status, 0);
  const std::vector<std::string> measureNext{"measure", next, "--garden", garden, "--tree", "T-1"};
  const Outcome before = ran(measureNext);
  ASSERT_EQ(before.status, 0) << before.err;
  ASSERT_EQ(ran({"measure", photo, "--garden", garden, "--tree", "T-1", "--hints", hints}).status, 0);
  const Outcome taught = ran(measureNext);
  EXPECT_NE(taught.out, before.out);
  EXPECT_NE(taught.out.find("with what 1 earlier photo taught"), std::string::npos) << taught.out;
  const Outcome forgot = ran({"forget", "--garden", garden, "--tree", "T-1"});
  EXPECT_EQ(forgot.out, "forgot what hints on 1 photo taught about T-1\n") << forgot.err;
  EXPECT_EQ(ran(measureNext).out, before.out);
  EXPECT_EQ(ran({"forget", "--garden", garden, "--tree", "T-1"}).out,
            "hints have taught nothing about T-1\n");
}

TEST(Forget, AsksForAKnownTreeWithStatus2) {
  const TemporaryFolder folder;
  const std::string garden = (folder / "garden").string();
  ASSERT_EQ(ran({"garden", "new", garden}).status, 0);
  const Outcome outcome = ran({"forget", "--garden", garden, "--tree", "T-9"});
  EXPECT_EQ(outcome.status, 2);
  expectOneLine(outcome);
  const Outcome half = ran({"measure", "x.png", "--tree", "T-9"});
  EXPECT_EQ(half.status, 2);
  expectOneLine(half);
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
