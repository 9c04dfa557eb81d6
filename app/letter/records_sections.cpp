// SPDX-License-Identifier: GPL-3.0-or-later
// Sections on what was done and on where each figure comes from.
#include "app/letter/sections_internal.h"
#include "app/letter/wording_internal.h"

namespace edamori::letter {

namespace {

QString firstUpper(const QString& text) {
  return text.isEmpty() ? text : text.at(0).toUpper() + text.mid(1);
}

QString treatmentDetails(const store::Treatment& treatment) {
  QStringList lines;
  const auto add = [&lines](const char* name, const std::string& value) {
    if (!value.empty()) {
      lines << QString::fromLatin1(name) + QStringLiteral(": ") + toQt(value);
    }
  };
  add("Product", treatment.product);
  add("Registration number", treatment.registrationNumber);
  add("Total amount", treatment.amount);
  add("Dose", treatment.dose);
  add("Area treated", treatment.areaTreated);
  add("Place", treatment.place);
  if (treatment.reentryHours) {
    lines << QStringLiteral("Re-entry: %1 h, as entered from the label").arg(*treatment.reentryHours);
  } else if (treatment.kind == store::TreatmentKind::Spray) {
    lines << QStringLiteral("Re-entry: not recorded; see the product label");
  }
  add("Note", treatment.note);
  return lines.isEmpty() ? QStringLiteral("–") : lines.join(QLatin1Char('\n'));
}

QString recordState(const store::Treatment& treatment) {
  QStringList missing;
  for (const std::string& field : store::missingFields(treatment)) {
    missing << toQt(field);
  }
  return missing.isEmpty() ? QStringLiteral("complete")
                           : QStringLiteral("incomplete: ") + missing.join(QStringLiteral(", "));
}

QString doneBy(const store::Treatment& treatment) {
  QString text = treatment.who.empty() ? QStringLiteral("–") : toQt(treatment.who);
  if (!treatment.certificateNumber.empty()) {
    text += QStringLiteral("\ncertificate ") + toQt(treatment.certificateNumber);
  }
  return text;
}

// Without what only the grower at the program can do about it: paint hints, draw an outline.
QString ownersWords(const Caution& caution) {
  const QString text = toQt(caution.text);
  for (const auto* const advice : {"; paint ", "; draw "}) {
    if (const auto at = text.indexOf(QLatin1String(advice)); at > 0) {
      return text.left(at) + QLatin1Char('.');
    }
  }
  return text;
}

// What many figures share – a photo, a method, a caution – is written once, under a key that figures point to.
class KeyList {
 public:
  explicit KeyList(const char* prefix) : m_prefix(QString::fromLatin1(prefix)) {}

  // "C2"; adds texts that are new.
  QString keyOf(const QString& text) {
    qsizetype place = m_texts.indexOf(text);
    if (place < 0) {
      place = m_texts.size();
      m_texts << text;
    }
    return key(place);
  }
  // "C1  The photo is …", one line each.
  [[nodiscard]] QStringList lines() const {
    QStringList result;
    for (qsizetype i = 0; i < m_texts.size(); ++i) {
      result << key(i) + QStringLiteral(": ") + m_texts[i];
    }
    return result;
  }

 private:
  [[nodiscard]] QString key(qsizetype place) const { return m_prefix + QString::number(place + 1); }

  QString m_prefix;
  QStringList m_texts;
};

struct TraceKeys {
  KeyList photos{"P"}, methods{"M"}, cautions{"C"};

