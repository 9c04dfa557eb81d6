// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/before_after/save_pair_dialog.h"

#include "app/look/theme.h"
#include "app/models/text.h"

#include <QComboBox>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPainter>
#include <QPushButton>
#include <QSaveFile>
#include <algorithm>

namespace edamori::pages {

using models::pathText;

namespace {

constexpr int kGreatestHeightPx = 1600;
constexpr int kMarginPx = 24;
constexpr int kJpegQuality = 92;

QByteArray formatOf(const std::filesystem::path& file) {
  const QString ending = pathText(file.extension()).toLower();
  if (ending == QLatin1String(".png")) {
    return "PNG";
  }
  return ending == QLatin1String(".jpg") || ending == QLatin1String(".jpeg") ? "JPEG" : QByteArray();
}

}  // namespace

QImage besideEachOther(const PairHalf& before, const PairHalf& after, const QString& title) {
  if (before.image.isNull() || after.image.isNull()) {
    return {};
  }
  const int height =
      std::min({before.image.height(), after.image.height(), kGreatestHeightPx});
  const QImage left = before.image.scaledToHeight(height, Qt::SmoothTransformation);
  const QImage right = after.image.scaledToHeight(height, Qt::SmoothTransformation);
  QFont words = look::font(look::TextSize::Body);
  words.setPixelSize(std::max(14, height / 28));
  QFont heading = words;
  heading.setBold(true);
  const int linePx = QFontMetrics(words).height();
  const int top = kMarginPx + linePx + kMarginPx / 2;
  QImage all(left.width() + right.width() + 3 * kMarginPx,
             top + height + kMarginPx / 2 + linePx + kMarginPx,
             QImage::Format_RGB32);
  all.fill(Qt::white);
  QPainter painter(&all);
  painter.setPen(Qt::black);
  painter.setFont(heading);
  const int titleWidth = all.width() - 2 * kMarginPx;
  painter.drawText(QRect(kMarginPx, kMarginPx, titleWidth, linePx),
                   Qt::AlignLeft,
                   QFontMetrics(heading).elidedText(title, Qt::ElideRight, titleWidth));
  painter.setFont(words);
  int x = kMarginPx;
  for (const auto& [image, caption] : {std::pair{left, before.caption}, {right, after.caption}}) {
    painter.drawImage(x, top, image);
    painter.drawText(QRect(x, top + height + kMarginPx / 2, image.width(), linePx),
                     Qt::AlignLeft,
                     QFontMetrics(words).elidedText(caption, Qt::ElideRight, image.width()));
    x += image.width() + kMarginPx;
  }
  return all;
}

Result<void> writePicture(const QImage& picture, const std::filesystem::path& file) {
  const QByteArray format = formatOf(file);
  if (format.isEmpty()) {
    return fail(ErrorCode::InvalidArgument,
                file.string() + ": give the picture a name that ends in .png or .jpg");
  }
  QSaveFile out(pathText(file));
  if (!out.open(QIODevice::WriteOnly) ||
      !picture.save(&out, format.constData(), format == "JPEG" ? kJpegQuality : -1) ||
      !out.commit()) {
    return fail(ErrorCode::Io,
                file.string() + ": the picture could not be written (" +
                    out.errorString().toStdString() + "); choose another folder");
  }
  return {};
}

SavePairDialog::SavePairDialog(QImage both,
                               QImage asSeen,
                               const std::filesystem::path& proposed,
                               QWidget* parent)
    : FormDialog(tr("Save a picture of the pair"), tr("&Save"), parent),
      m_both(std::move(both)),
      m_asSeen(std::move(asSeen)),
      m_what(choice(QStringLiteral("savePairWhat"))),
      m_file(new PathField(PathField::Kind::NewFile, QStringLiteral("savePairFile"))) {
  setObjectName(QStringLiteral("savePairDialog"));
  setMinimumWidth(dialogWidth(620));
  m_what->addItem(tr("Both photos beside each other, with their dates"));
  if (!m_asSeen.isNull()) {
    m_what->addItem(tr("What is seen now"));
  }
  m_file->setPath(proposed);
  m_file->setNameFilter(tr("Pictures (*.png *.jpg *.jpeg)"));
  addField(form(), tr("&Picture:"), m_what);
  addField(form(), tr("&File:"), m_file);
  form()->addRow(QString(),
                 label(tr("A name that ends in .png keeps every pixel; one that ends in .jpg gives "
                          "a smaller file. Where the photos were taken is not written into it."),
                       QStringLiteral("quiet")));
  connect(m_file->edit(), &QLineEdit::textChanged, this, [this] {
    m_mayReplace = false;
    primaryButton()->setText(tr("&Save"));
  });
}

QString SavePairDialog::problem() {
  if (m_file->edit()->text().trimmed().isEmpty() || formatOf(m_file->path()).isEmpty()) {
    m_file->edit()->setFocus();
    return tr("Enter a file whose name ends in .png or .jpg.");
  }
  std::error_code ignored;
  if (!m_mayReplace && std::filesystem::exists(m_file->path(), ignored)) {
    m_mayReplace = true;
    primaryButton()->setText(tr("Replace the &old picture"));
    return tr("%1 is there already. Replace it, or enter another name.")
        .arg(pathText(m_file->path().filename()));
  }
  return {};
}

void SavePairDialog::accept() {
  const QString text = problem();
  showProblem(text);
  if (!text.isEmpty()) {
    return;
  }
  const QImage& picture = m_what->currentIndex() == 0 ? m_both : m_asSeen;
  if (const auto written = writePicture(picture, m_file->path()); !written) {
    showProblem(models::qText(written.error().message));
    return;
  }
  QDialog::accept();
}

}  // namespace edamori::pages
