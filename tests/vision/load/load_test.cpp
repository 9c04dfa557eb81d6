// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/load/load.h"

#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"
#include "tests/vision/load/encoders.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <string>
#include <vector>

namespace edamori::vision {
namespace {

using test::Bytes;
using test::bytesOf;
using test::failsWith;
using test::isOk;
using test::TemporaryFolder;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

// A smooth colour picture, so that lossy formats stay close to it.
RgbImage gradient(int width, int height) {
  RgbImage image(width, height);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      image.at(x, y, 0) = static_cast<std::uint8_t>(40 + 150 * x / width);
      image.at(x, y, 1) = static_cast<std::uint8_t>(200 - 120 * y / height);
      image.at(x, y, 2) = static_cast<std::uint8_t>(60 + 60 * (x + y) / (width + height));
    }
  }
  return image;
}

std::vector<std::uint8_t> samplesOf(const RgbImage& image) {
  return {image.data(), image.data() + image.byteCount()};
}

Bytes jpegOf(const RgbImage& image, const Bytes& profile = {}) {
  return test::jpegFile(samplesOf(image), image.width(), image.height(), 3, profile);
}

int largestDifference(const RgbImage& a, const RgbImage& b) {
  EXPECT_EQ(a.width(), b.width());
  EXPECT_EQ(a.height(), b.height());
  int largest = a.byteCount() == b.byteCount() ? 0 : 256;
  for (std::size_t i = 0; i < std::min(a.byteCount(), b.byteCount()); ++i) {
    largest = std::max(largest, std::abs(a.data()[i] - b.data()[i]));
  }
  return largest;
}

std::string gridText(const RgbImage& image) {
  std::string text;
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      text += std::to_string(image.at(x, y));
    }
    text += '/';
  }
  return text;
}

RgbImage numberedPicture() {
  RgbImage image(4, 2);
  for (int i = 0; i < 8; ++i) {
    for (int c = 0; c < 3; ++c) {
      image.at(i % 4, i / 4, c) = static_cast<std::uint8_t>(i + 1);
    }
  }
  return image;
}

// ---- Orientation --------------------------------------------------------------

struct Turn {
  int orientation;
  const char* upright;
};

class Orientation : public ::testing::TestWithParam<Turn> {};

// Exif 2.32 (CIPA DC-008-2019), tag 0x0112; the grids were computed with Pillow's
// ImageOps.exif_transpose from [[1,2,3,4],[5,6,7,8]].
TEST_P(Orientation, TurnsThePictureUpright) {
  EXPECT_EQ(gridText(uprighted(numberedPicture(), GetParam().orientation)), GetParam().upright);
}

INSTANTIATE_TEST_SUITE_P(Exif,
                         Orientation,
                         ::testing::Values(Turn{1, "1234/5678/"},
                                           Turn{2, "4321/8765/"},
                                           Turn{3, "8765/4321/"},
                                           Turn{4, "5678/1234/"},
                                           Turn{5, "15/26/37/48/"},
                                           Turn{6, "51/62/73/84/"},
                                           Turn{7, "84/73/62/51/"},
                                           Turn{8, "48/37/26/15/"},
                                           Turn{0, "1234/5678/"},
                                           Turn{9, "1234/5678/"},
                                           Turn{-3, "1234/5678/"}));

TEST(Orientation, TurnsPicturesLargerThanATile) {
  const RgbImage image = gradient(150, 90);
  const RgbImage turned = uprighted(image, 6);
  ASSERT_EQ(turned.width(), 90);
  // Rotation by 90° clockwise: stored (x, y) comes to (height − 1 − y, x).
  for (const auto& [x, y] : {std::pair{0, 0}, {149, 89}, {70, 66}, {128, 1}}) {
    EXPECT_EQ(turned.at(89 - y, x), image.at(x, y));
  }
}

TEST(Load, TurnsByTheGivenOrientation) {
  const RgbImage image = gradient(48, 32);
  const auto photo = decodePhoto(jpegOf(image), "a.jpg", {.exifOrientation = 8});
  ASSERT_THAT(photo, isOk());
  EXPECT_EQ(photo->fullWidthPx, 32);
  EXPECT_EQ(photo->fullHeightPx, 48);
  EXPECT_LE(largestDifference(photo->image, uprighted(image, 8)), 4);
}

