// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/compare_dialog.h"

#include "app/look/theme.h"
#include "app/models/previews_internal.h"
#include "app/models/text.h"
#include "app/pages/controls.h"
#include "app/work/photos.h"

#include <QComboBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QVBoxLayout>
#include <algorithm>
#include <set>

namespace edamori::pages {

using models::qText;
using models::stdText;

namespace {

// Scaling before and after: H for previews from H for full-size pixels.
Homography forPreviews(const Homography& h, double beforeScale, double afterScale) {
  Homography scaled = h;
  for (int row = 0; row < 2; ++row) {
    for (int column = 0; column < 3; ++column) {
      scaled[static_cast<std::size_t>(3 * row + column)] *= afterScale;
    }
  }
  for (int row = 0; row < 3; ++row) {
    scaled[static_cast<std::size_t>(3 * row)] /= beforeScale;
    scaled[static_cast<std::size_t>(3 * row + 1)] /= beforeScale;
  }
  return scaled;
}

QStringList figureLines(const vision::Comparison& c) {
  QStringList lines;
  const auto line = [&lines](const QString& title, const Estimate& estimate) {
    lines << QObject::tr("%1: %2").arg(title, qText(work::estimateText(estimate)));
  };
  if (c.before && c.after) {
    line(QObject::tr("Foliage cover before"), c.before->foliage);
    line(QObject::tr("Foliage cover after"), c.after->foliage);
  }
  if (c.lossByCover) {
    line(qText(work::figureTitle("loss-by-cover")), *c.lossByCover);
  }
  if (c.lossByLight) {
    line(qText(work::figureTitle("loss-by-light")), *c.lossByLight);
  }
  if (c.spotChange) {
    line(qText(work::figureTitle("spot-change")), *c.spotChange);
  }
  return lines;
}

QString verdictWords(Verdict verdict) {
  switch (verdict) {
    case Verdict::ClearLoss:
      return QObject::tr("Clear loss of foliage");
    case Verdict::ClearGain:
      return QObject::tr("Clear gain of foliage");
    case Verdict::NoClearChange:
      return QObject::tr("No clear change: the difference is within what the photos cannot tell");
    case Verdict::CannotTell:
      return QObject::tr("Cannot tell from these photos");
  }
  return {};
}

Result<ComparisonShown> compareInThread(const std::filesystem::path& folder,
                                        const store::BranchId& branch,
                                        const store::Photo& before,
                                        const store::Photo& after) {
  auto garden = store::Garden::open(folder);
  if (!garden) {
    return garden.error();
  }
  const auto stored = work::comparePhotos(*garden, branch, before.id, after.id);
  if (!stored) {
    return stored.error();
  }
  const vision::Comparison& c = stored->comparison;
  ComparisonShown shown;
  shown.aligned = c.aligned;
  shown.verdict =
      c.aligned ? verdictWords(c.verdict) : QObject::tr("Not compared: %1").arg(qText(c.refusal));
  shown.figures = figureLines(c);
  for (const Caution& caution : c.cautions) {
    shown.cautions << qText(caution.text);
  }
  const auto first = work::loadPreview(*garden, before, work::kLargePreviewPx);
  const auto second = work::loadPreview(*garden, after, work::kLargePreviewPx);
  if (!first || !second) {
    return shown;  // The figures stand without the pictures.
  }
  shown.before = models::qImage(*first);
  if (c.aligned && before.widthPx > 0 && after.widthPx > 0) {
    const Homography h = forPreviews(c.alignment.afterFromBefore,
                                     first->width() / static_cast<double>(before.widthPx),
                                     second->width() / static_cast<double>(after.widthPx));
    shown.after =
        models::qImage(vision::warpedOntoBefore(*second, h, first->width(), first->height()));
  } else {
    shown.after = models::qImage(*second);
  }
  return shown;
}

QString photoChoice(const store::Photo& photo) {
  return QObject::tr("%1, %2").arg(models::photoDateWords(photo.takenAt, photo.dateSource),
                                   models::viewWords(photo.view).toLower());
}

}  // namespace

CompareDialog::CompareDialog(const PageServices& services,
                             const work::TreeDetail& detail,
                             const store::PhotoId& after,
                             QWidget* parent)
    : QDialog(parent),
      m_services(services),
      m_detail(detail),
      m_branch(choice(QStringLiteral("compareBranch"))),
      m_before(choice(QStringLiteral("compareBefore"))),
      m_after(choice(QStringLiteral("compareAfter"))),
      m_compare(button(tr("&Compare"), QStringLiteral("compareStart"), ButtonRole::Primary)),
      m_keep(button(tr("&Keep for the letter"), QStringLiteral("compareKeep"), ButtonRole::Plain)),
      m_busy(new QProgressBar),
      m_verdict(label({}, QStringLiteral("heading"))),
      m_figures(label({}, {})),
      m_cautions(label({}, QStringLiteral("quiet"))),
      m_beforePicture(new QLabel),
      m_afterPicture(new QLabel) {
  setObjectName(QStringLiteral("compareDialog"));
  setAttribute(Qt::WA_DeleteOnClose);
  setWindowTitle(tr("Compare two photos of a branch"));
  resize(980, 700);
  createLayout();
  fillChoices(after);
  connect(m_branch, &QComboBox::currentIndexChanged, this, &CompareDialog::fillBefore);
  connect(m_compare, &QPushButton::clicked, this, &CompareDialog::compare);
  connect(m_keep, &QPushButton::clicked, this, &CompareDialog::keepPair);
}

void CompareDialog::createLayout() {
  m_verdict->setObjectName(QStringLiteral("compareVerdict"));
  m_figures->setObjectName(QStringLiteral("compareFigures"));
  m_busy->setRange(0, 0);
  m_busy->setVisible(false);
  m_busy->setAccessibleName(tr("Comparing"));
  m_keep->setEnabled(false);
  m_compare->setDefault(true);
  auto* form = new QFormLayout;
  form->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
  addField(form, tr("&Branch:"), m_branch);
  addField(form, tr("Be&fore:"), m_before);
  addField(form, tr("&After:"), m_after);
  auto* pictures = new QHBoxLayout;
  for (QLabel* each : {m_beforePicture, m_afterPicture}) {
    each->setAlignment(Qt::AlignCenter);
    each->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Ignored);
    pictures->addWidget(each, 1);
  }
  m_beforePicture->setAccessibleName(tr("Photo before"));
  m_afterPicture->setAccessibleName(tr("Photo after"));
  auto* close = button(tr("C&lose"), QStringLiteral("compareClose"), ButtonRole::Plain);
  connect(close, &QPushButton::clicked, this, &QDialog::accept);
  auto* buttons = new QHBoxLayout;
  buttons->addWidget(m_compare);
  buttons->addWidget(m_keep);
  buttons->addWidget(m_busy, 1);
  buttons->addStretch(1);
  buttons->addWidget(close);
  auto* all = new QVBoxLayout(this);
  all->setContentsMargins(look::kGrid * 2, look::kGrid * 2, look::kGrid * 2, look::kGrid * 2);
  all->addLayout(form);
  all->addWidget(m_verdict);
  all->addWidget(m_figures);
  all->addLayout(pictures, 1);
  all->addWidget(m_cautions);
  all->addLayout(buttons);
}

