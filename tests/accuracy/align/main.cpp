// SPDX-License-Identifier: GPL-3.0-or-later
// edamori_align_accuracy --cache DIR [--photos DIR]… [--split tuning|held-out] [--list]
//                        [--kind TEXT] [--every N] [--slice K/N] [--whole] [--carried] [--no-timing]
// Measures align() on pairs whose truth is known and prints the table of
// docs/decisions/0004-alignment.md.
#include "tests/accuracy/align/photo_pairs.h"
#include "tests/accuracy/align/tree_pairs.h"
#include "vision/align/compare.h"
#include "vision/load/load.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <iterator>
#include <map>
#include <span>
#include <string>
#include <vector>

#include <opencv2/calib3d.hpp>
#include <opencv2/features2d.hpp>
#include <opencv2/imgproc.hpp>

namespace edamori::accuracy {

namespace {

struct Wishes {
  Split split = Split::Tuning;
  std::filesystem::path cache;
  std::vector<std::filesystem::path> photos;
  std::string kind;  // only kinds that contain it
  int every = 1;     // only each so many-th pair
  int slice = 0, slices = 1;  // of these, one of so many runs of neighbours
  bool doesList = false;
  bool doesTiming = true;
  bool isWhole = false;  // align() gets no outline
  bool isCarried = false;  // outlines are carried for a person to look at, not aligned for figures
};

struct Row {
  int pairs = 0, accepted = 0;
  std::vector<double> cornerErrors;  // share of the after photo's longer side
  std::vector<double> worstErrors;   // of each outline
  int cornersWithin = 0;             // inside the stated error
  std::vector<double> ofStated;      // corner errors over the stated one
};

double quantile(std::vector<double> values, double share) {
  if (values.empty()) {
    return std::nan("");
  }
  std::sort(values.begin(), values.end());
  const double at = share * (static_cast<double>(values.size()) - 1.0);
  const auto low = static_cast<std::size_t>(at);
  const std::size_t high = std::min(low + 1, values.size() - 1);
  return std::lerp(values[low], values[high], at - static_cast<double>(low));
}

void judge(const KnownPair& pair, const Wishes& wishes, Row& row) {
  const RgbImage before = pair.before();
  const RgbImage after = pair.after();
  const auto alignment =
      vision::align(before, after, wishes.isWhole ? std::nullopt : pair.outline);
  ++row.pairs;
  double worst = 0.0;
  double stated = 0.0;
  if (alignment) {
    ++row.accepted;
    const double longSide = std::max(after.width(), after.height());
    stated = alignment->errorPx / longSide;
    for (std::size_t i = 0; i < pair.truth.size(); ++i) {
      const PointPx at = mapped(alignment->afterFromBefore, pair.outline->polygon[i]);
      const double error = std::hypot(at.x - pair.truth[i].x, at.y - pair.truth[i].y) / longSide;
      if (std::isnan(error)) {
        continue;
      }
      row.cornerErrors.push_back(error);
      row.cornersWithin += error <= stated ? 1 : 0;
      row.ofStated.push_back(error / std::max(stated, 1e-9));
      worst = std::max(worst, error);
    }
    if (!pair.truth.empty()) {
      row.worstErrors.push_back(worst);
    }
  }
  if (wishes.doesList) {
    std::printf("%s | %s | %s\n",
                pair.kind.c_str(),
                pair.name.c_str(),
                alignment ? ("worst " + std::to_string(100.0 * worst) + " % stated " +
                             std::to_string(100.0 * stated) + " % matches " +
                             std::to_string(alignment->supportingMatches))
                                .c_str()
                          : alignment.error().message.c_str());
    std::fflush(stdout);
  }
}

void printPossible(const std::string& kind, const Row& row) {
  const double corners = std::max<double>(1.0, static_cast<double>(row.cornerErrors.size()));
  std::printf("| %s | %d | %.1f %% | %.2f %% | %.2f %% | %.2f %% | %.1f %% | %.2f |\n",
              kind.c_str(),
              row.pairs,
              100.0 * (row.pairs - row.accepted) / std::max(1, row.pairs),
              100.0 * quantile(row.cornerErrors, 0.5),
              100.0 * quantile(row.cornerErrors, 0.95),
              100.0 * quantile(row.worstErrors, 0.5),
              100.0 * row.cornersWithin / corners,
              quantile(row.ofStated, 0.9));
}

void add(Row& sum, const Row& row) {
  sum.pairs += row.pairs;
  sum.accepted += row.accepted;
  sum.cornersWithin += row.cornersWithin;
  sum.ofStated.insert(sum.ofStated.end(), row.ofStated.begin(), row.ofStated.end());
  sum.cornerErrors.insert(sum.cornerErrors.end(), row.cornerErrors.begin(), row.cornerErrors.end());
  sum.worstErrors.insert(sum.worstErrors.end(), row.worstErrors.begin(), row.worstErrors.end());
}

std::vector<const KnownPair*> wished(const std::vector<KnownPair>& pairs, const Wishes& wishes) {
  std::vector<const KnownPair*> all;
  int count = 0;
  for (const KnownPair& pair : pairs) {
    if (pair.kind.find(wishes.kind) != std::string::npos && count++ % wishes.every == 0) {
      all.push_back(&pair);
    }
  }
  const auto at = [&](int slice) {
    return all.begin() + static_cast<std::ptrdiff_t>(all.size()) * slice / wishes.slices;
  };
  return {at(wishes.slice), at(wishes.slice + 1)};
}

std::map<std::string, Row> judged(const std::vector<KnownPair>& pairs, const Wishes& wishes) {
  std::map<std::string, Row> rows;
  for (const KnownPair* pair : wished(pairs, wishes)) {
    judge(*pair, wishes, rows[pair->kind]);
  }
  return rows;
}

// ---- Outlines carried over for a person to look at.

struct CarriedRow {
  int pairs = 0, certain = 0, likely = 0;
  std::vector<double> worstCertain, worstLikely;  // worst corner, share of the after photo's longer side
};

void carry(const KnownPair& pair, CarriedRow& row) {
  const RgbImage after = pair.after();
  const auto carried = vision::carriedOutlines(pair.before(), after, {*pair.outline});
  ++row.pairs;
  if (!carried || !carried->front()) {
    return;
  }
  const auto& one = *carried->front();
  (one.isCertain ? row.certain : row.likely) += 1;
  double worst = 0.0;
  for (std::size_t i = 0; i < pair.truth.size(); ++i) {
    const PointPx at = one.shape.polygon[i];
    const double off = std::hypot(at.x - pair.truth[i].x, at.y - pair.truth[i].y);
    worst = std::isnan(off) ? worst : std::max(worst, off / std::max(after.width(), after.height()));
  }
  if (!pair.truth.empty()) {
    (one.isCertain ? row.worstCertain : row.worstLikely).push_back(worst);
  }
}

void reportCarried(const Wishes& wishes, const std::string& title, const std::vector<KnownPair>& pairs) {
  std::map<std::string, CarriedRow> rows;
  std::vector<KnownPair> outlined;
  std::copy_if(pairs.begin(), pairs.end(), std::back_inserter(outlined), [](const KnownPair& pair) {
    return pair.outline.has_value();
  });
  for (const KnownPair* pair : wished(outlined, wishes)) {
    carry(*pair, rows[pair->kind]);
  }
  std::printf("\n| %s | n | certain | worst corner, median | likeliest place | worst corner, median | 90th percentile |\n"
              "|---|---|---|---|---|---|---|\n",
              title.c_str());
  for (const auto& [kind, row] : rows) {
    std::printf("| %s | %d | %d | %.2f %% | %d | %.2f %% | %.2f %% |\n", kind.c_str(), row.pairs, row.certain,
                100.0 * quantile(row.worstCertain, 0.5), row.likely, 100.0 * quantile(row.worstLikely, 0.5),
                100.0 * quantile(row.worstLikely, 0.9));
  }
}

// ---- Time, one thread, decoding included.

void plainSift(const RgbImage& before, const RgbImage& after) {
  const auto sift = cv::SIFT::create();
  std::vector<cv::KeyPoint> points[2];
  cv::Mat descriptors[2];
  for (int i = 0; i < 2; ++i) {
    const RgbImage small = vision::reducedToFit(i == 0 ? before : after, 1600);
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-const-cast): read only.
    const cv::Mat rgb(
        small.height(), small.width(), CV_8UC3, const_cast<std::uint8_t*>(small.data()));
    cv::Mat grey;
    cv::cvtColor(rgb, grey, cv::COLOR_RGB2GRAY);
    sift->detectAndCompute(grey, cv::noArray(), points[i], descriptors[i]);
  }
  std::vector<std::vector<cv::DMatch>> matches;
  cv::BFMatcher(cv::NORM_L2).knnMatch(descriptors[0], descriptors[1], matches, 2);
  std::vector<cv::Point2f> from, to;
  for (const auto& match : matches) {
    if (match.size() == 2 && match[0].distance < 0.8F * match[1].distance) {
      from.push_back(points[0][static_cast<std::size_t>(match[0].queryIdx)].pt);
      to.push_back(points[1][static_cast<std::size_t>(match[0].trainIdx)].pt);
    }
  }
  if (from.size() >= 4) {
    cv::findHomography(from, to, cv::RANSAC, 3.0);
  }
}

template <typename Work>
double seconds(const Work& work) {
  const auto start = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

void timePair(const std::string& name,
              const RgbImage& photo,
              int widthPx,
              int heightPx,
              const std::filesystem::path& folder) {
  const LargePair pair = largePair(photo, widthPx, heightPx);
  const auto first = folder / "timing-before.jpg";
  const auto second = folder / "timing-after.jpg";
  if (!vision::savePicture(first, pair.before) || !vision::savePicture(second, pair.after)) {
    std::cerr << "edamori_align_accuracy: cannot write into " << folder << '\n';
    return;
  }
  const double w = widthPx;
  const double h = heightPx;
  const Outline outline{
      .polygon = {{0.3 * w, 0.3 * h}, {0.6 * w, 0.3 * h}, {0.6 * w, 0.7 * h}, {0.3 * w, 0.7 * h}},
      .holes = {}};
  std::vector<double> ours, plain;
  std::string outcome;
  for (int repeat = 0; repeat < 5; ++repeat) {
    ours.push_back(seconds([&] {
      const auto before = vision::loadPhoto(first);
      const auto after = vision::loadPhoto(second);
      const auto alignment = vision::align(before->image, after->image, outline);
      outcome = alignment ? "aligned" : alignment.error().message;
    }));
    plain.push_back(seconds([&] {
      const auto before = vision::loadPhoto(first);
      const auto after = vision::loadPhoto(second);
      plainSift(before->image, after->image);
    }));
  }
  std::printf("| %s | %.2f s | %.2f s | %.2f | %s |\n",
              name.c_str(),
              quantile(ours, 0.5),
              quantile(plain, 0.5),
              quantile(ours, 0.5) / quantile(plain, 0.5),
              outcome.c_str());
}

// ---- Report.

void reportPossible(const Wishes& wishes, std::vector<KnownPair> pairs) {
  Row all;
  const auto rows = judged(pairs, wishes);
  std::printf(
      "\n| possible pairs | n | refused | corner error median | 95th percentile | worst corner, "
      "median | corners within the stated error | 90th percentile of error / stated |\n"
      "|---|---|---|---|---|---|---|---|\n");
  for (const auto& [kind, row] : rows) {
    printPossible(kind, row);
    add(all, row);
  }
  printPossible("all", all);
}

void reportImpossible(const Wishes& wishes, const std::vector<KnownPair>& pairs) {
  Row all;
  std::printf("\n| impossible pairs | n | accepted |\n|---|---|---|\n");
  for (const auto& [kind, row] : judged(pairs, wishes)) {
    std::printf("| %s | %d | %d |\n", kind.c_str(), row.pairs, row.accepted);
    add(all, row);
  }
  std::printf("| all | %d | %d |\n", all.pairs, all.accepted);
}

void report(const Wishes& wishes) {
  PictureCache cache(wishes.cache);
  const std::vector<RgbImage> photos = photographsOf(wishes.split, wishes.photos);
  if (wishes.isCarried) {
    reportCarried(wishes, "possible pairs", possibleTreePairs(wishes.split, cache));
    reportCarried(wishes, "impossible pairs", impossibleTreePairs(wishes.split, cache));
    return;
  }
  std::vector<KnownPair> possible = possibleTreePairs(wishes.split, cache);
  for (KnownPair& pair : possiblePhotoPairs(wishes.split, photos)) {
    possible.push_back(std::move(pair));
  }
  reportPossible(wishes, std::move(possible));
  std::vector<KnownPair> impossible = impossibleTreePairs(wishes.split, cache);
  for (KnownPair& pair : impossiblePhotoPairs(photos)) {
    impossible.push_back(std::move(pair));
  }
  reportImpossible(wishes, impossible);
  if (wishes.doesTiming && !photos.empty()) {
    cv::setNumThreads(1);
    std::printf("\n| 12 MP pair, one thread | align | plain SIFT + RANSAC | ratio | |\n"
                "|---|---|---|---|---|\n");
    for (std::size_t i = 0; i < std::min<std::size_t>(photos.size(), 3); ++i) {
      timePair("photograph " + std::to_string(i), photos[i], 4000, 3000, wishes.cache);
    }
  }
}

constexpr const char* kUsage =
    "edamori_align_accuracy --cache DIR [--photos DIR]… [--split tuning|held-out] [--kind TEXT] "
    "[--every N] [--slice K/N] [--whole] [--carried] [--list] [--no-timing]";

bool readWishes(std::span<char*> arguments, Wishes& wishes) {
  for (std::size_t i = 1; i < arguments.size(); ++i) {
    const std::string name = arguments[i];
    const bool hasValue = i + 1 < arguments.size();
    if (name == "--list") {
      wishes.doesList = true;
    } else if (name == "--whole") {
      wishes.isWhole = true;
    } else if (name == "--carried") {
      wishes.isCarried = true;
    } else if (name == "--no-timing") {
      wishes.doesTiming = false;
    } else if (name == "--cache" && hasValue) {
      wishes.cache = arguments[++i];
    } else if (name == "--photos" && hasValue) {
      wishes.photos.emplace_back(arguments[++i]);
    } else if (name == "--kind" && hasValue) {
      wishes.kind = arguments[++i];
    } else if (name == "--every" && hasValue) {
      wishes.every = std::max(1, std::atoi(arguments[++i]));
    } else if (name == "--slice" && hasValue) {  // K/N
      if (std::sscanf(arguments[++i], "%d/%d", &wishes.slice, &wishes.slices) != 2 || wishes.slice < 0 ||
          wishes.slice >= wishes.slices) {
        return false;
      }
    } else if (name == "--split" && hasValue) {
      const std::string split = arguments[++i];
      if (split != "tuning" && split != "held-out") {
        return false;
      }
      wishes.split = split == "tuning" ? Split::Tuning : Split::HeldOut;
    } else {
      return false;
    }
  }
  return !wishes.cache.empty();
}

}  // namespace
}  // namespace edamori::accuracy

int main(int argc, char** argv) {
  edamori::accuracy::Wishes wishes;
  if (!edamori::accuracy::readWishes({argv, static_cast<std::size_t>(argc)}, wishes)) {
    std::cerr << "usage: " << edamori::accuracy::kUsage << '\n';
    return 2;
  }
  try {
    edamori::accuracy::report(wishes);
  } catch (const std::exception& error) {
    std::cerr << "edamori_align_accuracy: " << error.what() << '\n';
    return 5;
  }
  return 0;
}