// ---- Formats ------------------------------------------------------------------

TEST(Load, ReadsJpeg) {
  const RgbImage image = gradient(61, 47);
  const auto photo = decodePhoto(jpegOf(image), "a.jpg");
  ASSERT_THAT(photo, isOk());
  EXPECT_LE(largestDifference(photo->image, image), 4);  // rounding at quality 100
  EXPECT_FALSE(photo->hadProfile);
  EXPECT_EQ(photo->profileName, "");
}

TEST(Load, RepeatsGreyInAllChannels) {
  const std::vector<std::uint8_t> grey(64, 77);
  const auto jpeg = decodePhoto(test::jpegFile(grey, 8, 8, 1), "grey.jpg");
  ASSERT_THAT(jpeg, isOk());
  const auto png = decodePhoto(
      test::pngFile({.width = 8, .height = 8, .colorType = 0, .samples = grey}), "grey.png");
  ASSERT_THAT(png, isOk());
  EXPECT_EQ(png->image, RgbImage(8, 8, 77));
  EXPECT_EQ(jpeg->image, RgbImage(8, 8, 77));
}

TEST(Load, ReducesJpegWhileDecoding) {
  const RgbImage image = gradient(101, 50);
  const auto photo = decodePhoto(jpegOf(image), "a.jpg", {.exifOrientation = 6, .reduceBy = 4});
  ASSERT_THAT(photo, isOk());
  EXPECT_EQ(photo->image.width(), 13);   // ⌈50 / 4⌉
  EXPECT_EQ(photo->image.height(), 26);  // ⌈101 / 4⌉
  EXPECT_EQ(photo->fullWidthPx, 50);
  EXPECT_EQ(photo->fullHeightPx, 101);
}

TEST(Load, ReducesOtherFormatsToTheSameSize) {
  const RgbImage image = gradient(101, 50);
  const Bytes png = test::pngFile({.width = 101, .height = 50, .samples = samplesOf(image)});
  const auto photo = decodePhoto(png, "a.png", {.reduceBy = 4});
  ASSERT_THAT(photo, isOk());
  EXPECT_EQ(photo->image.width(), 26);
  EXPECT_EQ(photo->image.height(), 13);
  EXPECT_EQ(photo->fullWidthPx, 101);
}

TEST(Load, RefusesAReductionThatIsNone) {
  EXPECT_THAT(decodePhoto(jpegOf(gradient(8, 8)), "a.jpg", {.reduceBy = 3}),
              failsWith(ErrorCode::InvalidArgument));
}

TEST(Load, ReadsPngWithoutLoss) {
  const RgbImage image = gradient(33, 21);
  for (const bool isInterlaced : {false, true}) {
    const auto photo = decodePhoto(test::pngFile({.width = 33,
                                                  .height = 21,
                                                  .samples = samplesOf(image),
                                                  .isInterlaced = isInterlaced}),
                                   "a.png");
    ASSERT_THAT(photo, isOk());
    EXPECT_EQ(photo->image, image);
  }
}

TEST(Load, ReducesSixteenBitSamplesToEight) {
  // v · 255 / 65535, rounded: 0x0000 → 0, 0x8080 → 128, 0xFFFF → 255, 0x1234 = 4660 → 18.
  const std::vector<std::uint8_t> samples{0x00, 0x00, 0x80, 0x80, 0xFF, 0xFF,
                                          0x12, 0x34, 0x12, 0x34, 0x12, 0x34};
  const auto photo =
      decodePhoto(test::pngFile({.width = 2, .height = 1, .bitDepth = 16, .samples = samples}),
                  "deep.png");
  ASSERT_THAT(photo, isOk());
  const std::array<int, 6> expected{0, 128, 255, 18, 18, 18};
  for (std::size_t i = 0; i < expected.size(); ++i) {
    EXPECT_EQ(photo->image.data()[i], expected.at(i)) << i;
  }
}

TEST(Load, LaysAlphaOnWhite) {
  // Opacity 0, 51 (one fifth) and 255 of the colour (100, 0, 200): c·α + 255·(1 − α).
  const auto photo = decodePhoto(
      test::pngFile({.width = 3,
                     .height = 1,
                     .colorType = 6,
                     .samples = {100, 0, 200, 0, 100, 0, 200, 51, 100, 0, 200, 255}}),
      "alpha.png");
  ASSERT_THAT(photo, isOk());
  const std::array<int, 9> expected{255, 255, 255, 224, 204, 244, 100, 0, 200};
  for (std::size_t i = 0; i < expected.size(); ++i) {
    EXPECT_EQ(photo->image.data()[i], expected.at(i)) << i;
  }
}

