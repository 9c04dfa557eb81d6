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

// Many figures carry the same caution: each text is written once, and figures point to it.
class CautionList {
 public:
  // "\nCaution A, C", or "" without any; adds texts that are new.
  QString pointTo(const store::Measurement& measurement) {
    QStringList letters;
    for (const Caution& caution : measurement.cautions) {
      const QString text = toQt(caution.text);
      qsizetype place = m_texts.indexOf(text);
      if (place < 0) {
        place = m_texts.size();
        m_texts << text;
      }
      letters << letterOf(place);
    }
    letters.removeDuplicates();
    return letters.isEmpty() ? QString() : QStringLiteral("\nCaution ") + letters.join(QStringLiteral(", "));
  }
  [[nodiscard]] QStringList lines() const {
    QStringList result;
    for (qsizetype i = 0; i < m_texts.size(); ++i) {
      result << QStringLiteral("Caution ") + letterOf(i) + QStringLiteral(": ") + m_texts[i];
    }
    return result;
  }

 private:
  [[nodiscard]] static QString letterOf(qsizetype place) {
    constexpr int kLetters = 26;
    const QString letter{QChar(static_cast<char16_t>(u'A' + place % kLetters))};
    return place < kLetters ? letter : letter + QString::number(place / kLetters);
  }

  QStringList m_texts;
};

QString photoOf(const Matter& matter, const work::FigureRow& row) {
  QString text = photoReference(row.photoName, row.photoHash) + QLatin1Char('\n') +
                 shortPhotoDate(row.takenAt, row.dateSource);
  if (row.measurement.baselinePhoto) {
    const store::Photo* before = matter.photo(*row.measurement.baselinePhoto);
    text += before == nullptr
                ? QStringLiteral("\nagainst a photo that is no longer in the garden")
                : QStringLiteral("\nagainst ") + photoReference(before->originalName, before->sha256) +
                      QLatin1Char('\n') + shortPhotoDate(before->takenAt, before->dateSource);
  }
  return text;
}

QString madeOn(const store::Measurement& measurement) {
  return measurement.madeAt.isKnown() ? toQt(store::dateText(measurement.madeAt)) : QStringLiteral("unknown");
}

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
  Table table{{QStringLiteral("No."), QStringLiteral("Figure"), QStringLiteral("Photo · start of its SHA-256"),
               QStringLiteral("Outline"), QStringLiteral("Method"), QStringLiteral("Measured")},
              {0.05, 0.24, 0.32, 0.11, 0.14, 0.14}, {}};
  CautionList cautions;
  for (std::size_t i = 0; i < matter.figures.size(); ++i) {
    const work::FigureRow& row = *matter.figures[i];
    const store::Measurement& made = row.measurement;
    table.rows.push_back(
        {QString::number(i + 1),
         matter.branchName(made.branch, "whole photo") + QStringLiteral(": ") +
             toQt(work::figureTitle(row.figure)).toLower() + QLatin1Char('\n') + figureText(made.estimate) +
             cautions.pointTo(made),
         photoOf(matter, row),
         made.outline.isEmpty() ? QStringLiteral("whole photo") : shortId(made.outline.text),
         toQt(made.method.name) + QStringLiteral("\nversion %1").arg(made.method.version), madeOn(made)});
  }
  Blocks blocks{Heading{QStringLiteral("Where each figure comes from")},
                Paragraph{QStringLiteral("An outline is named by the last digits of its record’s id in the garden.")}};
  if (const QStringList lines = cautions.lines(); !lines.isEmpty()) {
    blocks.emplace_back(Bullets{lines});
  }
  blocks.emplace_back(std::move(table));
  return blocks;
}

}  // namespace edamori::letter
