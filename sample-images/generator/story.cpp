// SPDX-License-Identifier: GPL-3.0-or-later
#include "generator/story.h"

#include "generator/foliage.h"
#include "generator/rng.h"
#include "generator/skeleton.h"

namespace edamori::scenes {
namespace {

enum class Frame { Upright, Wide };
enum class Weather { Morning, Noon, Afternoon, Bright, Overcast };

LightLook lightOf(Weather weather) {
  switch (weather) {
    case Weather::Morning:
      return {150.0F, 34.0F, {3.0F, 2.55F, 1.95F}, {0.62F, 0.74F, 0.95F}, 1.6F};
    case Weather::Noon:
      return {105.0F, 58.0F, {3.1F, 2.95F, 2.7F}, {0.66F, 0.76F, 0.94F}, 1.3F};
    case Weather::Afternoon:
      return {38.0F, 38.0F, {3.0F, 2.6F, 2.1F}, {0.60F, 0.70F, 0.88F}, 1.7F};
    case Weather::Bright:
      return {120.0F, 52.0F, {1.5F, 1.45F, 1.36F}, {1.0F, 1.04F, 1.1F}, 6.0F};
    case Weather::Overcast:
      break;
  }
  return {90.0F, 70.0F, {0.38F, 0.38F, 0.38F}, {1.25F, 1.28F, 1.32F}, 22.0F};
}

// How one photo differs from the tree's reference photo.
struct Stand {
  float yawDeg = 0.0F;  // of the photographer around the tree
  float liftMm = 0.0F;  // of the camera
  float rollDeg = 0.0F;
  float scale = 1.0F;
  float shiftXMm = 0.0F;  // of the point aimed at
  float shiftYMm = 0.0F;
};

struct Exposure {
  float ev = 0.0F;
  Vec3 whiteBalance{1.0F, 1.0F, 1.0F};
  float noise = 1.0F;
};

CameraLook cameraAt(Vec3 target, float distanceMm, float liftMm, Frame frame, const Stand& stand) {
  CameraLook camera;
  camera.widthPx = frame == Frame::Upright ? 1260 : 1680;
  camera.heightPx = frame == Frame::Upright ? 1680 : 1260;
  const float yaw = radians(stand.yawDeg);
  camera.target = target + Vec3{stand.shiftXMm, stand.shiftYMm, 0.0F};
  camera.eye = camera.target +
               Vec3{distanceMm * std::sin(yaw), liftMm + stand.liftMm, distanceMm * std::cos(yaw)};
  camera.rollDeg = stand.rollDeg;
  return camera;
}

CameraLook wholeTree(const StoryTree& tree, Frame frame, const Stand& stand) {
  const float top = tree.pot.heightMm + tree.habit.heightMm + 122.0F;
  const float bottom = -55.0F;
  constexpr float kDistance = 1500.0F;
  CameraLook camera = cameraAt(
      {0.25F * tree.habit.leanMm, 0.5F * (top + bottom), 0.0F}, kDistance, 150.0F, frame, stand);
  const float byHeight = 0.95F * static_cast<float>(camera.heightPx) * kDistance / (top - bottom);
  const float byWidth = 0.93F * static_cast<float>(camera.widthPx) * kDistance / 590.0F;
  camera.focalPx = std::min(byHeight, byWidth) * stand.scale;
  camera.defocusPx = 2.2F;
  return camera;
}

CameraLook closeUp(Vec3 target, float fieldWidthMm, Frame frame, const Stand& stand) {
  constexpr float kDistance = 430.0F;
  CameraLook camera = cameraAt(target, kDistance, 55.0F, frame, stand);
  camera.focalPx = static_cast<float>(camera.widthPx) * kDistance / fieldWidthMm * stand.scale;
  camera.planeZMm = target.z;
  camera.defocusPx = 9.0F;
  return camera;
}

struct Teller {
  Story story;