TEST(Load, ReadsPalettes) {
  const auto photo = decodePhoto(
      test::pngFile({.width = 2, .height = 1, .colorType = 3, .samples = {1, 0}}), "palette.png");
  ASSERT_THAT(photo, isOk());
  EXPECT_EQ(photo->image.at(0, 0, 0), 200);
  EXPECT_EQ(photo->image.at(1, 0, 2), 30);
}

TEST(Load, ReadsTiffInStripsAndTiles) {
  const RgbImage image = gradient(50, 37);
  for (const int tileSide : {0, 16}) {
    const auto photo = decodePhoto(test::tiffFile({.width = 50,
                                                   .height = 37,
                                                   .tileSide = tileSide,
                                                   .samples = samplesOf(image)}),
                                   "a.tif");
    ASSERT_THAT(photo, isOk());
    EXPECT_EQ(photo->image, image);
  }
}

TEST(Load, ReadsTiffAsStoredAndTurnsItOnce) {
  const RgbImage image = gradient(20, 12);
  const Bytes file =
      test::tiffFile({.width = 20, .height = 12, .orientation = 3, .samples = samplesOf(image)});
  const auto photo = decodePhoto(file, "a.tif", {.exifOrientation = 3});
  ASSERT_THAT(photo, isOk());
  EXPECT_EQ(photo->image, uprighted(image, 3));
}

TEST(Load, ReducesSixteenBitTiff) {
  std::vector<std::uint8_t> samples;
  for (int i = 0; i < 4; ++i) {  // 0x8080 reads the same in both byte orders
    samples.insert(samples.end(), {0x80, 0x80});
  }
  const auto photo = decodePhoto(
      test::tiffFile({.width = 2, .height = 2, .bits = 16, .samplesPerPixel = 1, .samples = samples}),
      "deep.tif");
  ASSERT_THAT(photo, isOk());
  EXPECT_EQ(photo->image, RgbImage(2, 2, 128));
}

TEST(Load, ReadsHeicAndIgnoresTheExifOrientation) {
  const RgbImage image = gradient(128, 96);
  const auto file = test::heicFile(image);
  if (!file) {
    GTEST_SKIP() << "libheif has no HEVC encoder here, so no HEIC file can be made";
  }
  const auto photo = decodePhoto(*file, "a.heic", {.exifOrientation = 6});
  ASSERT_THAT(photo, isOk());
  ASSERT_EQ(photo->image.width(), 128);
  EXPECT_LE(largestDifference(photo->image, image), 12);  // lossy at quality 95, 4:2:0
  const auto header = readHeader(*file, "a.heic");
  ASSERT_THAT(header, isOk());
  EXPECT_EQ(header->format, "heic");
  EXPECT_EQ(header->heightPx, 96);
}

TEST(Header, IsReadWithoutDecoding) {
  const auto jpeg = readHeader(jpegOf(gradient(30, 20)), "a.jpg");
  ASSERT_THAT(jpeg, isOk());
  EXPECT_EQ(jpeg->format, "jpeg");
  EXPECT_EQ(jpeg->widthPx, 30);
  const auto png = readHeader(test::pngHeaderOnly(30000, 20), "a.png");
  ASSERT_THAT(png, isOk());
  EXPECT_EQ(png->format, "png");
  EXPECT_EQ(png->widthPx, 30000);
  const auto tiff = readHeader(
      test::tiffFile({.width = 5, .height = 4, .samples = std::vector<std::uint8_t>(60)}), "a.tif");
  ASSERT_THAT(tiff, isOk());
  EXPECT_EQ(tiff->format, "tiff");
  EXPECT_EQ(tiff->heightPx, 4);
}

// ---- Colour -------------------------------------------------------------------

double linear(double encoded) {
  return encoded <= 0.04045 ? encoded / 12.92 : std::pow((encoded + 0.055) / 1.055, 2.4);
}

double encoded(double value) {
  const double v = std::clamp(value, 0.0, 1.0);
  return v <= 0.0031308 ? v * 12.92 : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
}