  QString photo(const std::string& name, const std::string& hash, const store::LocalTime& takenAt,
                store::DateSource source) {
    return photos.keyOf(photoReference(name, hash) + QStringLiteral(" · ") + shortPhotoDate(takenAt, source));
  }
  QString photosOf(const Matter& matter, const work::FigureRow& row) {
    const QString after = photo(row.photoName, row.photoHash, row.takenAt, row.dateSource);
    if (!row.measurement.baselinePhoto) {
      return after;
    }
    const store::Photo* before = matter.photo(*row.measurement.baselinePhoto);
    return after + QStringLiteral(" against ") +
           (before == nullptr ? QStringLiteral("a photo no longer in the garden")
                              : photo(before->originalName, before->sha256, before->takenAt, before->dateSource));
  }
  QString methodOf(const store::Measurement& made) {
    const QString day = made.madeAt.isKnown() ? QStringLiteral("measured on ") + toQt(store::dateText(made.madeAt))
                                              : QStringLiteral("day of measuring unknown");
    return methods.keyOf(toQt(made.method.name) + QStringLiteral(", version %1, ").arg(made.method.version) + day);
  }
  QString cautionsOf(const store::Measurement& made) {
    QStringList keys;
    for (const Caution& caution : made.cautions) {
      keys << cautions.keyOf(ownersWords(caution));
    }
    keys.removeDuplicates();
    return keys.isEmpty() ? QStringLiteral("–") : keys.join(QStringLiteral(", "));
  }
  [[nodiscard]] QString text() const {
    return (photos.lines() + methods.lines() + cautions.lines()).join(QLatin1Char('\n'));
  }
};

}  // namespace

Blocks treatmentSection(const Matter& matter) {
  Blocks blocks{Heading{QStringLiteral("What was done")}};
  if (matter.treatments.empty()) {
    blocks.emplace_back(Paragraph{QStringLiteral("No treatments are recorded for this period.")});
    return blocks;
  }
  Table table{{QStringLiteral("Date"), QStringLiteral("Work"), QStringLiteral("Where"), QStringLiteral("Details"),
               QStringLiteral("By"), QStringLiteral("Record")},
              {0.14, 0.11, 0.14, 0.28, 0.14, 0.19}, {}};
  bool anySpray = false;
  for (const store::Treatment* treatment : matter.treatments) {
    anySpray = anySpray || treatment->kind == store::TreatmentKind::Spray;
    const QString date = treatment->doneAt.isKnown() ? toQt(store::dateText(treatment->doneAt))
                                                     : QStringLiteral("unknown");
    table.rows.push_back({date, firstUpper(toQt(store::toText(treatment->kind))),
                          matter.branchName(treatment->branch, "whole tree"), treatmentDetails(*treatment),
                          doneBy(*treatment), recordState(*treatment)});
  }
  blocks.emplace_back(std::move(table));
  if (anySpray) {
    blocks.emplace_back(Paragraph{
        QStringLiteral("Sprays: the product label is the law. Re-entry times are those that the keeper entered "
                       "from the label; where none is given, the label decides. What a record lacks is named, "
                       "never filled in."),
        Paragraph::Kind::Note});
  }
  return blocks;
}

Blocks cautionSection(const Matter&) {
  return {
      Heading{QStringLiteral("Cautions")},
      Bullets{{
          QStringLiteral("Sprays: read and follow the product label; use only what is registered for this plant and "
                         "place, wear what the label names, and keep people and animals away until its re-entry time "
                         "has passed. Local rules come first; where they ask for a licensed applicator, leave it "
                         "to one."),
          QStringLiteral("Ladders: set them on firm, level ground, have somebody at the foot, keep three points of "
                         "contact, and stay clear of power lines. If a branch cannot be reached safely, leave it."),
          QStringLiteral("Blades: cut away from yourself, wear gloves and eye protection, and clean the blades "
                         "between trees so that nothing is carried over."),
          QStringLiteral("This letter describes what photos show and what was recorded. It does not replace the "
                         "advice of a licensed practitioner or of the plant health service where you live."),
      }}};
}

Blocks traceSection(const Matter& matter) {
  if (matter.figures.empty()) {
    return {};
  }
  Table table{{QStringLiteral("No."), QStringLiteral("Figure"), QStringLiteral("With 95\u00a0% interval"),
               QStringLiteral("Photo"), QStringLiteral("Outline"), QStringLiteral("Method"),
               QStringLiteral("Caution")},
              {0.05, 0.28, 0.25, 0.13, 0.10, 0.09, 0.10}, {}, Table::Density::Compact};
  TraceKeys keys;
  for (std::size_t i = 0; i < matter.figures.size(); ++i) {
    const work::FigureRow& row = *matter.figures[i];
    const store::Measurement& made = row.measurement;
    table.rows.push_back({QString::number(i + 1),
                          matter.branchName(made.branch, "whole photo") + QStringLiteral(": ") +
                              toQt(work::figureTitle(row.figure)).toLower(),
                          figureText(row), keys.photosOf(matter, row),
                          made.outline.isEmpty() ? QStringLiteral("whole photo") : shortId(made.outline.text),
                          keys.methodOf(made), keys.cautionsOf(made)});
  }
  return {Heading{QStringLiteral("Where each figure comes from")},
          Paragraph{QStringLiteral("Photos (P) are named with the start of their SHA-256 and their date, outlines by "
                                   "the last digits of their record’s id in the garden; M is the method, C a "
                                   "caution."),
                    Paragraph::Kind::Note},
          Paragraph{keys.text(), Paragraph::Kind::Note}, std::move(table)};
}

}  // namespace edamori::letter
