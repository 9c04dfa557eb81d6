// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/pair_proposals.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>

namespace edamori::work {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

// Photos named by one letter, so that a pair reads "a-b".
class PairProposals : public ::testing::Test {
 protected:
  enum class Branch { Outlined, NotOutlined };
  void photo(const std::string& name,
             const std::string& takenAt,
             Branch branch = Branch::Outlined,
             store::View view = store::View::Front) {
    store::Photo photo;
    photo.id = {name};
    photo.takenAt = *store::parseLocalTime(takenAt);
    photo.dateSource = store::DateSource::Camera;
    photo.view = view;
    material.photos.push_back(photo);
    if (branch == Branch::Outlined) {
      material.outlined.push_back(photo.id);
    }
  }
  void treatment(const std::string& doneAt, const store::BranchId& branch = {}) {
    store::Treatment treatment;
    treatment.doneAt = *store::parseLocalTime(doneAt);
    treatment.branch = branch;
    material.treatments.push_back(treatment);
  }
  [[nodiscard]] std::vector<std::string> proposed(int windowDays = 0) const {
    const std::map<PairReason, std::string> reasons{{PairReason::Treatment, "treatment"},
                                                    {PairReason::SameSeason, "season"},
                                                    {PairReason::RepeatPhoto, "repeat"}};
    std::vector<std::string> words;
    for (const PairProposal& pair : proposePairs(material, windowDays)) {
      words.push_back(pair.before.text + "-" + pair.after.text + " " + reasons.at(pair.reason) +
                      " " + std::to_string(pair.daysApart));
    }
    return words;
  }

  PairMaterial material{.branch = {"ours"}, .photos = {}, .outlined = {}, .treatments = {}};
};

TEST_F(PairProposals, TakeTheLastPhotoBeforeATreatmentAndTheFirstAfterIt) {
  photo("d", "2026-06-20T09:00:00", Branch::NotOutlined);
  photo("a", "2026-04-01T09:00:00");
  photo("b", "2026-04-25T09:00:00");
  photo("c", "2026-04-28T09:00:00", Branch::NotOutlined);
  treatment("2026-04-26");
  EXPECT_THAT(proposed(), ElementsAre("b-c treatment 3"));
}

TEST_F(PairProposals, StartWithTheLatestTreatment) {
  photo("a", "2026-04-01T09:00:00");
  photo("b", "2026-04-10T09:00:00");
  photo("c", "2026-05-10T09:00:00");
  treatment("2026-04-05");
  treatment("2026-05-01");
  EXPECT_THAT(proposed(), ElementsAre("b-c treatment 30", "a-b treatment 9"));
}

TEST_F(PairProposals, NeedAnOutlineOnTheEarlierPhotoAlone) {
  photo("a", "2026-04-01T09:00:00");
  photo("b", "2026-04-25T09:00:00", Branch::NotOutlined);
  photo("c", "2026-04-28T09:00:00", Branch::NotOutlined);
  treatment("2026-04-26");
  EXPECT_THAT(proposed(), ElementsAre("a-c treatment 27"));
}

TEST_F(PairProposals, PassOverTreatmentsOfOtherBranchesAndTakeThoseOfTheWholeTree) {
  photo("a", "2026-04-01T09:00:00");
  photo("b", "2026-04-28T09:00:00");
  treatment("2026-04-10", {"another"});
  EXPECT_THAT(proposed(), IsEmpty());
  treatment("2026-04-12", {"ours"});
  EXPECT_THAT(proposed(), ElementsAre("a-b treatment 27"));
}

TEST_F(PairProposals, TakeTheFirstAndTheLastPhotoOfTheDayOfATreatment) {
  photo("a", "2025-05-03T09:00:00");
  photo("b", "2025-05-03T16:00:00");
  treatment("2025-05-03");
  EXPECT_THAT(proposed(), ElementsAre("a-b treatment 0"));
}

TEST_F(PairProposals, TakeASinglePhotoOfTheDayAsTakenBefore) {
  photo("a", "2025-05-03T09:00:00");
  photo("b", "2025-05-20T16:00:00");
  treatment("2025-05-03");
  EXPECT_THAT(proposed(), ElementsAre("a-b treatment 17"));
}

TEST_F(PairProposals, FollowTheTimeOfDayWhenItIsKnown) {
  photo("a", "2025-05-02T09:00:00");
  photo("b", "2025-05-03T16:00:00");
  treatment("2025-05-03T10:00:00");
  EXPECT_THAT(proposed(), ElementsAre("a-b treatment 1"));
}

TEST_F(PairProposals, CompareOneSideOfTheTreeWithItself) {
  photo("a", "2026-04-01T09:00:00");
  photo("b", "2026-04-28T09:00:00", Branch::Outlined, store::View::Back);
  photo("c", "2026-04-29T09:00:00", Branch::Outlined, store::View::Unknown);
  treatment("2026-04-10");
  EXPECT_THAT(proposed(), ElementsAre("a-c treatment 28"));
}

TEST_F(PairProposals, FindTheSameSeasonOfOtherYears) {
  photo("a", "2024-04-20T09:00:00");
  photo("b", "2025-04-12T09:00:00");
  photo("c", "2026-04-14T09:00:00");
  EXPECT_THAT(proposed(21), ElementsAre("b-c season 367", "a-c season 724", "a-b season 357"));
  EXPECT_THAT(proposed(2), ElementsAre("b-c season 367"));
}

TEST_F(PairProposals, CallTwoPhotosOfOneDayARepeatUnlessItWasTreatedThen) {
  photo("a", "2025-05-24T09:00:00");
  photo("b", "2025-05-24T09:04:00");
  EXPECT_THAT(proposed(), ElementsAre("a-b repeat 0"));
  treatment("2025-05-24");
  EXPECT_THAT(proposed(), ElementsAre("a-b treatment 0"));
}

TEST_F(PairProposals, NameAPairOnceByItsFirstReason) {
  photo("a", "2025-04-12T09:00:00");
  photo("b", "2026-04-12T09:00:00");
  treatment("2025-06-01");
  EXPECT_THAT(proposed(21), ElementsAre("a-b treatment 365"));
}

TEST_F(PairProposals, PassOverDatesThatNobodyVouchesFor) {
  photo("a", "2025-04-12T09:00:00");
  photo("b", "2026-04-12T09:00:00");
  material.photos.back().dateSource = store::DateSource::FileTime;
  photo("c", "");
  EXPECT_THAT(proposed(21), IsEmpty());
}

}  // namespace
}  // namespace edamori::work