// Display P3 to sRGB, both D65 and with the transfer curve of IEC 61966-2-1. Matrices:
// CSS Color Module Level 4 (W3C), sample code "lin_P3_to_XYZ" and "XYZ_to_lin_sRGB".
std::array<int, 3> srgbOfP3(const std::array<int, 3>& p3) {
  constexpr std::array<std::array<double, 3>, 3> kXyzOfP3{
      {{0.4865709486, 0.2656676932, 0.1982172852},
       {0.2289745641, 0.6917385218, 0.0792869141},
       {0.0, 0.0451133819, 1.0439443689}}};
  constexpr std::array<std::array<double, 3>, 3> kSrgbOfXyz{
      {{3.2409699419, -1.5373831776, -0.4986107603},
       {-0.9692436363, 1.8759675015, 0.0415550574},
       {0.0556300797, -0.2039769589, 1.0569715142}}};
  std::array<double, 3> xyz{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      xyz.at(i) += kXyzOfP3.at(i).at(j) * linear(p3.at(j) / 255.0);
    }
  }
  std::array<int, 3> srgb{};
  for (std::size_t i = 0; i < 3; ++i) {
    double value = 0;
    for (std::size_t j = 0; j < 3; ++j) {
      value += kSrgbOfXyz.at(i).at(j) * xyz.at(j);
    }
    srgb.at(i) = static_cast<int>(std::lround(255 * encoded(value)));
  }
  return srgb;
}

TEST(Colour, OfDisplayP3BecomesSrgb) {
  const std::vector<std::array<int, 3>> colours{{60, 120, 40},  {120, 80, 30}, {200, 30, 40},
                                                {128, 128, 128}, {30, 60, 190}, {255, 255, 255},
                                                {0, 0, 0},       {230, 225, 90}};
  std::vector<std::uint8_t> samples;
  for (const auto& colour : colours) {
    for (const int c : colour) {
      samples.push_back(static_cast<std::uint8_t>(c));
    }
  }
  const auto photo = decodePhoto(test::pngFile({.width = static_cast<int>(colours.size()),
                                                .height = 1,
                                                .samples = samples,
                                                .iccProfile = test::displayP3Profile()}),
                                 "p3.png");
  ASSERT_THAT(photo, isOk());
  EXPECT_TRUE(photo->hadProfile);
  EXPECT_EQ(photo->profileName, "Display P3");
  for (std::size_t i = 0; i < colours.size(); ++i) {
    const auto expected = srgbOfP3(colours[i]);
    for (int c = 0; c < 3; ++c) {
      // ±1 for rounding in the profile's 15.16 fixed point and in 8 bits.
      EXPECT_NEAR(photo->image.at(static_cast<int>(i), 0, c), expected.at(static_cast<std::size_t>(c)), 1)
          << "colour " << i << " channel " << c;
    }
  }
}

TEST(Colour, OfDisplayP3InJpegIsConvertedToo) {
  RgbImage red(16, 16);
  for (std::size_t i = 0; i < red.byteCount(); i += 3) {
    red.data()[i] = 200;
    red.data()[i + 1] = 60;
    red.data()[i + 2] = 60;
  }
  const auto photo = decodePhoto(jpegOf(red, test::displayP3Profile()), "p3.jpg");
  ASSERT_THAT(photo, isOk());
  const auto expected = srgbOfP3({200, 60, 60});
  EXPECT_NEAR(photo->image.at(8, 8, 0), expected[0], 3);
  EXPECT_NEAR(photo->image.at(8, 8, 1), expected[1], 3);
}

TEST(Colour, OfAnSrgbProfileIsLeftAlone) {
  const RgbImage image = gradient(20, 10);
  const auto photo = decodePhoto(test::pngFile({.width = 20,
                                                .height = 10,
                                                .samples = samplesOf(image),
                                                .iccProfile = test::srgbProfile()}),
                                 "srgb.png");
  ASSERT_THAT(photo, isOk());
  EXPECT_FALSE(photo->hadProfile);
  EXPECT_THAT(photo->profileName, HasSubstr("sRGB"));
  EXPECT_EQ(photo->image, image);
}

