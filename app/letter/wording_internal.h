// SPDX-License-Identifier: GPL-3.0-or-later
// The letter's words for dates, figures and counts.
#pragma once

#include "app/work/overview.h"
#include "store/records/records.h"

#include <QString>
#include <QStringList>

#include <chrono>

namespace edamori::letter {

[[nodiscard]] QString toQt(const std::string& text);

// "12 April 2026"; "date unknown" when there is none.
[[nodiscard]] QString longDate(std::chrono::year_month_day date);
// "12 April 2026", with "(date uncertain: …)" when it is only the file's time.
[[nodiscard]] QString photoDate(const store::LocalTime& time, store::DateSource source);
// The same for a narrow column: "2026-04-12 (uncertain)".
[[nodiscard]] QString shortPhotoDate(const store::LocalTime& time, store::DateSource source);

// work::figureText with spaces that do not break.
[[nodiscard]] QString figureText(const work::FigureRow& row);
// "7 (95 % interval 2.8–14.4)"; "none seen (95 % upper bound 3.7)" for 0. The limits are the
// exact Poisson ones. Source: Garwood 1936, Biometrika 28:437.
[[nodiscard]] QString countText(int count);
// The same under a head that says what the interval is: "7 (2.8–14.4)".
[[nodiscard]] QString briefCountText(int count);

// "a", "a and b", "a, b and c".
[[nodiscard]] QString listed(const QStringList& words);
// "1 photo", "2 photos".
[[nodiscard]] QString counted(int count, const QString& one, const QString& many);

// First 8 hex digits of a hash; last 8 of a record id, whose first digits are its time.
[[nodiscard]] QString shortHash(const std::string& sha256);
[[nodiscard]] QString shortId(const std::string& id);
// "IMG_0412.jpg · 1a2b3c4d", with kMayBreak after each '-' and '_' of the name.
[[nodiscard]] QString photoReference(const std::string& name, const std::string& sha256);

// Zero-width space: a long name may go on in the next line here. Never set into a page itself.
inline constexpr QChar kMayBreak(0x200B);

// Verdicts on a change of the spotted share.
inline const QString kClearlyMoreSpotted = QString::fromLatin1(work::kClearlyMoreSpotted);
inline const QString kClearlyLessSpotted = QString::fromLatin1(work::kClearlyLessSpotted);

// The verdict as stored; where a change has none, the same words by its interval alone.
[[nodiscard]] QString verdictText(const work::FigureRow& row);

}  // namespace edamori::letter
