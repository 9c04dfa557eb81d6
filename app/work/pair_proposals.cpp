// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/pair_proposals.h"

#include "store/trends/seasons.h"

#include <algorithm>
#include <chrono>

namespace edamori::work {
namespace {

using store::Photo;

// Photos with a date to rely on, oldest first, with what is known of the branch on them.
struct Shot {
  Photo photo;
  bool isOutlined = false;
};

std::vector<Shot> shotsOf(const PairMaterial& material) {
  std::vector<Shot> shots;
  for (const Photo& photo : material.photos) {
    if (photo.takenAt.isKnown() && photo.dateSource != store::DateSource::FileTime) {
      const bool isOutlined = std::ranges::find(material.outlined, photo.id) != material.outlined.end();
      shots.push_back({.photo = photo, .isOutlined = isOutlined});
    }
  }
  std::ranges::stable_sort(shots, [](const Shot& a, const Shot& b) {
    return store::isEarlier(a.photo.takenAt, b.photo.takenAt);
  });
  return shots;
}

bool showSameSide(const Photo& a, const Photo& b) {
  return a.view == b.view || a.view == store::View::Unknown || b.view == store::View::Unknown;
}

bool hasTimeOfDay(const store::LocalTime& time) {
  return time.timeOfDay.count() != 0 || time.offsetMinutes.has_value();
}

enum class Side { Before, After, Unclear };

// Where a photo lies to a treatment; Unclear on its day, when one of the two has no time.
Side sideOf(const store::LocalTime& photo, const store::LocalTime& treatment) {
  if (photo.date != treatment.date) {
    return photo.date < treatment.date ? Side::Before : Side::After;
  }
  if (!hasTimeOfDay(photo) || !hasTimeOfDay(treatment)) {
    return Side::Unclear;
  }
  return store::isEarlier(treatment, photo) ? Side::After : Side::Before;
}

PairProposal proposalOf(PairReason reason, const Photo& before, const Photo& after) {
  return {.reason = reason,
          .before = before.id,
          .after = after.id,
          .daysApart = store::daysBetween(before.takenAt.date, after.takenAt.date),
          .seasonDistanceDays = 0,
          .treatment = {}};
}

// Of several photos of the day itself the last is taken to be after the treatment.
std::vector<Side> sidesOf(const std::vector<Shot>& shots, const store::LocalTime& treatment) {
  std::vector<Side> sides;
  std::vector<std::size_t> unclear;
  for (std::size_t i = 0; i < shots.size(); ++i) {
    sides.push_back(sideOf(shots[i].photo.takenAt, treatment));
    if (sides.back() == Side::Unclear) {
      unclear.push_back(i);
    }
  }
  for (const std::size_t at : unclear) {
    sides[at] = unclear.size() > 1 && at == unclear.back() ? Side::After : Side::Before;
  }
  return sides;
}

std::optional<PairProposal> aroundTreatment(const std::vector<Shot>& shots,
                                            const store::Treatment& treatment) {
  const std::vector<Side> sides = sidesOf(shots, treatment.doneAt);
  for (std::size_t i = shots.size(); i-- > 0;) {
    if (sides[i] != Side::Before || !shots[i].isOutlined) {
      continue;
    }
    for (std::size_t j = 0; j < shots.size(); ++j) {
      if (sides[j] == Side::After && showSameSide(shots[i].photo, shots[j].photo)) {
        PairProposal proposal = proposalOf(PairReason::Treatment, shots[i].photo, shots[j].photo);
        proposal.treatment = treatment;
        return proposal;
      }
    }
  }
  return std::nullopt;
}

bool isOfBranch(const store::Treatment& treatment, const store::BranchId& branch) {
  return treatment.branch.isEmpty() || treatment.branch == branch;
}

std::vector<PairProposal> treatmentPairs(const PairMaterial& material,
                                         const std::vector<Shot>& shots) {
  std::vector<store::Treatment> treatments;
  std::ranges::copy_if(material.treatments, std::back_inserter(treatments), [&](const auto& one) {
    return one.doneAt.isKnown() && isOfBranch(one, material.branch);
  });
  std::ranges::stable_sort(treatments, [](const store::Treatment& a, const store::Treatment& b) {
    return store::isEarlier(b.doneAt, a.doneAt);
  });
  std::vector<PairProposal> pairs;
  for (const store::Treatment& treatment : treatments) {
    if (auto pair = aroundTreatment(shots, treatment)) {
      pairs.push_back(std::move(*pair));
    }
  }
  return pairs;
}

std::vector<PairProposal> seasonPairs(const std::vector<Shot>& outlined, int windowDays) {
  std::vector<std::chrono::year_month_day> dates;
  for (const Shot& shot : outlined) {
    dates.push_back(shot.photo.takenAt.date);
  }
  std::vector<PairProposal> pairs;
  for (const store::SeasonPair& pair : store::sameSeasonPairs(dates, windowDays)) {
    const Photo& before = outlined[pair.earlier].photo;
    const Photo& after = outlined[pair.later].photo;
    if (showSameSide(before, after)) {
      pairs.push_back(proposalOf(PairReason::SameSeason, before, after));
      pairs.back().seasonDistanceDays = pair.distanceDays;
    }
  }
  return pairs;
}

std::vector<PairProposal> repeatPairs(const PairMaterial& material,
                                      const std::vector<Shot>& outlined) {
  std::vector<PairProposal> pairs;
  for (std::size_t i = outlined.size(); i-- > 1;) {
    const Photo& before = outlined[i - 1].photo;
    const Photo& after = outlined[i].photo;
    const bool isTreated = std::ranges::any_of(material.treatments, [&](const auto& treatment) {
      return treatment.doneAt.date == after.takenAt.date && isOfBranch(treatment, material.branch);
    });
    if (before.takenAt.date == after.takenAt.date && !isTreated && showSameSide(before, after)) {
      pairs.push_back(proposalOf(PairReason::RepeatPhoto, before, after));
    }
  }
  return pairs;
}

}  // namespace

std::vector<PairProposal> proposePairs(const PairMaterial& material, int seasonWindowDays) {
  const std::vector<Shot> shots = shotsOf(material);
  std::vector<Shot> outlined;
  std::ranges::copy_if(shots, std::back_inserter(outlined), &Shot::isOutlined);
  std::vector<PairProposal> all;
  for (const auto& some : {treatmentPairs(material, shots),
                           seasonPairs(outlined, seasonWindowDays),
                           repeatPairs(material, outlined)}) {
    for (const PairProposal& proposal : some) {
      const bool isThere = std::ranges::any_of(all, [&proposal](const PairProposal& other) {
        return other.before == proposal.before && other.after == proposal.after;
      });
      if (!isThere) {
        all.push_back(proposal);
      }
    }
  }
  return all;
}

}  // namespace edamori::work
