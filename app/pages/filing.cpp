// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/filing.h"

#include "app/models/text.h"

#include <QObject>
#include <QStringList>
#include <algorithm>
#include <iterator>

namespace edamori::pages {

namespace {

// Places that the tree's branches were carried to, and that nobody has confirmed.
Result<void> dropCarried(store::Garden& garden, const store::PhotoId& photo) {
  const auto outlines = garden.outlines(photo);
  if (!outlines) {
    return outlines.error();
  }
  for (const store::OutlineRecord& outline : *outlines) {
    if (outline.carriedFrom && !outline.confirmed) {
      EDAMORI_RETURN_IF_ERROR(garden.remove(outline.id));
    }
  }
  return {};
}

// Proposals of the tree that a photo leaves are no use under the next one.
std::function<Result<void>(store::Garden&)> refiling(std::vector<store::Photo> photos) {
  return [photos = std::move(photos)](store::Garden& garden) {
    return garden.inTransaction([&]() -> Result<void> {
      for (const store::Photo& photo : photos) {
        EDAMORI_RETURN_IF_ERROR(dropCarried(garden, photo.id));
        EDAMORI_RETURN_IF_ERROR(garden.put(photo));
      }
      return {};
    });
  };
}

void sayCarried(const PageServices& services, const QString& said, const Result<work::CarriedTally>& tally) {
  if (!tally) {
    services.messages->sayError(tally.error());
    return;
  }
  const QString words = carriedWords(*tally);
  if (words.isEmpty()) {
    return;
  }
  services.session->announceChange();
  const QString all = QObject::tr("%1; %2").arg(said, words);
  // Something else may have been done in the meantime.
  if (!services.undo->isEmpty() && services.undo->latest() == said) {
    services.messages->offerUndo(all);
  } else {
    services.messages->say(all);
  }
}

}  // namespace

QString carriedWords(const work::CarriedTally& tally) {
  QStringList parts;
  if (tally.outlines > 0) {
    parts << QObject::tr("%1 carried over, to be confirmed on the Bench")
                 .arg(models::countWords(
                     tally.outlines, QObject::tr("outline"), QObject::tr("outlines")));
  }
  if (tally.photosWithoutAny > 0) {
    parts << QObject::tr("no branch was found again on %1: look whether it shows this tree")
                 .arg(models::countWords(
                     tally.photosWithoutAny, QObject::tr("photo"), QObject::tr("photos")));
  }
  return parts.join(QStringLiteral("; "));
}

void filePhotos(const PageServices& services,
                QObject* context,
                const std::vector<store::Photo>& before,
                const std::vector<store::Photo>& after,
                const QString& said) {
  if (!write(services, {}, refiling(after))) {
    return;
  }
  services.undo->push(said, refiling(before), refiling(after));
  services.messages->offerUndo(said);
  std::vector<store::PhotoId> photos;
  std::ranges::transform(after, std::back_inserter(photos), &store::Photo::id);
  services.jobs->start<work::CarriedTally>(
      context,
      [photos, folder = services.session->garden().folder()](
          const JobControl& control) -> Result<work::CarriedTally> {
        auto garden = store::Garden::open(folder);
        if (!garden) {
          return garden.error();
        }
        return work::carryOutlines(
            *garden, photos, [&control](int) { return !control.isCancelled(); });
      },
      [services, said](const Result<work::CarriedTally>& tally) {
        sayCarried(services, said, tally);
      });
}

}  // namespace edamori::pages
