// SPDX-License-Identifier: GPL-3.0-or-later
// What a picture shows, as plain numbers and seeds. The same description always draws the same
// picture. Lengths in mm, angles in degrees, colours linear-light sRGB (vec3.h). Scene frame:
// origin on the bench top under the trunk, x right, y up, z towards the viewer.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "generator/vec3.h"

namespace edamori::scenes {

enum class FoliageKind { PalmateLeaf, SerrateLeaf, NeedlePairs, NeedleFives, NeedleWhorls };
enum class BarkStyle { PinePlates, FlakingElm, SmoothMaple, BandedFruit, FibrousJuniper };

// One primary branch, or a part of the trunk that growers name.
struct BranchSpec {
  std::string name;         // shared by several specs: they form one named branch
  float attach = 0.5F;      // where it leaves the trunk, 0 base … 1 apex
  float azimuthDeg = 0.0F;  // 0 right, 90 towards the viewer, 180 left, 270 back
  float lengthMm = 200.0F;
  float riseDeg = 0.0F;        // above horizontal at its start
  float radiusFactor = 0.36F;  // of the trunk's radius where it leaves
};

// How the species grows; everything that stays the same between two photos of one tree.
struct TreeHabit {
  std::uint64_t seed = 1;
  FoliageKind foliage = FoliageKind::SerrateLeaf;
  BarkStyle bark = BarkStyle::SmoothMaple;
  float heightMm = 550.0F;      // soil to apex
  float trunkRadiusMm = 26.0F;  // above the root flare
  float sweepMm = 40.0F;        // amplitude of the trunk's curves
  float leanMm = 20.0F;         // shift of the apex to the right
  std::vector<BranchSpec> branches;
  float secondarySpacingMm = 17.0F;
  float secondaryLength = 0.42F;  // of the primary's length
  float twigSpacingMm = 12.0F;
  float twigLengthMm = 34.0F;
  std::string trunkName = "Trunk line";
  std::string forkName{};  // empty: the tree has no named fork
  float forkAttach = 0.4F;
};

// What the foliage looks like on one day.
struct FoliageLook {
  Vec3 colour{0.05F, 0.16F, 0.03F};       // of a mature leaf or needle
  Vec3 otherColour{0.10F, 0.22F, 0.03F};  // of the youngest or the most different one
  float otherShare = 0.3F;                // share that leans towards otherColour, 0 … 1
  float colourSpread = 0.15F;             // relative brightness spread between leaves
  float gloss = 0.3F;                     // 0 matt … 1 waxy
  float leafLengthMm = 28.0F;
  float leavesPerSite = 2.0F;
  float droop = 0.35F;  // how far leaves hang below horizontal, 0 … 1
  float needleLengthMm = 45.0F;
  float needleRadiusMm = 0.5F;
  float fasciclesPerTuft = 34.0F;
  float candleMm = 0.0F;      // length of this spring's shoots on pines; 0 shows buds
  float blossomShare = 0.0F;  // share of sites that carry a flower, 0 … 1
  std::uint64_t seed = 1;     // of the individual leaves: one per growing season
};

// State of one branch on one day. An empty name means every branch without an entry of its own.
struct BranchHealth {
  std::string branch;
  float cover = 1.0F;           // share of foliage still on the branch, 0 … 1
  float spotFraction = 0.0F;    // aimed-at share of leaf area with lesions, 0 … 0.5
  float blightFraction = 0.0F;  // share of needles dying back from the tip, 0 … 1
};

enum class InsectKind { ScaleInsect, Aphid };
enum class InsectPlace { TrunkFront, ShootTip };

struct InsectGroup {
  InsectKind kind = InsectKind::ScaleInsect;
  InsectPlace place = InsectPlace::TrunkFront;
  std::string branch;
  int count = 0;      // placed; fewer may be visible
  int kept = 0;       // of these, those still there: the first `kept` of a fixed shuffle
  float from = 0.2F;  // range along the trunk, 0 base … 1 apex (TrunkFront)
  float to = 0.5F;
  float sizeMm = 2.2F;  // typical body length
  std::uint64_t seed = 1;
};

struct PotLook {
  float halfWidthMm = 150.0F;
  float halfDepthMm = 105.0F;
  float heightMm = 70.0F;
  float squareness = 2.4F;  // exponent of the superellipse: 2 oval, 6 nearly rectangular
  Vec3 colour{0.12F, 0.06F, 0.04F};
  Vec3 flowColour{0.2F, 0.12F, 0.08F};
  float gloss = 0.2F;      // 0 unglazed … 1 glazed
  float mossShare = 0.5F;  // of the soil surface
  std::uint64_t seed = 1;
};

struct LightLook {
  float azimuthDeg = 130.0F;  // of the sun, as for branches
  float elevationDeg = 50.0F;
  Vec3 sun{3.0F, 2.8F, 2.4F};  // radiance factor; zero under cloud
  Vec3 sky{0.75F, 0.85F, 1.0F};
  float penumbraMm = 1.5F;  // softness of shadows on the tree
};

enum class BackdropKind { Hedge, Fence, Wall, Garden };

struct BackdropLook {
  BackdropKind kind = BackdropKind::Hedge;
  float brightness = 1.0F;
  float blurShare = 0.012F;  // blur radius as a share of the image width
  Vec3 tint{1.0F, 1.0F, 1.0F};
  Vec3 wood{0.16F, 0.11F, 0.075F};  // of the bench
  std::uint64_t seed = 1;           // of the place: the same on every photo of the tree
};

struct CameraLook {
  Vec3 eye{0.0F, 350.0F, 1200.0F};
  Vec3 target{0.0F, 320.0F, 0.0F};
  float rollDeg = 0.0F;
  float focalPx = 1600.0F;  // pinhole focal length in final pixels
  int widthPx = 1260;       // upright
  int heightPx = 1680;
  float planeZMm = 0.0F;    // the tree's main plane is z = planeZMm
  float defocusPx = 3.0F;   // blur radius far behind the focused plane
  float exposureEv = 0.0F;  // against the automatic exposure
  Vec3 whiteBalance{1.0F, 1.0F, 1.0F};
  float noise = 1.0F;      // 0 none … 1 a phone at low gain … 3 in the shade
  float vignette = 0.18F;  // relative loss in the corners
  std::uint64_t seed = 1;  // of the sensor noise
};

struct SceneDescription {
  TreeHabit tree;
  FoliageLook foliage;
  std::vector<BranchHealth> health;
  std::vector<InsectGroup> insects;
  PotLook pot;
  LightLook light;
  BackdropLook backdrop;
  CameraLook camera;
};

}  // namespace edamori::scenes
