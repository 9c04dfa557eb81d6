// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/sections_internal.h"
#include "app/letter/wording_internal.h"
#include "app/work/pest_change.h"

#include <algorithm>
#include <map>
#include <set>

namespace edamori::letter {

namespace {

QString photosSentence(const Matter& matter) {
  if (matter.photos.empty()) {
    return QStringLiteral("No photos of this tree fall into the period of this letter.");
  }
  std::set<std::chrono::sys_days> days;
  int uncertain = 0;
  for (const store::Photo* photo : matter.photos) {
    if (photo->takenAt.isKnown() && photo->dateSource != store::DateSource::FileTime) {
      days.insert(std::chrono::sys_days(photo->takenAt.date));
    } else {
      ++uncertain;
    }
  }
  const int count = static_cast<int>(matter.photos.size());
  QString text = QStringLiteral("This letter rests on ") +
                 counted(count, QStringLiteral("photo"), QStringLiteral("photos"));
  if (uncertain > 0 && uncertain < count) {
    text += QStringLiteral(", %1 of them").arg(count - uncertain);
  }
  if (days.size() == 1) {
    text += QStringLiteral(" of ") + longDate(*days.begin());
  } else if (days.size() > 1) {
    text += QStringLiteral(" taken on %1 days from ").arg(days.size()) + longDate(*days.begin()) +
            QStringLiteral(" to ") + longDate(*days.rbegin());
  }
  if (uncertain == 0) {
    return text + QLatin1Char('.');
  }
  return text + (uncertain == count ? QStringLiteral("; no date is certain.")
                 : uncertain == 1   ? QStringLiteral("; the date of the other one is uncertain.")
                                    : QStringLiteral("; the dates of the others are uncertain."));
}

// Of a figure's photo: "3 May 2025", "3 May 2025, date uncertain".
QString dayOf(const store::LocalTime& takenAt, store::DateSource source) {
  const bool isUncertain = takenAt.isKnown() && source == store::DateSource::FileTime;
  return longDate(takenAt.date) + (isUncertain ? QStringLiteral(", date uncertain") : QString());
}

QString withCaution(const work::FigureRow& row) {
  return figureText(row) +
         (row.measurement.cautions.empty() ? QString() : QStringLiteral(", with a caution,"));
}

// "Left 1: 12.0 % (8.1–16.0 %) from 3 May 2025 to 24 May 2025".
QString changeText(const Matter& matter, const work::FigureRow& row) {
  const QString text = matter.branchName(row.measurement.branch, "the whole photo") + QStringLiteral(": ") +
                       withCaution(row);
  const store::Photo* before = row.measurement.baselinePhoto ? matter.photo(*row.measurement.baselinePhoto) : nullptr;
  if (before == nullptr) {
    return text;
  }
  return text + QStringLiteral(" from ") + dayOf(before->takenAt, before->dateSource) + QStringLiteral(" to ") +
         dayOf(row.takenAt, row.dateSource);
}

// One sentence a verdict on the figure, in the order of `leads`.
QStringList changeSentences(const Matter& matter, const std::string& figure,
                            const std::vector<std::pair<QString, const char*>>& leads) {
  std::map<QString, QStringList> byVerdict;
  for (const LatestRow& one : latestFigures(matter, true)) {
    if (one.row->figure == figure) {
      byVerdict[verdictText(*one.row)] << changeText(matter, *one.row);
    }
  }
  QStringList sentences;
  for (const auto& [verdict, words] : leads) {
    const auto found = byVerdict.find(verdict);
    if (found != byVerdict.end()) {
      sentences << QString::fromLatin1(words) + found->second.join(QStringLiteral("; ")) + QLatin1Char('.');
    }
  }
  return sentences;
}

QStringList lossSentences(const Matter& matter) {
  return changeSentences(
      matter, "loss-by-cover",
      {{toQt(toText(Verdict::ClearLoss)), "There is a clear loss of foliage cover on "},
       {toQt(toText(Verdict::ClearGain)), "There is a clear gain of foliage cover (a negative loss) on "},
       {toQt(toText(Verdict::NoClearChange)), "There is no clear change in foliage cover, that is, none larger than "
                                              "what these photos can show, on "},
       {toQt(toText(Verdict::CannotTell)), "The photos cannot tell whether foliage cover changed on "}});
}

QStringList spotSentences(const Matter& matter) {
  return changeSentences(
      matter, "spot-change",
      {{kClearlyLessSpotted, "The foliage is clearly less spotted, by the change of its spotted share, on "},
       {kClearlyMoreSpotted, "The foliage is clearly more spotted, by the change of its spotted share, on "},
       {toQt(toText(Verdict::NoClearChange)), "There is no clear change in the spotted share on "},
       {toQt(toText(Verdict::CannotTell)), "The photos cannot tell whether the spotted share changed on "}});
}

// The branches at both ends of a figure: "… lies between 41.0 % (…) on Fork and 75.0 % (…) on Apex".
QString rangeSentence(const Matter& matter, const std::string& figure, const QString& name) {
  std::vector<const work::FigureRow*> rows;
  for (const LatestRow& latest : latestFigures(matter, false)) {
    if (latest.row->figure == figure) {
      rows.push_back(latest.row);
    }
  }
  if (rows.empty()) {
    return {};
  }
  const auto [least, most] = std::minmax_element(rows.begin(), rows.end(), [](auto* a, auto* b) {
    return a->measurement.estimate.value < b->measurement.estimate.value;
  });
  const auto on = [&](const work::FigureRow& row) {
    return withCaution(row) + QStringLiteral(" on ") +
           matter.branchName(row.measurement.branch, "the whole photo") + QStringLiteral(" (") +
           dayOf(row.takenAt, row.dateSource) + QLatin1Char(')');
  };
  if (rows.size() == 1) {
    return QStringLiteral("%1 was last measured as %2.").arg(name, on(**least));
  }
  return QStringLiteral("At the last measurements of each branch, %1 ranged from %2 to %3.")
      .arg(name.at(0).toLower() + name.mid(1), on(**least), on(**most));
}

QString pestSentence(const Matter& matter) {
  if (matter.pests.empty()) {
    return {};
  }
  const store::Photo* const latest = matter.pests.back().photo;
  std::map<store::Finding, int> live;
  for (const PestRow& row : matter.pests) {
    if (row.photo == latest && work::isInsect(row.count.finding)) {
      live[row.count.finding] += row.count.live;
    }
  }
  if (live.empty()) {
    return {};
  }
  QStringList parts;
  for (const auto& [finding, count] : live) {
    const QString name = finding == store::Finding::Aphids ? QStringLiteral("live aphids")
                                                           : QStringLiteral("live scale insects");
    parts << name + QStringLiteral(": ") + countText(count);
  }
  return QStringLiteral("On the last photo that was looked at for insects (") +
         photoDate(latest->takenAt, latest->dateSource) + QStringLiteral(") – ") +
         parts.join(QStringLiteral("; ")) + QLatin1Char('.');
}

// "Scale insects, live" → "Live scale insects".
QString liveName(const std::string& title) {
  const QString name = toQt(title).section(QStringLiteral(", "), 0, 0);
  return QStringLiteral("Live ") + name.at(0).toLower() + name.mid(1);
}

// What a removal or a treatment did to the insects, for every pair that was kept.
QStringList pestChangeSentences(const Matter& matter) {
  QStringList sentences;
  for (const store::PhotoPair& pair : matter.detail->pairs) {
    const store::Photo* const before = matter.photo(pair.before);
    const store::Photo* const after = matter.photo(pair.after);
    const bool isWithin = std::ranges::find(matter.photos, before) != matter.photos.end() &&
                          std::ranges::find(matter.photos, after) != matter.photos.end();
    if (!isWithin) {
      continue;
    }
    const QString from = longDate(before->takenAt.date);
    const QString to = longDate(after->takenAt.date);
    for (const work::PestChange& change :
         work::pestChanges(*matter.detail, {pair.branch, pair.before, pair.after})) {
      const QString counted = QStringLiteral("%1 on %2 went from %3")
                                  .arg(liveName(change.title), matter.branchName(pair.branch, "the whole tree"),
                                       countText(static_cast<int>(change.before.value)));
      const QString left = countText(static_cast<int>(change.after.value));
      sentences << (from == to ? QStringLiteral("%1 to %2 between two photos of %3.").arg(counted, left, from)
                               : QStringLiteral("%1 on %2 to %3 on %4.").arg(counted, from, left, to));
    }
  }
  return sentences;
}

QString workSentence(const Matter& matter) {
  const auto incomplete = std::count_if(matter.treatments.begin(), matter.treatments.end(),
                                        [](const auto* one) { return !store::missingFields(*one).empty(); });
  QString text = matter.treatments.empty()
                     ? QStringLiteral("No treatments are recorded for this period.")
                     : QStringLiteral("Recorded for this period: ") +
                           counted(static_cast<int>(matter.treatments.size()), QStringLiteral("treatment"),
                                   QStringLiteral("treatments")) +
                           (incomplete > 0 ? QStringLiteral(", of which %1 with an incomplete record.").arg(incomplete)
                                           : QStringLiteral("."));
  if (!matter.openRechecks.empty()) {
    const store::Recheck& next = *matter.openRechecks.front();
    const bool isOverdue = next.due < matter.request.today;
    text += (isOverdue ? QStringLiteral(" A check is overdue since ") : QStringLiteral(" The next check is due on ")) +
            longDate(next.due) + QStringLiteral(" (") +
            matter.branchName(next.branch, "the whole tree") +
            (next.reason.empty() ? QString() : QStringLiteral(": ") + toQt(next.reason)) +
            QStringLiteral(").");
  }
  return text;
}

QString flaggedSentence(const Matter& matter) {
  const auto flagged = std::count_if(matter.figures.begin(), matter.figures.end(), [](const auto* row) {
    return !row->measurement.cautions.empty();
  });
  if (flagged == 0) {
    return {};
  }
  return QStringLiteral("%1 of the %2 figures %3 a caution, named where each is traced back.")
      .arg(QString::number(flagged), QString::number(matter.figures.size()),
           flagged == 1 ? QStringLiteral("carries") : QStringLiteral("carry"));
}

}  // namespace

Blocks summarySection(const Matter& matter) {
  Blocks blocks{Heading{QStringLiteral("Summary")}, Paragraph{photosSentence(matter)}};
  // What changed is what an owner looks for: a line each.
  const QStringList changes = lossSentences(matter) + spotSentences(matter) + pestChangeSentences(matter);
  if (!changes.isEmpty()) {
    blocks.push_back(Bullets{changes});
  }
  const auto append = [&blocks](QStringList sentences) {
    sentences.removeAll(QString());
    if (!sentences.isEmpty()) {
      blocks.push_back(Paragraph{sentences.join(QLatin1Char(' '))});
    }
  };
  append({rangeSentence(matter, "foliage", QStringLiteral("Foliage cover")),
          rangeSentence(matter, "spot", QStringLiteral("The spotted or blighted share of the foliage")),
          pestSentence(matter)});
  append({workSentence(matter), flaggedSentence(matter)});
  return blocks;
}

}  // namespace edamori::letter