TEST(Colour, OfADamagedProfileIsLeftAlone) {
  const RgbImage image = gradient(16, 16);
  const auto photo = decodePhoto(jpegOf(image, bytesOf(std::string(200, 'x'))), "broken.jpg");
  ASSERT_THAT(photo, isOk());
  EXPECT_FALSE(photo->hadProfile);
  EXPECT_LE(largestDifference(photo->image, image), 4);
}

// ---- Bad input ----------------------------------------------------------------

template <typename T>
void expectClearMessage(const Result<T>& result, const std::string& name) {
  ASSERT_FALSE(result);
  EXPECT_THAT(result.error().message, AllOf(HasSubstr(name), Not(HasSubstr("\n"))));
  EXPECT_THAT(result.error().message, HasSubstr(";"));  // what to do follows
}

class Truncated : public ::testing::TestWithParam<double> {};

TEST_P(Truncated, PhotosAreRefused) {
  const RgbImage image = gradient(160, 120);
  const std::vector<std::pair<std::string, Bytes>> files{
      {"a.jpg", jpegOf(image)},
      {"a.png", test::pngFile({.width = 160, .height = 120, .samples = samplesOf(image)})},
      {"a.tif", test::tiffFile({.width = 160, .height = 120, .samples = samplesOf(image)})}};
  for (const auto& [name, whole] : files) {
    Bytes part = whole;
    part.resize(static_cast<std::size_t>(static_cast<double>(part.size()) * GetParam()));
    const auto photo = decodePhoto(part, name);
    EXPECT_THAT(photo, failsWith(ErrorCode::Corrupt)) << name;
    expectClearMessage(photo, name);
  }
}

INSTANTIATE_TEST_SUITE_P(Shares, Truncated, ::testing::Values(0.1, 0.5, 0.9, 0.99));

TEST(Load, RefusesAJpegThatLacksOnlyItsEnd) {
  Bytes bytes = jpegOf(gradient(64, 64));
  bytes.resize(bytes.size() - 2);  // the end-of-image marker
  const auto photo = decodePhoto(bytes, "almost.jpg");
  EXPECT_THAT(photo, failsWith(ErrorCode::Corrupt));
  expectClearMessage(photo, "almost.jpg");
}

TEST(Load, ReadsAJpegWithBytesAfterItsEnd) {
  Bytes bytes = jpegOf(gradient(64, 64));
  bytes.resize(bytes.size() + 5000, std::byte{0x5A});  // phones put a short film there
  EXPECT_THAT(decodePhoto(bytes, "moving.jpg"), isOk());
}

TEST(Load, RefusesAHeaderOfNineHundredMegapixels) {
  const std::vector<std::pair<std::string, Bytes>> files{
      {"huge.jpg", test::jpegClaiming(jpegOf(gradient(16, 16)), 30000, 30000)},
      {"huge.png", test::pngHeaderOnly(30000, 30000)}};
  for (const auto& [name, bytes] : files) {
    const auto photo = decodePhoto(bytes, name);
    EXPECT_THAT(photo, failsWith(ErrorCode::Corrupt));
    expectClearMessage(photo, name);
    EXPECT_THAT(photo.error().message, HasSubstr("30000 × 30000"));
  }
}

TEST(Load, HeedsTheCallersLimit) {
  const Bytes bytes = jpegOf(gradient(20, 20));
  EXPECT_THAT(decodePhoto(bytes, "a.jpg", {.maxPixels = 399}), failsWith(ErrorCode::Corrupt));
  EXPECT_THAT(decodePhoto(bytes, "a.jpg", {.maxPixels = 400}), isOk());
}

TEST(Load, RefusesPrintingColours) {
  const auto photo = decodePhoto(
      test::jpegFile(std::vector<std::uint8_t>(8 * 8 * 4, 90), 8, 8, 4), "cmyk.jpg");
  EXPECT_THAT(photo, failsWith(ErrorCode::UnsupportedFormat));
  expectClearMessage(photo, "cmyk.jpg");
}

TEST(Load, TellsEmptyTextAndUnknownFilesApart) {
  const TemporaryFolder folder;
  const std::vector<std::pair<std::string, std::string>> files{
      {"", "0 bytes"}, {"Dear diary,\n", "text"}, {std::string("GIF89a\0\1\2", 9), "not a JPEG"}};
  for (const auto& [content, says] : files) {
    test::writeFile(folder / "leaf.jpg", content);
    const auto photo = loadPhoto(folder / "leaf.jpg");
    EXPECT_THAT(photo, failsWith(ErrorCode::UnsupportedFormat));
    expectClearMessage(photo, "leaf.jpg");
    EXPECT_THAT(photo.error().message, HasSubstr(says));
  }
}

