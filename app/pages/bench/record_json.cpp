// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/record_json.h"

#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QLatin1String>
#include <stdexcept>
#include <utility>

namespace edamori::pages {

namespace {

// Thrown for text that was not written here, caught in stepFromJson().
struct BadStep : std::runtime_error {
  using std::runtime_error::runtime_error;
};

QString text(const std::string& value) { return QString::fromStdString(value); }
std::string text(const QJsonValue& value) { return value.toString().toStdString(); }

template <typename Value>
Value need(Result<Value> value) {
  if (!value) {
    throw BadStep(value.error().message);
  }
  return *std::move(value);
}

QJsonArray json(PointPx point) { return {point.x, point.y}; }
QJsonArray json(const Polygon& polygon) {
  QJsonArray points;
  for (const auto& point : polygon) {
    points << json(point);
  }
  return points;
}

PointPx pointOf(const QJsonValue& value) {
  const auto pair = value.toArray();
  if (pair.size() != 2 || !pair[0].isDouble() || !pair[1].isDouble()) {
    throw BadStep("a point is no pair of numbers");
  }
  return {.x = pair[0].toDouble(), .y = pair[1].toDouble()};
}

Polygon polygonOf(const QJsonValue& value) {
  Polygon polygon;
  for (const auto& point : value.toArray()) {
    polygon.push_back(pointOf(point));
  }
  return polygon;
}

QJsonObject json(const store::Branch& branch) {
  return {{QStringLiteral("id"), text(branch.id.text)},
          {QStringLiteral("tree"), text(branch.tree.text)},
          {QStringLiteral("kind"), text(toText(branch.kind))},
          {QStringLiteral("name"), text(branch.name)},
          {QStringLiteral("order"), branch.order}};
}

void read(const QJsonObject& object, store::Branch& branch) {
  branch.id.text = text(object[QStringLiteral("id")]);
  branch.tree.text = text(object[QStringLiteral("tree")]);
  branch.kind = need(store::parseBranchKind(text(object[QStringLiteral("kind")])));
  branch.name = text(object[QStringLiteral("name")]);
  branch.order = object[QStringLiteral("order")].toInt();
}

QJsonObject json(const store::OutlineRecord& outline) {
  QJsonArray holes;
  for (const auto& hole : outline.shape.holes) {
    holes << json(hole);
  }
  QJsonObject object{{QStringLiteral("id"), text(outline.id.text)},
                     {QStringLiteral("photo"), text(outline.photo.text)},
                     {QStringLiteral("branch"), text(outline.branch.text)},
                     {QStringLiteral("polygon"), json(outline.shape.polygon)},
                     {QStringLiteral("holes"), holes},
                     {QStringLiteral("confirmed"), outline.confirmed}};
  if (outline.carriedFrom) {
    object[QStringLiteral("carriedFrom")] = text(outline.carriedFrom->text);
  }
  if (outline.residualPx) {
    object[QStringLiteral("residualPx")] = *outline.residualPx;
  }
  return object;
}

void read(const QJsonObject& object, store::OutlineRecord& outline) {
  outline.id.text = text(object[QStringLiteral("id")]);
  outline.photo.text = text(object[QStringLiteral("photo")]);
  outline.branch.text = text(object[QStringLiteral("branch")]);
  outline.shape.polygon = polygonOf(object[QStringLiteral("polygon")]);
  for (const auto& hole : object[QStringLiteral("holes")].toArray()) {
    outline.shape.holes.push_back(polygonOf(hole));
  }
  outline.confirmed = object[QStringLiteral("confirmed")].toBool();
  if (object.contains(QStringLiteral("carriedFrom"))) {
    outline.carriedFrom = store::PhotoId{text(object[QStringLiteral("carriedFrom")])};
  }
  if (object.contains(QStringLiteral("residualPx"))) {
    outline.residualPx = object[QStringLiteral("residualPx")].toDouble();
  }
}

QJsonObject json(const store::Mark& mark) {
  return {{QStringLiteral("id"), text(mark.id.text)},
          {QStringLiteral("photo"), text(mark.photo.text)},
          {QStringLiteral("branch"), text(mark.branch.text)},
          {QStringLiteral("finding"), text(toText(mark.finding))},
          {QStringLiteral("kind"), text(toText(mark.kind))},
          {QStringLiteral("stage"), text(toText(mark.stage))},
          {QStringLiteral("count"), mark.count},
          {QStringLiteral("centre"), json(mark.centre)},
          {QStringLiteral("radiusPx"), mark.radiusPx},
          {QStringLiteral("patch"), json(mark.patch)},
          {QStringLiteral("note"), text(mark.note)}};
}

void read(const QJsonObject& object, store::Mark& mark) {
  mark.id.text = text(object[QStringLiteral("id")]);
  mark.photo.text = text(object[QStringLiteral("photo")]);
  mark.branch.text = text(object[QStringLiteral("branch")]);
  mark.finding = need(store::parseFinding(text(object[QStringLiteral("finding")])));
  mark.kind = need(store::parseMarkKind(text(object[QStringLiteral("kind")])));
  mark.stage = need(store::parseStage(text(object[QStringLiteral("stage")])));
  mark.count = object[QStringLiteral("count")].toInt();
  mark.centre = pointOf(object[QStringLiteral("centre")]);
  mark.radiusPx = object[QStringLiteral("radiusPx")].toDouble();
  mark.patch = polygonOf(object[QStringLiteral("patch")]);
  mark.note = text(object[QStringLiteral("note")]);
}

QJsonObject json(const store::Ruler& ruler) {
  return {{QStringLiteral("id"), text(ruler.id.text)},
          {QStringLiteral("photo"), text(ruler.photo.text)},
          {QStringLiteral("from"), json(ruler.from)},
          {QStringLiteral("to"), json(ruler.to)},
          {QStringLiteral("lengthMm"), ruler.lengthMm},
          {QStringLiteral("clickPx"), ruler.clickPx}};
}

void read(const QJsonObject& object, store::Ruler& ruler) {
  ruler.id.text = text(object[QStringLiteral("id")]);
  ruler.photo.text = text(object[QStringLiteral("photo")]);
  ruler.from = pointOf(object[QStringLiteral("from")]);
  ruler.to = pointOf(object[QStringLiteral("to")]);
  ruler.lengthMm = object[QStringLiteral("lengthMm")].toDouble();
  ruler.clickPx = object[QStringLiteral("clickPx")].toDouble();
}

QJsonObject json(const store::HintStroke& stroke) {
  return {{QStringLiteral("id"), text(stroke.id.text)},
          {QStringLiteral("photo"), text(stroke.photo.text)},
          {QStringLiteral("kind"), text(toText(stroke.kind))},
          {QStringLiteral("radiusPx"), stroke.radiusPx},
          {QStringLiteral("points"), json(stroke.points)}};
}

void read(const QJsonObject& object, store::HintStroke& stroke) {
  stroke.id.text = text(object[QStringLiteral("id")]);
  stroke.photo.text = text(object[QStringLiteral("photo")]);
  stroke.kind = need(store::parseHintKind(text(object[QStringLiteral("kind")])));
  stroke.radiusPx = object[QStringLiteral("radiusPx")].toDouble();
  stroke.points = polygonOf(object[QStringLiteral("points")]);
}

QJsonObject json(const store::RejectedCandidate& candidate) {
  return {{QStringLiteral("id"), text(candidate.id.text)},
          {QStringLiteral("photo"), text(candidate.photo.text)},
          {QStringLiteral("finding"), text(toText(candidate.finding))},
          {QStringLiteral("centre"), json(candidate.centre)},
          {QStringLiteral("radiusPx"), candidate.radiusPx}};
}

void read(const QJsonObject& object, store::RejectedCandidate& candidate) {
  candidate.id.text = text(object[QStringLiteral("id")]);
  candidate.photo.text = text(object[QStringLiteral("photo")]);
  candidate.finding = need(store::parseFinding(text(object[QStringLiteral("finding")])));
  candidate.centre = pointOf(object[QStringLiteral("centre")]);
  candidate.radiusPx = object[QStringLiteral("radiusPx")].toDouble();
}

template <typename Record>
void writeChanges(const std::vector<Change<Record>>& changes,
                  const QString& name,
                  QJsonObject& object) {
  if (changes.empty()) {
    return;
  }
  QJsonArray array;
  for (const auto& change : changes) {
    QJsonObject both;
    if (change.before) {
      both[QStringLiteral("before")] = json(*change.before);
    }
    if (change.after) {
      both[QStringLiteral("after")] = json(*change.after);
    }
    array << both;
  }
  object[name] = array;
}

template <typename Record>
void readChanges(const QJsonObject& object,
                 const QString& name,
                 std::vector<Change<Record>>& changes) {
  for (const auto& each : object[name].toArray()) {
    const auto both = each.toObject();
    Change<Record> change;
    if (both.contains(QStringLiteral("before"))) {
      read(both[QStringLiteral("before")].toObject(), change.before.emplace());
    }
    if (both.contains(QStringLiteral("after"))) {
      read(both[QStringLiteral("after")].toObject(), change.after.emplace());
    }
    if (!change.before && !change.after) {
      throw BadStep("a change without records");
    }
    changes.push_back(std::move(change));
  }
}

QJsonArray json(const std::vector<store::MeasurementId>& ids) {
  QJsonArray array;
  for (const auto& id : ids) {
    array << text(id.text);
  }
  return array;
}

std::vector<store::MeasurementId> idsOf(const QJsonValue& value) {
  std::vector<store::MeasurementId> ids;
  for (const auto& id : value.toArray()) {
    ids.push_back({text(id)});
  }
  return ids;
}

}  // namespace

std::string toJson(const KeptStep& step) {
  QJsonObject object;
  const auto& changes = step.changes;
  writeChanges(changes.branches, QStringLiteral("branches"), object);
  writeChanges(changes.outlines, QStringLiteral("outlines"), object);
  writeChanges(changes.marks, QStringLiteral("marks"), object);
  writeChanges(changes.rulers, QStringLiteral("rulers"), object);
  writeChanges(changes.hints, QStringLiteral("hints"), object);
  writeChanges(changes.rejected, QStringLiteral("rejected"), object);
  if (!step.outdatedByRedo.empty()) {
    object[QStringLiteral("outdatedByRedo")] = json(step.outdatedByRedo);
  }
  if (!step.outdatedByUndo.empty()) {
    object[QStringLiteral("outdatedByUndo")] = json(step.outdatedByUndo);
  }
  return QJsonDocument(object).toJson(QJsonDocument::Compact).toStdString();
}

Result<KeptStep> stepFromJson(const std::string& written) {
  QJsonParseError error;
  const auto document = QJsonDocument::fromJson(QByteArray::fromStdString(written), &error);
  if (!document.isObject()) {
    return fail(ErrorCode::Storage, "a kept step of work is damaged; it cannot be taken back");
  }
  const auto object = document.object();
  KeptStep step;
  try {
    readChanges(object, QStringLiteral("branches"), step.changes.branches);
    readChanges(object, QStringLiteral("outlines"), step.changes.outlines);
    readChanges(object, QStringLiteral("marks"), step.changes.marks);
    readChanges(object, QStringLiteral("rulers"), step.changes.rulers);
    readChanges(object, QStringLiteral("hints"), step.changes.hints);
    readChanges(object, QStringLiteral("rejected"), step.changes.rejected);
  } catch (const BadStep&) {
    return fail(ErrorCode::Storage, "a kept step of work is damaged; it cannot be taken back");
  }
  step.outdatedByRedo = idsOf(object[QStringLiteral("outdatedByRedo")]);
  step.outdatedByUndo = idsOf(object[QStringLiteral("outdatedByUndo")]);
  return step;
}

}  // namespace edamori::pages
