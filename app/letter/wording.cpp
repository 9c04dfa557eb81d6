// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/wording_internal.h"

#include "store/trends/trends.h"

#include <QLocale>

namespace edamori::letter {

namespace {

constexpr QChar kFixedSpace(0x00A0);

}  // namespace

QString toQt(const std::string& text) { return QString::fromStdString(text); }

QString longDate(std::chrono::year_month_day date) {
  if (!date.ok()) {
    return QStringLiteral("date unknown");
  }
  return QString::number(static_cast<unsigned>(date.day())) + kFixedSpace +
         QLocale::c().monthName(static_cast<int>(static_cast<unsigned>(date.month()))) +
         kFixedSpace + QString::number(static_cast<int>(date.year()));
}

QString photoDate(const store::LocalTime& time, store::DateSource source) {
  const QString date = longDate(time.date);
  if (time.isKnown() && source == store::DateSource::FileTime) {
    return date + QStringLiteral(" (date uncertain: only the file’s time is known)");
  }
  return date;
}

QString shortPhotoDate(const store::LocalTime& time, store::DateSource source) {
  if (!time.isKnown()) {
    return QStringLiteral("unknown");
  }
  const QString date = toQt(store::dateText(time));
  return source == store::DateSource::FileTime ? date + QStringLiteral(" (uncertain)") : date;
}

QString figureText(const work::FigureRow& row) {
  QString text = toQt(work::figureText(row.figure, row.measurement.estimate));
  for (const char* const unit : {"%", "points"}) {
    text.replace(QLatin1Char(' ') + QLatin1String(unit), QString(kFixedSpace) + QLatin1String(unit));
  }
  return text;
}

QString countText(int count) {
  const auto interval = store::poissonInterval(count);
  if (!interval) {
    return QString::number(count) + QStringLiteral(" (no interval: not a count)");
  }
  const QString high = QString::number(interval->high, 'f', 1);
  if (count == 0) {
    return QStringLiteral("none seen (95\u00a0% upper bound\u00a0%1)").arg(high);
  }
  return QStringLiteral("%1 (95\u00a0% interval\u00a0%2–%3)")
      .arg(QString::number(count), QString::number(interval->low, 'f', 1), high);
}

QString briefCountText(int count) {
  return countText(count).remove(QStringLiteral("95\u00a0% interval\u00a0"));
}

QString listed(const QStringList& words) {
  if (words.size() < 2) {
    return words.join(QString());
  }
  return words.mid(0, words.size() - 1).join(QStringLiteral(", ")) + QStringLiteral(" and ") + words.last();
}

QString counted(int count, const QString& one, const QString& many) {
  return QString::number(count) + kFixedSpace + (count == 1 ? one : many);
}

QString shortHash(const std::string& sha256) { return toQt(sha256.substr(0, 8)); }

QString shortId(const std::string& id) { return toQt(id.size() > 8 ? id.substr(id.size() - 8) : id); }

QString photoReference(const std::string& name, const std::string& sha256) {
  QString text;
  for (const QChar letter : toQt(name)) {
    text += letter;
    if (letter == QLatin1Char('-') || letter == QLatin1Char('_')) {
      text += kMayBreak;
    }
  }
  return text + QStringLiteral(" · ") + shortHash(sha256);
}

QString verdictText(const work::FigureRow& row) {
  const std::string& stored = row.verdict.empty() ? row.measurement.verdict : row.verdict;
  if (!stored.empty()) {
    return toQt(stored);
  }
  const Estimate& estimate = row.measurement.estimate;
  const bool isLoss = row.figure != "spot-change";
  if (const std::string clear = work::clearSpotChange(estimate); !isLoss && !clear.empty()) {
    return toQt(clear);
  }
  if (estimate.low > 0.0) {
    return toQt(toText(Verdict::ClearLoss));
  }
  if (estimate.high < 0.0) {
    return toQt(toText(Verdict::ClearGain));
  }
  // Half as wide as a share can be: that rules out next to nothing. Chosen, no source; docs/figures.md.
  constexpr double kWidestUsefulSpotChange = 0.5;
  return toQt(toText(!isLoss && estimate.high - estimate.low > kWidestUsefulSpotChange ? Verdict::CannotTell
                                                                                     : Verdict::NoClearChange));
}

}  // namespace edamori::letter