TEST(Load, TellsAMissingFileFromAFolder) {
  const TemporaryFolder folder;
  const auto missing = loadPhoto(folder / "none.jpg");
  EXPECT_THAT(missing, failsWith(ErrorCode::NotFound));
  expectClearMessage(missing, "none.jpg");
  const auto asFile = loadPhoto(folder.path());
  EXPECT_THAT(asFile, failsWith(ErrorCode::Unreadable));
  expectClearMessage(asFile, "is a folder");
  EXPECT_THAT(loadPhoto("/dev/null"), failsWith(ErrorCode::Unreadable));
}

TEST(Load, KeepsMessagesOnOneLine) {
  const auto photo = decodePhoto({}, "two\nlines.jpg");
  expectClearMessage(photo, "two?lines.jpg");
}

TEST(Load, RefusesDamagedHeicAndTiff) {
  const Bytes heic = bytesOf(std::string("\0\0\0\x18" "ftypheic\0\0\0\0mif1heic", 24) + "rubbish");
  EXPECT_THAT(decodePhoto(heic, "a.heic"), failsWith(ErrorCode::Corrupt));
  const Bytes tiff = bytesOf(std::string("II*\0\xFF\xFF\0\0", 8));
  EXPECT_THAT(decodePhoto(tiff, "a.tif"), failsWith(ErrorCode::Corrupt));
  EXPECT_THAT(readHeader(tiff, "a.tif"), failsWith(ErrorCode::Corrupt));
}

// ---- Writing ------------------------------------------------------------------

TEST(Labels, SurviveAFile) {
  const TemporaryFolder folder;
  LabelImage labels(37, 22, 0);
  labels.at(3, 4) = 128;
  labels.at(36, 21) = 255;
  ASSERT_THAT(saveLabels(folder / "labels.png", labels), isOk());
  const auto again = loadLabels(folder / "labels.png");
  ASSERT_THAT(again, isOk());
  EXPECT_EQ(*again, labels);
}

TEST(Labels, RefuseOtherPictures) {
  const TemporaryFolder folder;
  ASSERT_THAT(savePicture(folder / "colour.png", gradient(8, 8)), isOk());
  ASSERT_THAT(savePicture(folder / "photo.jpg", gradient(8, 8)), isOk());
  for (const char* const name : {"colour.png", "photo.jpg"}) {
    const auto labels = loadLabels(folder / name);
    EXPECT_THAT(labels, failsWith(ErrorCode::UnsupportedFormat));
    expectClearMessage(labels, name);
  }
}

TEST(Picture, SurvivesAPng) {
  const TemporaryFolder folder;
  const RgbImage image = gradient(40, 30);
  ASSERT_THAT(savePicture(folder / "A.PNG", image), isOk());
  const auto again = loadPhoto(folder / "A.PNG");
  ASSERT_THAT(again, isOk());
  EXPECT_EQ(again->image, image);
}

TEST(Picture, StaysCloseInAJpeg) {
  const TemporaryFolder folder;
  const RgbImage image = gradient(80, 60);
  ASSERT_THAT(savePicture(folder / "a.jpeg", image), isOk());
  const auto again = loadPhoto(folder / "a.jpeg");
  ASSERT_THAT(again, isOk());
  EXPECT_LE(largestDifference(again->image, image), 10);
}

TEST(Picture, NeedsAKnownEnding) {
  const TemporaryFolder folder;
  EXPECT_THAT(savePicture(folder / "a.bmp", gradient(8, 8)), failsWith(ErrorCode::InvalidArgument));
}

TEST(Picture, LeavesNothingBehindWhenItCannotBeWritten) {
  const TemporaryFolder folder;
  std::filesystem::create_directory(folder / "taken.png");
  const auto saved = savePicture(folder / "taken.png", gradient(8, 8));
  EXPECT_THAT(saved, failsWith(ErrorCode::Io));
  EXPECT_THAT(saved.error().message, HasSubstr("taken.png"));
  EXPECT_THAT(savePicture(folder / "no folder" / "a.png", gradient(8, 8)), failsWith(ErrorCode::Io));
  const auto entries = std::filesystem::directory_iterator(folder.path());
  EXPECT_EQ(std::distance(begin(entries), end(entries)), 1);
}