  StoryPhoto& add(std::size_t tree,
                  const std::string& stem,
                  const std::string& takenAt,
                  const CameraLook& camera,
                  Weather weather) {
    const StoryTree& own = story.trees[tree];
    StoryPhoto photo;
    photo.stem = stem;
    photo.tree = tree;
    photo.view = "front";
    photo.takenAt = takenAt;
    photo.offset =
        takenAt.substr(5, 2) == "03" && takenAt.substr(8, 2) < "29" ? "+01:00" : "+02:00";
    const std::uint64_t seed = hashed(story.photos.size() + 31U);
    photo.subSecond = std::string(1, static_cast<char>('1' + seed % 9U)) +
                      std::string(1, static_cast<char>('0' + seed / 16U % 10U)) +
                      std::string(1, static_cast<char>('1' + seed / 256U % 9U));
    photo.scene = {own.habit, own.foliage, {}, {}, own.pot, lightOf(weather), own.backdrop, camera};
    photo.scene.camera.seed = story.photos.size() + 1U;
    photo.scene.foliage.seed = takenAt.substr(0, 4) == "2026" ? 2026U : 2025U;
    story.photos.push_back(photo);
    return story.photos.back();
  }
};

void expose(StoryPhoto& photo, const Exposure& exposure) {
  photo.scene.camera.exposureEv = exposure.ev;
  photo.scene.camera.whiteBalance = exposure.whiteBalance;
  photo.scene.camera.noise = exposure.noise;
}

// Makes every photo since `first` with that view refer to the first of them.
void sameFraming(Story& story, std::size_t first, const std::string& view) {
  for (std::size_t i = first; i < story.photos.size(); ++i) {
    if (story.photos[i].view == view) {
      story.photos[i].reference = first;
    }
  }
}

std::vector<BranchHealth> blight(float left, float right, float others) {
  return {{"First left", 1.0F, 0.0F, left},
          {"First right", 1.0F, 0.0F, right},
          {"", 1.0F, 0.0F, others}};
}

void tellBlackPine(Teller& teller) {
  const StoryTree& tree = teller.story.trees[0];
  const std::size_t first = teller.story.photos.size();
  const auto add =
      [&](const char* stem, const char* at, const Stand& stand, Weather weather) -> StoryPhoto& {
    return teller.add(0, stem, at, wholeTree(tree, Frame::Upright, stand), weather);
  };
  StoryPhoto* photo = &add("ED-01_2025-04-12_front", "2025-04-12T10:31:05", {}, Weather::Morning);
  photo->scene.health = blight(0.01F, 0.01F, 0.0F);
  photo = &add("ED-01_2025-09-20_front",
               "2025-09-20T11:02:44",
               {3.0F, 20.0F, -2.2F, 0.96F, 8.0F, -6.0F},
               Weather::Bright);
  photo->scene.health = blight(0.22F, 0.12F, 0.01F);
  photo->orientation = 6;
  expose(*photo, {0.1F, {1.03F, 1.0F, 0.97F}, 1.0F});
  photo = &add("ED-01_2026-03-21_front",
               "2026-03-21T14:20:18",
               {-4.0F, 30.0F, 3.1F, 1.05F, -12.0F, 10.0F},
               Weather::Overcast);
  photo->scene.health = blight(0.42F, 0.28F, 0.02F);
  photo->orientation = 6;
  expose(*photo, {-0.15F, {0.95F, 1.0F, 1.06F}, 1.6F});
  photo = &add("ED-01_2026-04-11_front",
               "2026-04-11T09:48:51",
               {1.5F, -15.0F, 1.0F, 1.02F, 5.0F, 4.0F},
               Weather::Morning);
  photo->scene.health = blight(0.5F, 0.34F, 0.02F);
  photo = &add("ED-01_2026-04-14_front",
               "2026-04-14T10:05:37",
               {-2.0F, 10.0F, -1.6F, 0.98F, -6.0F, 0.0F},
               Weather::Bright);
  photo->scene.health = {{"First left", 0.66F, 0.0F, 0.04F},
                         {"First right", 0.76F, 0.0F, 0.03F},
                         {"", 0.98F, 0.0F, 0.0F}};
  photo = &add("ED-01_2026-05-16_front",
               "2026-05-16T16:40:09",
               {4.0F, 0.0F, 2.0F, 1.08F, 0.0F, 8.0F},
               Weather::Afternoon);
  photo->scene.health = {{"First left", 0.7F, 0.0F, 0.05F},
                         {"First right", 0.8F, 0.0F, 0.03F},
                         {"", 1.0F, 0.0F, 0.0F}};
  photo->scene.foliage.candleMm = 22.0F;
  expose(*photo, {0.15F, {1.05F, 1.0F, 0.93F}, 1.0F});
  for (std::size_t i = first; i < teller.story.photos.size(); ++i) {
    // The needles of 2025 are still there in April 2026: the same ones, sick or pulled.
    teller.story.photos[i].scene.foliage.seed = i == first ? 2024U : 2025U;
  }
  sameFraming(teller.story, first, "front");
}

std::vector<BranchHealth> spots(float right, float others) {
  return {{"First right", 1.0F, right, 0.0F}, {"", 1.0F, others, 0.0F}};
}

void tellGreenMaple(Teller& teller) {
  const StoryTree& tree = teller.story.trees[1];
  const std::size_t first = teller.story.photos.size();
  const auto add =
      [&](const char* stem, const char* at, const Stand& stand, Weather weather) -> StoryPhoto& {
    return teller.add(1, stem, at, wholeTree(tree, Frame::Wide, stand), weather);
  };
  StoryPhoto* photo = &add("ED-02_2025-05-10_front",
                           "2025-05-10T09:12:30",
                           {0.0F, 0.0F, 0.0F, 1.0F, 0.0F, 0.0F},
                           Weather::Bright);
  photo->scene.health = spots(0.08F, 0.03F);
  photo = &add("ED-02_2025-06-14_front",
               "2025-06-14T10:45:02",
               {-3.0F, 25.0F, 2.4F, 1.05F, 10.0F, 5.0F},
               Weather::Morning);
  photo->scene.health = spots(0.095F, 0.035F);
  photo->scene.foliage.otherShare = 0.15F;
  expose(*photo, {0.1F, {1.02F, 1.0F, 0.97F}, 1.0F});
  photo = &add("ED-02_2026-05-09_front",
               "2026-05-09T09:30:41",
               {3.5F, -10.0F, -3.0F, 0.95F, -8.0F, 0.0F},
               Weather::Overcast);
  photo->scene.health = spots(0.022F, 0.012F);
  photo->orientation = 3;
  expose(*photo, {0.05F, {0.97F, 1.0F, 1.04F}, 1.5F});
  photo = &add("ED-02_2026-06-13_front",
               "2026-06-13T10:58:16",
               {-1.0F, 15.0F, 1.2F, 1.02F, 4.0F, -6.0F},
               Weather::Noon);
  photo->scene.health = spots(0.02F, 0.014F);
  photo->scene.foliage.otherShare = 0.18F;
  photo->hasThumbnail = false;
  sameFraming(teller.story, first, "front");
}

// Sixty seats for scale insects, of which the first `onTrunk` and `inFork` are taken.
std::vector<InsectGroup> scaleInsects(int onTrunk, int inFork) {
  return {{InsectKind::ScaleInsect,
           InsectPlace::TrunkFront,
           "Trunk line",
           34,
           onTrunk,
           0.10F,
           0.29F,
           2.5F,
           71},
          {InsectKind::ScaleInsect,
           InsectPlace::TrunkFront,
           "Fork",
           14,
           inFork,
           0.30F,
           0.40F,
           2.4F,
           72}};
}

void tellElm(Teller& teller) {
  const StoryTree& tree = teller.story.trees[2];
  const Skeleton skeleton = grow(tree.habit, tree.pot.heightMm * 0.93F + 14.0F);
  const LimbPoint middle = pointAt(skeleton.limbs.front(), 0.24F);
  const Vec3 target = middle.position + Vec3{0.0F, 0.0F, middle.radiusMm * 0.8F};
  teller
      .add(2,
           "ED-03_2025-05-03_front",
           "2025-05-03T08:55:12",
           wholeTree(tree, Frame::Upright, {}),
           Weather::Bright)
      .scene.insects = scaleInsects(30, 11);
  teller.story.photos.back().reference = teller.story.photos.size() - 1;
  const std::size_t first = teller.story.photos.size();
  const auto add =
      [&](const char* stem, const char* at, const Stand& stand, Weather weather) -> StoryPhoto& {
    StoryPhoto& photo =
        teller.add(2, stem, at, closeUp(target, 150.0F, Frame::Upright, stand), weather);
    photo.view = "close-up";
    photo.outlined = {"Trunk line", "Fork"};  // what lies behind is out of focus
    return photo;
  };
  StoryPhoto* photo =
      &add("ED-03_2025-05-03_trunk-before", "2025-05-03T09:02:26", {}, Weather::Bright);
  photo->scene.insects = scaleInsects(30, 11);
  photo = &add("ED-03_2025-05-03_trunk-after",
               "2025-05-03T11:37:50",
               {3.0F, 8.0F, 2.5F, 1.06F, 3.0F, -2.0F},
               Weather::Noon);
  photo->scene.insects = scaleInsects(3, 1);
  photo = &add("ED-03_2025-10-04_trunk",
               "2025-10-04T14:11:29",
               {-2.5F, 4.0F, -3.0F, 0.94F, -4.0F, 3.0F},
               Weather::Overcast);
  photo->scene.insects = scaleInsects(4, 2);
  photo->takenAt.clear();
  photo->orientation = 8;
  photo->scene.foliage.colour = fromSrgb(92, 108, 40);
  expose(*photo, {-0.1F, {0.96F, 1.0F, 1.05F}, 1.8F});
  photo = &add("ED-03_2026-04-18_trunk",
               "2026-04-18T10:14:33",
               {2.0F, -6.0F, 1.4F, 1.03F, 0.0F, 4.0F},
               Weather::Morning);
  photo->scene.insects = scaleInsects(5, 1);
  photo->orientation = 6;
  sameFraming(teller.story, first, "close-up");
}

std::vector<InsectGroup> aphids(int kept) {
  return {
      {InsectKind::Aphid, InsectPlace::ShootTip, "First right", 120, kept, 0.0F, 0.0F, 2.0F, 81}};
}

void tellCrabApple(Teller& teller) {
  const StoryTree& tree = teller.story.trees[3];
  const Skeleton skeleton = grow(tree.habit, tree.pot.heightMm * 0.93F + 14.0F);
  const Vec3 target = shootTips(skeleton, "First right").front().position;
  StoryPhoto* photo = &teller.add(3,
                                  "ED-04_2026-04-18_front",
                                  "2026-04-18T11:20:47",
                                  wholeTree(tree, Frame::Upright, {}),
                                  Weather::Morning);
  photo->scene.foliage.blossomShare = 0.22F;
  photo->scene.foliage.leavesPerSite = 1.1F;
  photo->scene.foliage.leafLengthMm = 25.0F;
  photo->scene.insects = aphids(0);
  photo->reference = teller.story.photos.size() - 1;
  const std::size_t first = teller.story.photos.size();
  const auto add =
      [&](const char* stem, const char* at, const Stand& stand, Weather weather) -> StoryPhoto& {
    StoryPhoto& shot =
        teller.add(3, stem, at, closeUp(target, 165.0F, Frame::Wide, stand), weather);
    shot.view = "close-up";
    shot.outlined = {"First right"};
    return shot;
  };
  photo = &add("ED-04_2025-05-17_first-right", "2025-05-17T09:40:19", {}, Weather::Bright);
  photo->scene.insects = aphids(0);
  photo->hasPosition = true;
  photo = &add("ED-04_2026-04-25_first-right-before",
               "2026-04-25T08:33:58",
               {2.0F, 5.0F, -2.0F, 1.04F, 3.0F, 0.0F},
               Weather::Bright);
  photo->scene.insects = aphids(120);
  photo = &add("ED-04_2026-04-28_first-right-after",
               "2026-04-28T09:10:04",
               {-2.0F, -4.0F, 1.5F, 0.98F, -2.0F, 2.0F},
               Weather::Morning);
  photo->scene.insects = aphids(10);
  expose(*photo, {0.1F, {1.03F, 1.0F, 0.96F}, 1.0F});
  photo = &add("ED-04_2026-05-20_first-right",
               "2026-05-20T17:25:39",
               {1.0F, 8.0F, 3.0F, 1.1F, 0.0F, -3.0F},
               Weather::Afternoon);
  photo->scene.insects = aphids(4);
  photo->orientation = 3;
  sameFraming(teller.story, first, "close-up");
}

void tellWhitePine(Teller& teller) {
  const StoryTree& tree = teller.story.trees[4];
  const std::size_t first = teller.story.photos.size();
  const auto add =
      [&](const char* stem, const char* at, const Stand& stand, Weather weather) -> StoryPhoto& {
    return teller.add(4, stem, at, wholeTree(tree, Frame::Upright, stand), weather);
  };
  add("ED-05_2025-05-24_front", "2025-05-24T10:00:11", {}, Weather::Bright).scene.foliage.candleMm =
      9.0F;
  StoryPhoto* photo = &add("ED-05_2025-05-24_front-again",
                           "2025-05-24T10:03:42",
                           {2.5F, 18.0F, -1.5F, 1.03F, 6.0F, 3.0F},
                           Weather::Bright);
  photo->scene.foliage.candleMm = 9.0F;
  photo = &add("ED-05_2025-10-11_front",
               "2025-10-11T15:18:27",
               {-3.0F, 0.0F, 2.0F, 0.95F, -5.0F, 0.0F},
               Weather::Afternoon);
  photo->orientation = 6;
  photo->offset.clear();
  expose(*photo, {-0.1F, {1.05F, 1.0F, 0.94F}, 1.0F});
  photo = &add("ED-05_2026-05-23_front",
               "2026-05-23T10:22:55",
               {1.5F, 12.0F, 2.8F, 1.06F, 4.0F, -5.0F},
               Weather::Morning);
  photo->scene.foliage.candleMm = 9.0F;
  for (std::size_t i = first; i < teller.story.photos.size(); ++i) {
    teller.story.photos[i].scene.foliage.seed = 2025U;
    teller.story.photos[i].scene.health = {{"", 1.0F, 0.0F, 0.002F}};
  }
  sameFraming(teller.story, first, "front");
}

void tellRedMaple(Teller& teller) {
  const StoryTree& tree = teller.story.trees[5];
  const std::size_t first = teller.story.photos.size();
  const auto add =
      [&](const char* stem, const char* at, const Stand& stand, Weather weather) -> StoryPhoto& {
    return teller.add(5, stem, at, wholeTree(tree, Frame::Wide, stand), weather);
  };
  add("ED-06_2025-04-26_front", "2025-04-26T09:05:33", {}, Weather::Morning);
  StoryPhoto* photo = &add("ED-06_2025-06-21_front",
                           "2025-06-21T11:15:48",
                           {3.0F, 20.0F, 2.0F, 1.04F, 6.0F, 0.0F},
                           Weather::Overcast);
  photo->scene.foliage.colour = fromSrgb(108, 34, 36);
  expose(*photo, {0.0F, {0.97F, 1.0F, 1.04F}, 1.4F});
  photo = &add("ED-06_2026-04-25_front",
               "2026-04-25T09:18:20",
               {-2.5F, 0.0F, -2.5F, 0.97F, -4.0F, 4.0F},
               Weather::Bright);
  photo->orientation = 8;
  photo = &add("ED-06_2026-05-30_front",
               "2026-05-30T12:40:57",
               {1.0F, 15.0F, 1.0F, 1.02F, 0.0F, -4.0F},
               Weather::Noon);
  photo->scene.foliage.otherColour = fromSrgb(214, 186, 66);
  photo->scene.foliage.otherShare = 0.22F;
  photo->hasThumbnail = false;
  sameFraming(teller.story, first, "front");
}

void tellJuniper(Teller& teller) {
  const StoryTree& tree = teller.story.trees[6];
  const std::size_t first = teller.story.photos.size();
  const auto add = [&](const char* stem,
                       const char* at,
                       const Stand& stand,
                       Weather weather,
                       float cover) -> StoryPhoto& {
    StoryPhoto& photo = teller.add(6, stem, at, wholeTree(tree, Frame::Upright, stand), weather);
    photo.scene.health = {{"First left", cover, 0.0F, 0.0F}, {"", 1.0F, 0.0F, 0.0F}};
    photo.scene.foliage.seed = 2025U;
    return photo;
  };
  add("ED-07_2025-04-05_front", "2025-04-05T10:12:08", {}, Weather::Bright, 0.97F);
  StoryPhoto* photo = &add("ED-07_2025-09-13_front",
                           "2025-09-13T09:50:31",
                           {-2.0F, 15.0F, 1.5F, 1.03F, 4.0F, 0.0F},
                           Weather::Morning,
                           0.78F);
  expose(*photo, {0.1F, {1.03F, 1.0F, 0.96F}, 1.0F});
  photo = &add("ED-07_2026-04-04_front",
               "2026-04-04T10:40:26",
               {3.0F, -10.0F, -2.0F, 0.97F, -6.0F, 4.0F},
               Weather::Overcast,
               0.56F);
  photo->orientation = 6;
  expose(*photo, {0.0F, {0.96F, 1.0F, 1.05F}, 1.5F});
  photo = &add("ED-07_2026-05-30_front",
               "2026-05-30T09:26:13",
               {1.0F, 8.0F, 2.4F, 1.05F, 0.0F, -3.0F},
               Weather::Noon,
               0.44F);
  sameFraming(teller.story, first, "front");
}

}  // namespace

Story tellStory() {
  Teller teller;
  teller.story.garden = "Quillbrook Yard";
  teller.story.trees = storyTrees();
  tellBlackPine(teller);
  tellGreenMaple(teller);
  tellElm(teller);
  tellCrabApple(teller);
  tellWhitePine(teller);
  tellRedMaple(teller);
  tellJuniper(teller);
  return teller.story;
}

}  // namespace edamori::scenes