void CompareDialog::fillChoices(const store::PhotoId& after) {
  for (const store::Branch& branch : m_detail.branches) {
    m_branch->addItem(qText(branch.name), qText(branch.id.text));
  }
  for (const store::Photo& photo : m_detail.photos) {
    m_after->addItem(photoChoice(photo), qText(photo.id.text));
  }
  const int wanted = m_after->findData(qText(after.text));
  m_after->setCurrentIndex(wanted > 0 ? wanted : m_after->count() - 1);
  fillBefore();
}

void CompareDialog::fillBefore() {
  m_before->clear();
  const store::BranchId branch{stdText(m_branch->currentData().toString())};
  const auto outlines = m_services.session->garden().outlines(branch);
  std::set<store::PhotoId> outlined;
  for (const auto& outline : outlines ? *outlines : std::vector<store::OutlineRecord>{}) {
    outlined.insert(outline.photo);
  }
  const int after = m_after->currentIndex();  // in the order of the photos, oldest first
  int proposed = 0;
  for (std::size_t i = 0; i < m_detail.photos.size(); ++i) {
    const store::Photo& photo = m_detail.photos[i];
    if (outlined.contains(photo.id)) {
      proposed = static_cast<int>(i) < after ? m_before->count() : proposed;
      m_before->addItem(photoChoice(photo), qText(photo.id.text));
    }
  }
  m_before->setCurrentIndex(m_before->count() > 0 ? proposed : -1);
  const bool canCompare = m_before->count() > 0;
  m_compare->setEnabled(canCompare);
  setTextRole(m_verdict, canCompare ? QStringLiteral("heading") : QStringLiteral("warning"));
  m_verdict->setText(
      canCompare ? QString()
      : branch.isEmpty()
          ? tr("Add a branch to the tree first, and outline it on a photo on the Bench.")
          : tr("No photo carries an outline of this branch yet. Open the earlier "
               "photo on the Bench and outline the branch there."));
  m_figures->clear();
  m_cautions->clear();
  m_keep->setEnabled(false);
}

