// SPDX-License-Identifier: GPL-3.0-or-later
// From blocks to bytes: one self-contained HTML page, or an A4 PDF.
#pragma once

#include "app/letter/blocks_internal.h"

#include <QByteArray>

namespace edamori::letter {

// A complete page; text escaped, pictures as data: addresses, style within.
[[nodiscard]] QString toHtml(const Document& document);

// PDF bytes; empty when they could not be made. Needs a QGuiApplication.
[[nodiscard]] QByteArray toPdf(const Document& document);

}  // namespace edamori::letter
