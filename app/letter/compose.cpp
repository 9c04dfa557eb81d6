// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/compose_internal.h"

#include "app/letter/sections_internal.h"
#include "app/letter/wording_internal.h"

#include <algorithm>
#include <optional>
#include <utility>

namespace edamori::letter {

namespace {

QString periodText(const Matter& matter) {
  const LetterRequest& request = matter.request;
  if (request.from && request.to) {
    return longDate(*request.from) + QStringLiteral(" to ") + longDate(*request.to);
  }
  if (request.from) {
    return QStringLiteral("from ") + longDate(*request.from);
  }
  return request.to ? QStringLiteral("up to ") + longDate(*request.to) : QStringLiteral("all that is recorded");
}

// Of the first and the last photo whose day is known.
std::optional<std::pair<std::chrono::year_month_day, std::chrono::year_month_day>> daysOfPhotos(
    const work::TreeDetail& detail) {
  std::optional<std::pair<std::chrono::year_month_day, std::chrono::year_month_day>> days;
  for (const store::Photo& photo : detail.photos) {
    if (photo.takenAt.isKnown()) {
      const auto day = photo.takenAt.date;
      days = days ? std::pair(std::min(days->first, day), std::max(days->second, day)) : std::pair(day, day);
    }
  }
  return days;
}

QString ownerText(const work::TreeDetail& detail) {
  if (!detail.owner) {
    return QStringLiteral("the keeper’s own");
  }
  QString text = toQt(detail.owner->name);
  if (!detail.owner->contact.empty()) {
    text += QLatin1Char('\n') + toQt(detail.owner->contact);
  }
  return text;
}

Facts factsOf(const Matter& matter, const QString& gardenName) {
  const store::Tree& tree = matter.detail->summary.tree;
  Facts facts;
  const auto add = [&facts](const char* name, const QString& value) {
    facts.lines.emplace_back(QString::fromLatin1(name), value.isEmpty() ? QStringLiteral("not recorded") : value);
  };
  add("Tree", toQt(tree.tag));
  add("Species", toQt(tree.species));
  if (!tree.cultivar.empty()) {
    add("Cultivar", toQt(tree.cultivar));
  }
  add("Place", toQt(tree.place));
  add("Owner", ownerText(*matter.detail));
  if (!gardenName.isEmpty()) {
    add("Garden", gardenName);
  }
  add("Date", longDate(matter.request.today));
  add("Period", periodText(matter));
  return facts;
}

QString subtitleOf(const store::Tree& tree) {
  QString text = toQt(tree.tag);
  if (!tree.species.empty()) {
    text += QStringLiteral(" · ") + toQt(tree.species);
  }
  // Cultivar epithets stand in single quotation marks (ICNCP, Art. 14, from memory).
  return tree.cultivar.empty() ? text : text + QStringLiteral(" ‘") + toQt(tree.cultivar) + QStringLiteral("’");
}

}  // namespace

Result<void> checkRequest(const LetterRequest& request) {
  if (!request.today.ok() || (request.from && !request.from->ok()) || (request.to && !request.to->ok())) {
    return fail(ErrorCode::InvalidArgument, "a date of the letter does not exist; give dates as YYYY-MM-DD");
  }
  if (request.from && request.to && *request.from > *request.to) {
    return fail(ErrorCode::InvalidArgument,
                "the letter's period begins on " + store::toText(*request.from) + ", after its end on " +
                    store::toText(*request.to) + "; swap the two dates");
  }
  return {};
}

Result<void> checkPeriod(const work::TreeDetail& detail, const LetterRequest& request) {
  const Matter matter = pickMatter(detail, request);
  const bool isEmpty = matter.photos.empty() && matter.treatments.empty() && matter.notes.empty();
  if (!isEmpty || (!request.from && !request.to)) {
    return {};
  }
  std::string message = "nothing is recorded of " + detail.summary.tree.tag;
  message += request.from ? " from " + store::toText(*request.from) : std::string();
  message += request.to ? " up to " + store::toText(*request.to) : std::string();
  message += "; choose other days";
  if (const auto days = daysOfPhotos(detail)) {
    message += ", its photos are of " + store::toText(days->first) + " to " + store::toText(days->second);
  }
  return fail(ErrorCode::NotFound, message);
}

Document compose(const work::TreeDetail& detail, const LetterRequest& request, const QString& gardenName,
                 const PictureSource& pictures) {
  const Matter matter = pickMatter(detail, request);
  const store::Tree& tree = detail.summary.tree;
  Document document;
  document.title = QStringLiteral("Condition report");
  document.subtitle = subtitleOf(tree);
  document.tag = toQt(tree.tag);
  document.dateLine = longDate(request.today);
  const auto append = [&document](Blocks blocks) {
    for (Block& block : blocks) {
      document.blocks.push_back(std::move(block));
    }
  };
  append({factsOf(matter, gardenName)});
  append(summarySection(matter));
  append(pictureSection(matter, pictures));
  append(figureSection(matter));
  append(pestSection(matter));
  append(chartSection(matter));
  append(treatmentSection(matter));
  append(recheckSection(matter));
  append(noteSection(matter));
  append(cautionSection(matter));
  append(traceSection(matter));
  return document;
}

}  // namespace edamori::letter