TEST(Picture, ReportsAFullDisk) {
  if (!std::filesystem::exists("/dev/full")) {
    GTEST_SKIP() << "no /dev/full here";
  }
  // The part file lies beside the target, so that a device as target has no room for one.
  EXPECT_THAT(savePicture("/dev/full/a.png", gradient(8, 8)), failsWith(ErrorCode::Io));
}

TEST(EncodeJpeg, RefusesWhatIsNoPicture) {
  EXPECT_THAT(encodeJpeg(RgbImage{}, 90), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(encodeJpeg(gradient(8, 8), 0), failsWith(ErrorCode::InvalidArgument));
  EXPECT_THAT(encodeJpeg(gradient(8, 8), 101), failsWith(ErrorCode::InvalidArgument));
}

TEST(EncodeJpeg, GivesSmallerFilesForLowerQuality) {
  const auto fine = encodeJpeg(gradient(200, 200), 95);
  const auto coarse = encodeJpeg(gradient(200, 200), 30);
  ASSERT_THAT(fine, isOk());
  ASSERT_THAT(coarse, isOk());
  EXPECT_LT(coarse->size(), fine->size());
}

// ---- Cutting and reducing -------------------------------------------------------

TEST(ReducedToFit, AveragesAreas) {
  RgbImage image(4, 2, 0);
  image.at(0, 0, 1) = 100;
  image.at(1, 1, 1) = 200;
  const RgbImage reduced = reducedToFit(image, 2);
  ASSERT_EQ(reduced.width(), 2);
  ASSERT_EQ(reduced.height(), 1);
  EXPECT_EQ(reduced.at(0, 0, 1), 75);  // (100 + 0 + 0 + 200) / 4
  EXPECT_EQ(reduced.at(1, 0, 1), 0);
}

TEST(ReducedToFit, OfAPartIsThatOfThePartCutOut) {
  const RgbImage image = gradient(120, 90);
  for (const PixelBox& part : {PixelBox{.left = 8, .top = 4, .width = 96, .height = 64},
                               PixelBox{.left = 3, .top = 1, .width = 45, .height = 77}}) {
    const RgbImage cut = cropped(image, part.left, part.top, part.width, part.height);
    for (const int side : {10, 20, 40, 200}) {
      EXPECT_EQ(reducedToFit(image, part, side), reducedToFit(cut, side)) << side;
    }
  }
}

// A slope from 0 to 255 keeps its slope, whichever way it is reduced: 3 halvings, then by 1.2.
TEST(ReducedToFit, KeepsASlopeInAllItsSteps) {
  RgbImage image(960, 480);
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      image.at(x, y, 0) = image.at(x, y, 1) = image.at(x, y, 2) = static_cast<std::uint8_t>(x * 255 / 959);
    }
  }
  const RgbImage reduced = reducedToFit(image, 100);
  ASSERT_EQ(reduced.width(), 100);
  ASSERT_EQ(reduced.height(), 50);
  for (int x = 0; x < reduced.width(); ++x) {
    EXPECT_NEAR(reduced.at(x, 25, 1), (9.6 * x + 4.3) * 255 / 959, 1.5) << x;
  }
}

TEST(ReducedToFit, NeverEnlarges) {
  const RgbImage image = gradient(30, 20);
  EXPECT_EQ(reducedToFit(image, 30), image);
  EXPECT_EQ(reducedToFit(image, 4000), image);
  EXPECT_EQ(reducedToFit(gradient(300, 2), 10).height(), 1);
}

TEST(Cropped, IsClippedToThePicture) {
  const RgbImage image = numberedPicture();
  EXPECT_EQ(gridText(cropped(image, 1, 0, 2, 2)), "23/67/");
  EXPECT_EQ(gridText(cropped(image, -5, 1, 7, 9)), "56/");
  EXPECT_TRUE(cropped(image, 4, 0, 3, 3).isEmpty());
  EXPECT_TRUE(cropped(image, 0, 0, 0, 5).isEmpty());
}

}  // namespace
}  // namespace edamori::vision
