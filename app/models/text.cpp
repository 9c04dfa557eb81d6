// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/models/text.h"

#include <QDir>
#include <QFile>
#include <QObject>
#include <algorithm>

namespace edamori::models {

QString qText(const std::string& text) { return QString::fromStdString(text); }

std::string stdText(const QString& text) { return text.toStdString(); }

QString pathText(const std::filesystem::path& path) {
  return QFile::decodeName(QByteArray::fromStdString(path.string()));
}

std::filesystem::path pathOf(const QString& text) {
  QString full = text.trimmed();
  if (full == QLatin1String("~") || full.startsWith(QLatin1String("~/"))) {
    full.replace(0, 1, QDir::homePath());
  }
  return {QFile::encodeName(full).toStdString()};
}

QDate qDate(std::chrono::year_month_day date) {
  if (!date.ok()) {
    return {};
  }
  return {static_cast<int>(date.year()),
          static_cast<int>(static_cast<unsigned>(date.month())),
          static_cast<int>(static_cast<unsigned>(date.day()))};
}

std::chrono::year_month_day dateOf(const QDate& date) {
  if (!date.isValid()) {
    return {};
  }
  return {std::chrono::year{date.year()},
          std::chrono::month{static_cast<unsigned>(date.month())},
          std::chrono::day{static_cast<unsigned>(date.day())}};
}

std::chrono::year_month_day today() { return store::now().date; }

QString dateWords(std::chrono::year_month_day date) {
  const QDate day = qDate(date);
  return day.isValid() ? day.toString(QStringLiteral("d MMM yyyy")) : QObject::tr("date unknown");
}

QString photoDateWords(const store::LocalTime& takenAt, store::DateSource source) {
  const QString words = dateWords(takenAt.date);
  return source == store::DateSource::FileTime ? QObject::tr("%1 (uncertain)").arg(words) : words;
}

QString speciesWords(const store::Tree& tree) {
  if (tree.species.empty() && tree.cultivar.empty()) {
    return QObject::tr("Species not entered");
  }
  const QString cultivar =
      tree.cultivar.empty() ? QString() : QObject::tr("‘%1’").arg(qText(tree.cultivar));
  return QStringList({qText(tree.species), cultivar}).join(QLatin1Char(' ')).trimmed();
}

QString treeWords(const store::Tree& tree) {
  return QStringLiteral("%1 %2").arg(qText(tree.tag), qText(tree.species)).trimmed();
}

QString capitalised(const QString& text) {
  return text.isEmpty() ? text : text.left(1).toUpper() + text.mid(1);
}

QString viewWords(store::View view) {
  return view == store::View::Unknown ? QObject::tr("View not entered")
                                      : capitalised(qText(store::toText(view)));
}

DueWords dueWords(const std::optional<store::Recheck>& next, std::chrono::year_month_day today) {
  if (!next || !next->due.ok()) {
    return {DueState::NonePlanned, QObject::tr("No check planned")};
  }
  const int days = store::daysBetween(today, next->due);
  if (days == 0) {
    return {DueState::DueToday, QObject::tr("Due today")};
  }
  const QString length = countWords(std::abs(days), QObject::tr("day"), QObject::tr("days"));
  if (days < 0) {
    return {DueState::Overdue, QObject::tr("Overdue by %1").arg(length)};
  }
  return {DueState::Later, QObject::tr("Next check in %1").arg(length)};
}

namespace {

// Foliage is worst where there is least of it, every other figure where there is most.
bool needsALookMore(const work::FigureRow& a, const work::FigureRow& b) {
  const double x = a.measurement.estimate.value;
  const double y = b.measurement.estimate.value;
  return a.figure == "foliage" ? x < y : x > y;
}

}  // namespace

QStringList cardFigures(const std::vector<work::FigureRow>& rows, int limit) {
  std::vector<const work::FigureRow*> worst;
  for (const work::FigureRow& row : rows) {
    const auto same = std::ranges::find_if(
        worst, [&row](const work::FigureRow* other) { return other->figure == row.figure; });
    if (same == worst.end()) {
      worst.push_back(&row);
    } else if (needsALookMore(row, **same)) {
      *same = &row;
    }
  }
  QStringList lines;
  for (const work::FigureRow* row : worst) {
    if (lines.size() == limit) {
      break;
    }
    const QString title = qText(work::figureTitle(row->figure));
    const QString what =
        row->branchName.empty() ? title : QObject::tr("%1, %2").arg(title, qText(row->branchName));
    // On a line of its own, so that an interval is never cut.
    const QString caution =
        row->measurement.cautions.empty() ? QString() : QObject::tr(", with caution");
    lines << what + QLatin1Char('\n') + qText(work::figureText(row->figure, row->measurement.estimate)) + caution;
  }
  return lines;
}

QString countWords(int count, const QString& one, const QString& many) {
  return QStringLiteral("%1 %2").arg(QString::number(count), count == 1 ? one : many);
}

QString pestWords(int livePests) {
  return QObject::tr("%1, counted")
      .arg(countWords(livePests, QObject::tr("live insect"), QObject::tr("live insects")));
}

QStringList sprayCautions() {
  return {
      QObject::tr("Read the product label first: it is the rule for dose, timing, protective "
                  "clothing and re-entry. What is entered here never replaces it."),
      QObject::tr(
          "Use only products that are permitted for this plant and place; where local rules "
          "ask for a certificate, leave spraying to a person who holds one."),
      QObject::tr("Wear the gloves, eye protection and clothing that the label asks for. Keep "
                  "children, other people and animals away until the label allows re-entry."),
      QObject::tr("Do not spray in wind, in strong sun or heat, on open flowers while bees fly, or "
                  "near water."),
      QObject::tr(
          "Mix no products unless their labels allow it; keep the rest in its own container, "
          "locked away."),
  };
}

}  // namespace edamori::models