void CompareDialog::compare() {
  const auto photoOf = [this](const QComboBox* box) {
    const store::PhotoId id{stdText(box->currentData().toString())};
    const auto at = std::ranges::find(m_detail.photos, id, &store::Photo::id);
    return at == m_detail.photos.end() ? store::Photo{} : *at;
  };
  const store::Photo before = photoOf(m_before);
  const store::Photo after = photoOf(m_after);
  if (before.id == after.id) {
    setTextRole(m_verdict, QStringLiteral("bad"));
    m_verdict->setText(tr("Choose two different photos."));
    return;
  }
  m_compare->setEnabled(false);
  m_busy->setVisible(true);
  setTextRole(m_verdict, QStringLiteral("heading"));
  m_verdict->setText(tr("Comparing…"));
  const store::BranchId branch{stdText(m_branch->currentData().toString())};
  m_services.jobs->start<ComparisonShown>(
      this,
      [folder = m_services.session->garden().folder(), branch, before, after](const JobControl&) {
        return compareInThread(folder, branch, before, after);
      },
      [this](Result<ComparisonShown> shown) { present(shown); });
}

void CompareDialog::present(const Result<ComparisonShown>& shown) {
  m_compare->setEnabled(true);
  m_compare->setFocus();
  m_busy->setVisible(false);
  if (!shown) {
    setTextRole(m_verdict, QStringLiteral("bad"));
    m_verdict->setText(qText(shown.error().message));
    return;
  }
  setTextRole(m_verdict, shown->aligned ? QStringLiteral("heading") : QStringLiteral("warning"));
  m_verdict->setText(shown->verdict);
  m_figures->setText(shown->figures.join(QLatin1Char('\n')));
  m_cautions->setText(shown->cautions.join(QLatin1Char('\n')));
  m_keep->setEnabled(shown->aligned);
  m_beforeImage = shown->before;
  m_afterImage = shown->after;
  showPictures();
  m_services.session->announceChange();
}

void CompareDialog::showPictures() {
  const auto fitted = [this](QLabel* label, const QImage& image) {
    if (!image.isNull()) {
      QPixmap pixmap = QPixmap::fromImage(image.scaled(
          label->size() * devicePixelRatioF(), Qt::KeepAspectRatio, Qt::SmoothTransformation));
      pixmap.setDevicePixelRatio(devicePixelRatioF());
      label->setPixmap(pixmap);
    }
  };
  fitted(m_beforePicture, m_beforeImage);
  fitted(m_afterPicture, m_afterImage);
}

void CompareDialog::resizeEvent(QResizeEvent* event) {
  QDialog::resizeEvent(event);
  showPictures();
}

void CompareDialog::keepPair() {
  store::PhotoPair pair;
  pair.id = store::PairId::create();
  pair.tree = m_detail.summary.tree.id;
  pair.branch = {stdText(m_branch->currentData().toString())};
  pair.before = {stdText(m_before->currentData().toString())};
  pair.after = {stdText(m_after->currentData().toString())};
  pair.title =
      stdText(tr("%1: %2 and %3")
                  .arg(m_branch->currentText(), m_before->currentText(), m_after->currentText()));
  if (write(m_services, tr("Pair kept for the letter"), [&pair](store::Garden& garden) {
        return garden.put(pair);
      })) {
    m_keep->setEnabled(false);
  }
}

}  // namespace edamori::pages
