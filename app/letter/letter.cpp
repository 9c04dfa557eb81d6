// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/letter.h"

#include "app/letter/compose_internal.h"
#include "app/letter/pictures_internal.h"
#include "app/letter/render_internal.h"

#include <QFile>
#include <QGuiApplication>
#include <QSaveFile>

#include <algorithm>
#include <cassert>

namespace edamori::letter {

namespace {

Result<Document> documentOf(const store::Garden& garden, const LetterRequest& request) {
  EDAMORI_RETURN_IF_ERROR(checkRequest(request));
  const auto detail = work::treeDetail(garden, request.tree, request.today);
  if (!detail) {
    return detail.error();
  }
  EDAMORI_RETURN_IF_ERROR(checkPeriod(*detail, request));
  return compose(*detail, request, QString::fromStdString(garden.name()), picturesOf(garden));
}

// By way of a temporary file beside it, which takes its place only once it is complete.
Result<void> writeWhole(const std::filesystem::path& file, const QByteArray& bytes) {
  QSaveFile target(QFile::decodeName(file.c_str()));
  const bool isWritten = target.open(QIODevice::WriteOnly) && target.write(bytes) == bytes.size() && target.commit();
  if (!isWritten) {
    return fail(ErrorCode::Io, "cannot write the letter " + file.string() + ": " +
                                   target.errorString().toStdString() +
                                   "; nothing was changed there, choose another place or make room");
  }
  return {};
}

std::string endingOf(const std::filesystem::path& file) {
  std::string ending = file.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c); });
  return ending;
}

}  // namespace

Result<QString> composeHtml(const store::Garden& garden, const LetterRequest& request) {
  return documentOf(garden, request).transform([](const Document& document) { return toHtml(document); });
}

Result<void> writeLetter(const store::Garden& garden,
                         const LetterRequest& request,
                         const std::filesystem::path& file) {
  assert(qGuiApp != nullptr);
  const std::string ending = endingOf(file);
  if (ending != ".pdf" && ending != ".html") {
    return fail(ErrorCode::InvalidArgument,
                "a letter is written as .pdf or .html, not as \"" + file.filename().string() +
                    "\"; end the file's name in one of the two");
  }
  const auto document = documentOf(garden, request);
  if (!document) {
    return document.error();
  }
  const QByteArray bytes = ending == ".pdf" ? toPdf(*document) : toHtml(*document).toUtf8();
  if (bytes.isEmpty()) {
    return fail(ErrorCode::Io, "the letter " + file.string() + " could not be set as PDF; try .html");
  }
  return writeWhole(file, bytes);
}

}  // namespace edamori::letter
