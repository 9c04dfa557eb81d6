// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/work/import.h"

#include "app/work/photos.h"
#include "app/work/previews_internal.h"
#include "store/intake/metadata.h"
#include "store/intake/originals.h"

#include <algorithm>
#include <optional>

namespace edamori::work {
namespace {

struct DecodedFile {
  std::string format;
  int widthPx = 0;   // upright
  int heightPx = 0;  // upright
  RgbImage large;    // preview of kLargePreviewPx
};

std::string endingOf(const std::string& format) {
  if (format == "jpeg") {
    return "jpg";
  }
  return format == "tiff" ? "tif" : format;
}

// Decodes the whole stream (so that a file cut short is found out now, not at
// measuring time), but only at the size that the previews need.
Result<DecodedFile> decodeForPreview(std::span<const std::byte> bytes,
                                     const std::string& name,
                                     int exifOrientation) {
  auto header = vision::readHeader(bytes, name);
  if (!header) {
    return header.error();
  }
  const vision::LoadOptions options{
      .exifOrientation = exifOrientation,
      .reduceBy = reductionFor(std::max(header->widthPx, header->heightPx), kLargePreviewPx)};
  auto loaded = vision::decodePhoto(bytes, name, options);
  if (!loaded) {
    return loaded.error();
  }
  return DecodedFile{.format = header->format,
                     .widthPx = loaded->fullWidthPx,
                     .heightPx = loaded->fullHeightPx,
                     .large = vision::reducedToFit(loaded->image, kLargePreviewPx)};
}

store::Photo photoFrom(const std::filesystem::path& file,
                       const store::PhotoMetadata& metadata,
                       const DecodedFile& decoded,
                       const store::TreeId& tree) {
  store::Photo photo;
  photo.id = store::PhotoId::create();
  photo.tree = tree;
  photo.originalName = file.filename().string();
  photo.format = decoded.format;
  photo.widthPx = decoded.widthPx;
  photo.heightPx = decoded.heightPx;
  photo.exifOrientation = metadata.exifOrientation;
  photo.takenAt = metadata.takenAt;
  photo.dateSource = metadata.dateSource;
  photo.cameraMake = metadata.cameraMake;
  photo.cameraModel = metadata.cameraModel;
  photo.lens = metadata.lens;
  photo.focalLengthMm = metadata.focalLengthMm;
  photo.hasPosition = metadata.hasPosition;
  return photo;
}

struct FileOutcome {
  store::Photo photo;
  bool wasThere = false;
  bool isMended = false;
};

// A photo that is known already: filed under the tree now, if it had none, and its stored original
// made whole, if that was missing or damaged (`edamori check` advises to import it again).
Result<FileOutcome> fileKnownPhoto(store::Garden& garden,
                                   const std::filesystem::path& file,
                                   store::Photo photo,
                                   const store::TreeId& tree) {
  const auto original = store::storeOriginal(garden, file, endingOf(photo.format));
  if (!original) {
    return original.error();
  }
  if (photo.tree.isEmpty() && !tree.isEmpty()) {
    photo.tree = tree;
    EDAMORI_RETURN_IF_ERROR(garden.put(photo));
  }
  return FileOutcome{.photo = std::move(photo), .wasThere = true, .isMended = !original->wasThere};
}

Result<FileOutcome> importFile(store::Garden& garden,
                               const std::filesystem::path& file,
                               const store::TreeId& tree) {
  auto bytes = store::readFile(file);
  if (!bytes) {
    return bytes.error();
  }
  auto known = garden.findPhotoByHash(store::sha256Of(*bytes));
  if (!known) {
    return known.error();
  }
  if (known->has_value()) {
    return fileKnownPhoto(garden, file, **known, tree);
  }
  auto metadata = store::readMetadata(file);
  if (!metadata) {
    return metadata.error();
  }
  auto decoded = decodeForPreview(*bytes, file.string(), metadata->exifOrientation);
  if (!decoded) {
    return decoded.error();
  }
  auto original = store::storeOriginal(garden, file, endingOf(decoded->format));
  if (!original) {
    return original.error();
  }
  store::Photo photo = photoFrom(file, *metadata, *decoded, tree);
  photo.sha256 = original->sha256;
  photo.sizeBytes = original->sizeBytes;
  EDAMORI_RETURN_IF_ERROR(garden.put(photo));
  keepPreview(garden, photo, decoded->large, kLargePreviewPx);
  keepPreview(garden, photo, vision::reducedToFit(decoded->large, kSmallPreviewPx), kSmallPreviewPx);
  return FileOutcome{.photo = std::move(photo)};
}

// A bad photo is listed and passed over; a garden that cannot be written ends the import.
bool endsImport(ErrorCode code) {
  return code == ErrorCode::Io || code == ErrorCode::Storage || code == ErrorCode::Conflict;
}

Result<void> takeIn(store::Garden& garden,
                    const std::filesystem::path& file,
                    const store::TreeId& tree,
                    ImportReport& report) {
  auto outcome = importFile(garden, file, tree);
  if (!outcome) {
    if (endsImport(outcome.error().code)) {
      return outcome.error().withContext("importing " + file.filename().string());
    }
    report.refused.push_back(
        {.file = file, .reason = outcome.error().message, .code = outcome.error().code});
    return {};
  }
  auto& list = outcome->wasThere ? report.alreadyThere : report.takenIn;
  list.push_back({.file = file, .photo = std::move(outcome->photo), .isMended = outcome->isMended});
  return {};
}

// Outlines of earlier photos are proposed on the new ones. A pair that does not
// align simply gives no proposal.
void carryToNewPhotos(store::Garden& garden, const ImportListener& listener, ImportProgress progress,
                      ImportReport& report) {
  std::vector<store::PhotoId> filed;
  std::vector<std::filesystem::path> files;
  for (const ImportedPhoto& imported : report.takenIn) {
    if (!imported.photo.tree.isEmpty()) {
      filed.push_back(imported.photo.id);
      files.push_back(imported.file);
    }
  }
  const int before = progress.done;
  progress.total += static_cast<int>(filed.size());
  const auto carried = carryOutlines(garden, filed, [&](int done) {
    progress.done = before + done;
    progress.current = files[static_cast<std::size_t>(done)];
    report.cancelled = listener && !listener(progress);
    return !report.cancelled;
  });
  report.carried = carried ? *carried : CarriedTally{};  // the photos are taken in all the same
}

}  // namespace

Result<ImportReport> importPhotos(store::Garden& garden,
                                  const ImportRequest& request,
                                  const ImportListener& listener) {
  if (request.paths.empty()) {
    return fail(ErrorCode::InvalidArgument, "nothing to import; name a photo or a folder of photos");
  }
  store::FoundFiles found = store::findPhotoFiles(request.paths);
  ImportReport report;
  for (auto& [path, error] : found.refused) {
    report.refused.push_back({.file = path, .reason = error.message, .code = error.code});
  }
  ImportProgress progress{.done = 0, .total = static_cast<int>(found.files.size()), .current = {}};
  for (const std::filesystem::path& file : found.files) {
    progress.current = file;
    if (listener && !listener(progress)) {
      report.cancelled = true;
      return report;
    }
    EDAMORI_RETURN_IF_ERROR(takeIn(garden, file, request.tree, report));
    ++progress.done;
  }
  if (listener) {
    (void)listener(progress);
  }
  carryToNewPhotos(garden, listener, progress, report);
  return report;
}

std::string toText(const ImportReport& report) {
  std::string text = std::to_string(report.takenIn.size()) + " taken in, " +
                     std::to_string(report.alreadyThere.size()) + " already there, " +
                     std::to_string(report.refused.size()) + " refused";
  if (report.carried.outlines > 0) {
    text += ", " + std::to_string(report.carried.outlines) + " outlines carried over for you to confirm";
  }
  if (report.carried.photosWithoutAny > 0) {
    text += ", none of the tree's outlines found again on " + std::to_string(report.carried.photosWithoutAny) +
            " (look whether they show this tree)";
  }
  if (report.cancelled) {
    text += "; stopped before the end";
  }
  for (const ImportedPhoto& photo : report.alreadyThere) {
    text += "\nalready there: " + photo.file.string() +
            (photo.isMended ? " (its stored original was missing or damaged and is whole again)" : "");
  }
  for (const RefusedFile& refused : report.refused) {
    text += "\nrefused: " + refused.reason;
  }
  return text;
}

}  // namespace edamori::work
