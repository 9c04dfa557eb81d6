// SPDX-License-Identifier: GPL-3.0-or-later
// Dates and orientation against exiftool (Debian: libimage-exiftool-perl), on files that exiv2 made
// here and on every sample photo.
#include "store/intake/metadata.h"

#include "tests/store/sample_records.h"

#include <array>
#include <cstdio>
#include <map>
#include <ostream>
#include <sstream>

#include <exiv2/exiv2.hpp>

namespace edamori::store {

using namespace edamori::store::test;
using ::testing::ElementsAre;
namespace fs = std::filesystem;

namespace {

using Tags = std::map<std::string, std::string>;

constexpr std::array kDateTags = {"DateTimeOriginal",
                                  "SubSecTimeOriginal",
                                  "OffsetTimeOriginal",
                                  "CreateDate",
                                  "SubSecTimeDigitized",
                                  "OffsetTimeDigitized",
                                  "ModifyDate",
                                  "SubSecTime",
                                  "OffsetTime"};

// What exiftool says of the file: one tag a line, as "name: value". Fails the test without
// exiftool.
Tags exiftool(const fs::path& file) {
  std::string command = "exiftool -n -s -s -charset filename=UTF8";
  for (const char* const tag : kDateTags) {
    command += std::string(" -EXIF:") + tag;
  }
  command +=
      " -EXIF:Orientation -EXIF:Make -EXIF:Model -EXIF:LensModel -EXIF:FocalLength"
      " -EXIF:GPSLatitude -SubSecDateTimeOriginal '" +
      file.string() + "'";
  std::FILE* const pipe = ::popen(command.c_str(), "r");
  std::string output;
  std::array<char, 4096> buffer{};
  while (pipe != nullptr && std::fgets(buffer.data(), buffer.size(), pipe) != nullptr) {
    output += buffer.data();
  }
  EXPECT_EQ(pipe != nullptr ? ::pclose(pipe) : -1, 0) << "exiftool is needed for this test";
  Tags tags;
  std::istringstream lines(output);
  for (std::string line; std::getline(lines, line);) {
    if (const auto colon = line.find(": "); colon != std::string::npos) {
      tags[line.substr(0, colon)] = line.substr(colon + 2);
    }
  }
  return tags;
}

std::string valueOf(const Tags& tags, const std::string& name) {
  const auto found = tags.find(name);
  return found == tags.end() ? "" : found->second;
}

// ISO 8601 from exiftool's values, by the order that readMetadata promises; "" when all are
// unknown.
std::string expectedTime(const Tags& tags) {
  for (std::size_t i = 0; i < kDateTags.size(); i += 3) {
    std::string time = valueOf(tags, kDateTags[i]);
    if (time.size() != 19 || time.starts_with("0000") || time.starts_with(" ")) {
      continue;
    }
    time[4] = time[7] = '-';
    time[10] = 'T';
    const std::string subSeconds = valueOf(tags, kDateTags[i + 1]);
    return time + (subSeconds.empty() ? "" : "." + subSeconds) + valueOf(tags, kDateTags[i + 2]);
  }
  return "";
}

Exiv2::ExifData exifOf(const Tags& values) {
  Exiv2::ExifData exif;
  for (const auto& [key, value] : values) {
    exif[key] = value;
  }
  return exif;
}

// A file that exiv2 makes, with these Exif values.
fs::path photoWith(const fs::path& file, const Tags& values, int type = Exiv2::ImageType::jpeg) {
  auto image = Exiv2::ImageFactory::create(type, file.string());
  image->setExifData(exifOf(values));
  image->writeMetadata();
  return file;
}

// The bytes of a TIFF file (which is what Exif is) with these values and no picture.
std::string tiffWith(const Tags& values) {
  Exiv2::Blob blob;
  Exiv2::ExifParser::encode(blob, Exiv2::littleEndian, exifOf(values));
  return {blob.begin(), blob.end()};
}

PhotoMetadata metadataOf(const fs::path& file) {
  const auto metadata = readMetadata(file);
  EXPECT_THAT(metadata, isOk());
  return metadata ? *metadata : PhotoMetadata{};
}

// Our reading against exiftool's.
void expectAgreement(const fs::path& file) {
  const Tags tags = exiftool(file);
  const PhotoMetadata metadata = metadataOf(file);
  const std::string expected = expectedTime(tags);
  if (expected.empty()) {
    EXPECT_EQ(metadata.dateSource, DateSource::FileTime) << file;
  } else {
    EXPECT_EQ(toText(metadata.takenAt), expected) << file;
    EXPECT_EQ(metadata.dateSource, DateSource::Camera) << file;
  }
  const std::string orientation = valueOf(tags, "Orientation");
  const bool isInRange = orientation.size() == 1 && orientation >= "1" && orientation <= "8";
  EXPECT_EQ(metadata.exifOrientation, isInRange ? orientation[0] - '0' : 1) << file;
  EXPECT_EQ(metadata.cameraMake, valueOf(tags, "Make")) << file;
  EXPECT_EQ(metadata.cameraModel, valueOf(tags, "Model")) << file;
  EXPECT_EQ(metadata.lens, valueOf(tags, "LensModel")) << file;
  EXPECT_EQ(metadata.hasPosition, tags.contains("GPSLatitude")) << file;
  if (tags.contains("FocalLength") && metadata.focalLengthMm) {
    EXPECT_NEAR(*metadata.focalLengthMm, std::stod(valueOf(tags, "FocalLength")), 1e-6) << file;
  }
}

struct ExifCase {
  const char* name;
  Tags values;
  const char* takenAt;  // "": the file's time
};

void PrintTo(const ExifCase& each, std::ostream* out) { *out << each.name; }

class ExifDates : public ::testing::TestWithParam<ExifCase> {};

const char* const kOriginal = "Exif.Photo.DateTimeOriginal";
const char* const kSubSec = "Exif.Photo.SubSecTimeOriginal";
const char* const kOffset = "Exif.Photo.OffsetTimeOriginal";

}  // namespace

// Layout of dates, offsets and sub-seconds: Exif 2.32 (CIPA DC-008-2019), §4.6.5. That zeros or
// blanks stand for an unknown date is also said there for DateTime.
INSTANTIATE_TEST_SUITE_P(
    Cases,
    ExifDates,
    ::testing::Values(
        ExifCase{"Nothing", {{"Exif.Image.Make", "M"}}, ""},
        ExifCase{"Original", {{kOriginal, "2026:07:29 10:15:30"}}, "2026-07-29T10:15:30"},
        ExifCase{"Full",
                 {{kOriginal, "2026:07:29 10:15:30"}, {kSubSec, "123"}, {kOffset, "+02:00"}},
                 "2026-07-29T10:15:30.123+02:00"},
        ExifCase{"SubSecondFive",
                 {{kOriginal, "2026:07:29 10:15:30"}, {kSubSec, "5"}},
                 "2026-07-29T10:15:30.5"},
        ExifCase{"SubSecondZeroFive",
                 {{kOriginal, "2026:07:29 10:15:30"}, {kSubSec, "05"}},
                 "2026-07-29T10:15:30.05"},
        ExifCase{"WestOffset",
                 {{kOriginal, "2026:01:01 00:00:00"}, {kOffset, "-09:30"}},
                 "2026-01-01T00:00:00-09:30"},
        ExifCase{"Zeros", {{kOriginal, "0000:00:00 00:00:00"}}, ""},
        ExifCase{"Blanks", {{kOriginal, "    :  :     :  :  "}}, ""},
        ExifCase{"ZerosThenDigitized",
                 {{kOriginal, "0000:00:00 00:00:00"},
                  {kOffset, "+01:00"},
                  {"Exif.Photo.DateTimeDigitized", "2025:02:03 04:05:06"},
                  {"Exif.Photo.SubSecTimeDigitized", "7"},
                  {"Exif.Photo.OffsetTimeDigitized", "+09:00"}},
                 "2025-02-03T04:05:06.7+09:00"},
        ExifCase{
            "DateTimeAlone",
            {{"Exif.Image.DateTime", "2024:02:29 23:59:59"}, {"Exif.Photo.OffsetTime", "+00:00"}},
            "2024-02-29T23:59:59+00:00"},
        ExifCase{"OriginalWins",
                 {{kOriginal, "2026:07:29 10:15:30"},
                  {"Exif.Photo.DateTimeDigitized", "2025:01:01 01:01:01"},
                  {"Exif.Image.DateTime", "2024:01:01 01:01:01"},
                  {"Exif.Photo.OffsetTime", "+05:00"}},
                 "2026-07-29T10:15:30"}),
    [](const auto& each) { return each.param.name; });

TEST_P(ExifDates, AreReadAsExiftoolReadsThem) {
  const TemporaryFolder temporary;
  const fs::path file = photoWith(temporary / "p.jpg", GetParam().values);
  expectAgreement(file);
  const PhotoMetadata metadata = metadataOf(file);
  if (*GetParam().takenAt != '\0') {
    EXPECT_EQ(toText(metadata.takenAt), GetParam().takenAt);
  }
}

TEST_P(ExifDates, AreTheSameInTiff) {
  const TemporaryFolder temporary;
  writeFile(temporary / "p.tif", tiffWith(GetParam().values));
  expectAgreement(temporary / "p.tif");
}

TEST_P(ExifDates, AreTheSameInPng) {
  const TemporaryFolder temporary;
  expectAgreement(photoWith(temporary / "p.png", GetParam().values, Exiv2::ImageType::png));
}

TEST(ExifDates, OfADayThatDoesNotExistAreUnknown) {
  const TemporaryFolder temporary;
  for (const char* const date :
       {"2026:02:30 10:00:00", "2026:07:29 25:00:00", "yesterday evening!!", "2026:07:29"}) {
    const auto file = photoWith(temporary / "p.jpg", {{kOriginal, date}});
    EXPECT_EQ(metadataOf(file).dateSource, DateSource::FileTime) << date;
  }
}

TEST(ExifDates, DropAnOffsetOrSubSecondsThatAreNone) {
  const TemporaryFolder temporary;
  const auto file =
      photoWith(temporary / "p.jpg",
                {{kOriginal, "2026:07:29 10:15:30"}, {kSubSec, "1x"}, {kOffset, "   :  "}});
  EXPECT_EQ(toText(metadataOf(file).takenAt), "2026-07-29T10:15:30");
}

// The file's time against `date` of GNU coreutils.
TEST(FileTime, IsTheLastResort) {
  const TemporaryFolder temporary;
  const fs::path file = photoWith(temporary / "p.jpg", {});
  ASSERT_EQ(std::system(("touch -d '2021-03-04 05:06:07' '" + file.string() + "'").c_str()), 0);
  const PhotoMetadata metadata = metadataOf(file);
  EXPECT_EQ(metadata.dateSource, DateSource::FileTime);
  EXPECT_EQ(toText(metadata.takenAt).substr(0, 19), "2021-03-04T05:06:07");
  EXPECT_TRUE(metadata.takenAt.offsetMinutes.has_value());
}

TEST(Orientation, GoesFrom1To8AndIsOtherwise1) {
  const TemporaryFolder temporary;
  for (int orientation = 0; orientation <= 9; ++orientation) {
    const auto file = photoWith(temporary / ("o" + std::to_string(orientation) + ".jpg"),
                                {{"Exif.Image.Orientation", std::to_string(orientation)}});
    expectAgreement(file);
    const bool isInRange = orientation >= 1 && orientation <= 8;
    EXPECT_EQ(metadataOf(file).exifOrientation, isInRange ? orientation : 1);
  }
}

TEST(Metadata, ReadsCameraLensAndPosition) {
  const TemporaryFolder temporary;
  const auto file = photoWith(temporary / "é 枝.jpg",
                              {{"Exif.Image.Make", "Maker "},
                               {"Exif.Image.Model", "Phone 7"},
                               {"Exif.Photo.LensModel", "Wide"},
                               {"Exif.Photo.FocalLength", "57/10"},
                               {"Exif.GPSInfo.GPSLatitude", "35/1 41/1 0/1"},
                               {"Exif.GPSInfo.GPSLatitudeRef", "N"},
                               {"Exif.GPSInfo.GPSLongitude", "139/1 45/1 0/1"},
                               {"Exif.GPSInfo.GPSLongitudeRef", "E"}});
  const PhotoMetadata metadata = metadataOf(file);
  EXPECT_EQ(metadata.cameraMake, "Maker");
  EXPECT_EQ(metadata.cameraModel, "Phone 7");
  EXPECT_EQ(metadata.lens, "Wide");
  EXPECT_TRUE(metadata.hasPosition);
  EXPECT_EQ(metadata.focalLengthMm, 5.7);
  EXPECT_NEAR(std::stod(valueOf(exiftool(file), "FocalLength")), 5.7, 1e-9);
}

TEST(Metadata, LeavesOutAFocalLengthOfNothing) {
  const TemporaryFolder temporary;
  for (const char* const length : {"0/0", "0/1", "1/0"}) {
    const auto file = photoWith(temporary / "p.jpg", {{"Exif.Photo.FocalLength", length}});
    EXPECT_FALSE(metadataOf(file).focalLengthMm.has_value()) << length;
  }
}

TEST(Metadata, CollectsKeywordsOnce) {
  const TemporaryFolder temporary;
  const fs::path file = photoWith(temporary / "p.jpg", {});
  auto image = Exiv2::ImageFactory::open(file.string());
  Exiv2::IptcData iptc;
  iptc["Iptc.Application2.Keywords"] = "juniper";
  image->setIptcData(iptc);
  Exiv2::XmpData xmp;
  xmp["Xmp.dc.subject"] = "juniper";
  xmp["Xmp.dc.subject"] = "scale";
  image->setXmpData(xmp);
  image->writeMetadata();
  EXPECT_THAT(metadataOf(file).keywords, ElementsAre("juniper", "scale"));
}

TEST(Metadata, RefusesWhatIsNoFile) {
  const TemporaryFolder temporary;
  EXPECT_THAT(readMetadata(temporary / "missing.jpg"), failsWith(ErrorCode::NotFound));
  EXPECT_THAT(readMetadata(temporary.path()), failsWith(ErrorCode::Unreadable));
  EXPECT_THAT(readThumbnail(temporary / "missing.jpg"), failsWith(ErrorCode::NotFound));
}

TEST(Metadata, OfAFileThatIsNoPhotoIsItsTime) {
  const TemporaryFolder temporary;
  writeFile(temporary / "a.jpg", "just text");
  writeFile(temporary / "empty.jpg", "");
  EXPECT_EQ(metadataOf(temporary / "a.jpg").dateSource, DateSource::FileTime);
  EXPECT_EQ(metadataOf(temporary / "empty.jpg").dateSource, DateSource::FileTime);
  EXPECT_THAT(readThumbnail(temporary / "a.jpg"), isOkAnd(::testing::Eq(std::nullopt)));
}

// Every cut and every single byte set to 255 in a file full of metadata: nothing may throw or
// crash.
TEST(Metadata, SurvivesDamageAnywhere) {
  const TemporaryFolder temporary;
  const fs::path whole = photoWith(temporary / "p.jpg",
                                   {{kOriginal, "2026:07:29 10:15:30"},
                                    {"Exif.Image.Make", "Maker"},
                                    {"Exif.Image.Orientation", "6"},
                                    {"Exif.Photo.FocalLength", "57/10"},
                                    {"Exif.GPSInfo.GPSLatitude", "35/1 41/1 0/1"}});
  const std::string bytes = readWholeFile(whole);
  const std::size_t end = std::min<std::size_t>(bytes.size(), 600);
  for (std::size_t i = 0; i < end; ++i) {
    writeFile(temporary / "cut.jpg", bytes.substr(0, i));
    std::string flipped = bytes;
    flipped[i] = '\xFF';
    writeFile(temporary / "flipped.jpg", flipped);
    for (const char* const name : {"cut.jpg", "flipped.jpg"}) {
      const PhotoMetadata metadata = metadataOf(temporary / name);
      ASSERT_TRUE(metadata.takenAt.isKnown()) << i;
      ASSERT_THAT(parseLocalTime(toText(metadata.takenAt)), isOk()) << i;
      ASSERT_THAT(readThumbnail(temporary / name), isOk()) << i;
    }
  }
}

TEST(Thumbnail, IsTheEmbeddedJpeg) {
  const TemporaryFolder temporary;
  const fs::path file = photoWith(temporary / "p.jpg", {{"Exif.Image.Make", "M"}});
  EXPECT_THAT(readThumbnail(file), isOkAnd(::testing::Eq(std::nullopt)));
  const fs::path small = photoWith(temporary / "small.jpg", {});
  auto image = Exiv2::ImageFactory::open(file.string());
  image->readMetadata();
  Exiv2::ExifThumb(image->exifData()).setJpegThumbnail(small.string());
  image->writeMetadata();
  const auto thumbnail = readThumbnail(file);
  ASSERT_THAT(thumbnail, isOkAnd(::testing::Ne(std::nullopt)));
  const std::string expected = readWholeFile(small);
  const auto bytes = std::as_bytes(std::span(expected));
  EXPECT_TRUE(std::ranges::equal(**thumbnail, bytes));
}

namespace {

std::string bigEndian(std::uint32_t number, int bytes) {
  std::string text;
  for (int shift = 8 * (bytes - 1); shift >= 0; shift -= 8) {
    text += static_cast<char>((number >> static_cast<unsigned>(shift)) & 0xFFU);
  }
  return text;
}

std::string box(const std::string& type, const std::string& content) {
  return bigEndian(static_cast<std::uint32_t>(content.size() + 8), 4) + type + content;
}

// The boxes of a HEIC file (ISO/IEC 14496-12 and 23008-12) around an Exif item and no picture.
std::string heicWithExif(const std::string& tiff) {
  const std::string exif = bigEndian(6, 4) + std::string("Exif\0\0", 6) + tiff;
  const std::string none(4, '\0');
  const std::string ftyp = box("ftyp", "heic" + none + "mif1heic");
  const std::string hdlr = box("hdlr", none + none + "pict" + std::string(13, '\0'));
  const std::string infe = box(
      "infe",
      bigEndian(2U << 24U, 4) + bigEndian(1, 2) + bigEndian(0, 2) + "Exif" + std::string(1, '\0'));
  const std::string iinf = box("iinf", none + bigEndian(1, 2) + infe);
  const auto ilocAt = [&](std::uint32_t offset) {
    return box("iloc",
               none + bigEndian(0x4400, 2) + bigEndian(1, 2) + bigEndian(1, 2) + bigEndian(0, 2) +
                   bigEndian(1, 2) + bigEndian(offset, 4) +
                   bigEndian(static_cast<std::uint32_t>(exif.size()), 4));
  };
  const std::string pitm = box("pitm", none + bigEndian(1, 2));
  const auto metaAt = [&](std::uint32_t offset) {
    return box("meta", none + hdlr + pitm + iinf + ilocAt(offset));
  };
  const auto start = static_cast<std::uint32_t>(ftyp.size() + metaAt(0).size() + 8);
  return ftyp + metaAt(start) + box("mdat", exif);
}

}  // namespace

TEST(Metadata, IsReadFromHeic) {
  const TemporaryFolder temporary;
  const fs::path file = temporary / "p.heic";
  writeFile(file,
            heicWithExif(tiffWith({{kOriginal, "2026:07:29 10:15:30"},
                                   {kSubSec, "05"},
                                   {kOffset, "+02:00"},
                                   {"Exif.Image.Make", "Maker"},
                                   {"Exif.Image.Orientation", "6"}})));
  expectAgreement(file);
  const PhotoMetadata metadata = metadataOf(file);
  EXPECT_EQ(toText(metadata.takenAt), "2026-07-29T10:15:30.05+02:00");
  EXPECT_EQ(metadata.exifOrientation, 6);
}

TEST(SamplePhotos, AreReadAsExiftoolReadsThem) {
  const fs::path folder = fs::path(EDAMORI_SAMPLES_DIR) / "photos";
  if (!fs::exists(folder)) {
    GTEST_SKIP() << "no sample photos at " << folder;
  }
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    const std::string ending = entry.path().extension().string();
    if (ending == ".jpg" || ending == ".jpeg" || ending == ".png" || ending == ".heic" ||
        ending == ".tif") {
      expectAgreement(entry.path());
    }
  }
}

}  // namespace edamori::store
