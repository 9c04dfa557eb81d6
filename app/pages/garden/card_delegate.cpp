// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/garden/card_delegate.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/models/tree_card_model.h"

#include <QFontMetricsF>
#include <QListView>
#include <QPainter>
#include <QPainterPath>

namespace edamori::pages {

namespace {

using models::DueState;
using models::TreeCardModel;

constexpr double kPad = look::kGrid * 1.5;
constexpr double kRadius = 8.0;
constexpr double kPhotoShare = 0.36;  // of the card's width

struct Line {
  QString text;
  look::TextSize size;
  QColor colour;
  bool strong = false;
};

QFont fontOf(const Line& line) {
  QFont font = look::screenFont(line.size);
  if (line.strong) {
    font.setWeight(QFont::DemiBold);
  }
  return font;
}

double heightOf(const Line& line) { return QFontMetricsF(fontOf(line)).height() + 2.0; }

QColor dueColour(DueState state, const look::Palette& p) {
  switch (state) {
    case DueState::Overdue:
      return p.bad;
    case DueState::DueToday:
      return p.warning;
    case DueState::NonePlanned:
    case DueState::Later:
      return p.quietText;
  }
  return p.quietText;
}

std::vector<Line> linesOf(const QModelIndex& index, const look::Palette& p) {
  const auto words = [&index](int role) { return index.data(role).toString(); };
  const auto state = static_cast<DueState>(index.data(TreeCardModel::DueStateRole).toInt());
  const bool isUrgent = state == DueState::Overdue || state == DueState::DueToday;
  std::vector<Line> lines{
      {words(TreeCardModel::TagRole), look::TextSize::Heading, p.text},
      {words(TreeCardModel::SpeciesRole), look::TextSize::Body, p.text},
      {words(TreeCardModel::OwnerRole), look::TextSize::Small, p.quietText},
  };
  if (const QString place = words(TreeCardModel::PlaceRole); !place.isEmpty()) {
    lines.push_back({place, look::TextSize::Small, p.quietText});
  }
  lines.push_back(
      {words(TreeCardModel::DueTextRole), look::TextSize::Body, dueColour(state, p), isUrgent});
  for (const QString& figure : index.data(TreeCardModel::FiguresRole).toStringList()) {
    const QStringList parts = figure.split(QLatin1Char('\n'));
    lines.push_back({parts.first(), look::TextSize::Small, p.quietText});
    lines.push_back({parts.last(), look::TextSize::Small, p.text});
  }
  const int pests = index.data(TreeCardModel::PestsRole).toInt();
  const QString photos = models::countWords(index.data(TreeCardModel::PhotoCountRole).toInt(),
                                            QObject::tr("photo"),
                                            QObject::tr("photos"));
  const QString insects = models::pestWords(pests);
  lines.push_back({pests > 0 ? QStringLiteral("%1 · %2").arg(insects, photos) : photos,
                   look::TextSize::Small,
                   pests > 0 ? p.bad : p.quietText});
  return lines;
}

void drawPicture(QPainter& painter,
                 const QRectF& area,
                 const QModelIndex& index,
                 const look::Palette& p) {
  QPainterPath clip;
  clip.addRoundedRect(area, kRadius - 2.0, kRadius - 2.0);
  painter.save();
  painter.setClipPath(clip);
  painter.fillRect(area, p.page);
  const auto picture = index.data(TreeCardModel::PictureRole).value<QPixmap>();
  if (!picture.isNull()) {
    // Fills the area and cuts what is over, the same on both sides.
    const QSizeF size = QSizeF(picture.size()).scaled(area.size(), Qt::KeepAspectRatioByExpanding);
    QRectF target(QPointF(), size);
    target.moveCenter(area.center());
    painter.drawPixmap(target, picture, QRectF(picture.rect()));
  } else {
    painter.setPen(p.quietText);
    painter.setFont(look::screenFont(look::TextSize::Small));
    painter.drawText(area,
                     Qt::AlignCenter | Qt::TextWordWrap,
                     index.data(TreeCardModel::PhotoCountRole).toInt() == 0
                         ? QObject::tr("No photo yet")
                         : QString());
  }
  painter.restore();
}

void drawLines(QPainter& painter, const QRectF& area, const std::vector<Line>& lines) {
  double y = area.top();
  for (const Line& line : lines) {
    const double height = heightOf(line);
    if (y + height > area.bottom() + 1.0) {
      break;
    }
    const QFont font = fontOf(line);
    painter.setFont(font);
    painter.setPen(line.colour);
    painter.drawText(QRectF(area.left(), y, area.width(), height),
                     Qt::AlignLeft | Qt::AlignVCenter,
                     QFontMetricsF(font).elidedText(line.text, Qt::ElideRight, area.width()));
    y += height;
  }
}

}  // namespace

int CardDelegate::cardHeight() {
  const double heading = QFontMetricsF(look::screenFont(look::TextSize::Heading)).height() + 2.0;
  const double body = QFontMetricsF(look::screenFont(look::TextSize::Body)).height() + 2.0;
  const double small = QFontMetricsF(look::screenFont(look::TextSize::Small)).height() + 2.0;
  // Tag; species and what is due; owner, place, two figures of two lines, counts.
  return static_cast<int>(heading + 2 * body + 7 * small + 3 * kPad);
}

void CardDelegate::paint(QPainter* painter,
                         const QStyleOptionViewItem& option,
                         const QModelIndex& index) const {
  const look::Palette& p = look::palette(look::currentTheme());
  painter->save();
  painter->setRenderHints(QPainter::Antialiasing | QPainter::SmoothPixmapTransform);
  const QRectF card = QRectF(option.rect).adjusted(kPad / 2, kPad / 2, -kPad / 2, -kPad / 2);
  const bool isChosen = option.state.testFlag(QStyle::State_Selected);
  const bool hasFocus = option.state.testFlag(QStyle::State_HasFocus);
  const bool isOver = option.state.testFlag(QStyle::State_MouseOver);
  painter->setBrush(p.raised);
  painter->setPen(
      QPen(isChosen || hasFocus || isOver ? p.accent : p.line, hasFocus || isChosen ? 3.0 : 1.0));
  painter->drawRoundedRect(card, kRadius, kRadius);
  const QRectF inner = card.adjusted(kPad / 2 + 2, kPad / 2 + 2, -kPad / 2 - 2, -kPad / 2 - 2);
  const QRectF photo(inner.topLeft(), QSizeF(inner.width() * kPhotoShare, inner.height()));
  drawPicture(*painter, photo, index, p);
  drawLines(*painter,
            QRectF(QPointF(photo.right() + kPad, inner.top()), inner.bottomRight()),
            linesOf(index, p));
  painter->restore();
}

QSize CardDelegate::sizeHint(const QStyleOptionViewItem& option, const QModelIndex&) const {
  const auto* view = qobject_cast<const QListView*>(option.widget);
  return view != nullptr && view->gridSize().isValid() ? view->gridSize()
                                                       : QSize(400, cardHeight());
}

}  // namespace edamori::pages
