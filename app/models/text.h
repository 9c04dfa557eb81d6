// SPDX-License-Identifier: GPL-3.0-or-later
// Records in words, and the ways between the text, date and path types of Qt and of the records.
#pragma once

#include "app/work/overview.h"
#include "store/records/records.h"

#include <QDate>
#include <QString>
#include <QStringList>
#include <chrono>
#include <filesystem>
#include <string>
#include <vector>

namespace edamori::models {

[[nodiscard]] QString qText(const std::string& text);    // UTF-8 → QString
[[nodiscard]] std::string stdText(const QString& text);  // QString → UTF-8
[[nodiscard]] QString pathText(const std::filesystem::path& path);
[[nodiscard]] std::filesystem::path pathOf(const QString& text);  // "~/" means the home folder

[[nodiscard]] QDate qDate(std::chrono::year_month_day date);  // invalid when not ok()
[[nodiscard]] std::chrono::year_month_day dateOf(const QDate& date);
[[nodiscard]] std::chrono::year_month_day today();

// "12 Apr 2026"; "date unknown" when it is.
[[nodiscard]] QString dateWords(std::chrono::year_month_day date);
// The same for a photo, with " (uncertain)" when it is only the file's time.
[[nodiscard]] QString photoDateWords(const store::LocalTime& takenAt, store::DateSource source);

// "Acer palmatum ‘Name’", or "Species not entered".
[[nodiscard]] QString speciesWords(const store::Tree& tree);
// "ED-02 Acer palmatum".
[[nodiscard]] QString treeWords(const store::Tree& tree);
// First letter in upper case, for stored words on the screen.
[[nodiscard]] QString capitalised(const QString& text);
[[nodiscard]] QString viewWords(store::View view);  // "Front", …; "View not entered"

// What is due, in words; the state decides the colour beside them.
enum class DueState { NonePlanned, Overdue, DueToday, Later };
struct DueWords {
  DueState state = DueState::NonePlanned;
  QString text;  // "Overdue by 3 days", "Due today", "Next check in 5 days", "No check planned"
};
[[nodiscard]] DueWords dueWords(const std::optional<store::Recheck>& next,
                                std::chrono::year_month_day today);

// At most `limit` lines for a card: for each figure the branch that needs a look most
// (least foliage, most spots, greatest loss), with its interval.
[[nodiscard]] QStringList cardFigures(const std::vector<work::FigureRow>& rows, int limit);

// "1 photo", "12 photos".
[[nodiscard]] QString countWords(int count, const QString& one, const QString& many);

// "4 live insects, counted": a count of marks that a person has set, not an estimate.
[[nodiscard]] QString pestWords(int livePests);

// The usual cautions for sprays; the product's label and local rules come first.
[[nodiscard]] QStringList sprayCautions();

}  // namespace edamori::models
