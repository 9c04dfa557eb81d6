// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/compare_dialog.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/controls.h"

#include <QComboBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QSignalBlocker>
#include <QVBoxLayout>
#include <algorithm>
#include <set>

namespace edamori::pages {

using models::qText;
using models::stdText;

namespace {

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
  connect(m_before, &QComboBox::currentIndexChanged, this, &CompareDialog::takeUpChoice);
  connect(m_after, &QComboBox::currentIndexChanged, this, &CompareDialog::takeUpChoice);
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
  m_beforePicture->setObjectName(QStringLiteral("compareBeforePicture"));
  m_afterPicture->setObjectName(QStringLiteral("compareAfterPicture"));
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
  const QSignalBlocker quiet(m_before);
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
  takeUpChoice();
}

PairAsked CompareDialog::asked() const {
  const auto photoOf = [this](const QComboBox* box) {
    const store::PhotoId id{stdText(box->currentData().toString())};
    const auto at = std::ranges::find(m_detail.photos, id, &store::Photo::id);
    return at == m_detail.photos.end() ? store::Photo{} : *at;
  };
  return {.folder = m_services.session->garden().folder(),
          .branch = {stdText(m_branch->currentData().toString())},
          .before = photoOf(m_before),
          .after = photoOf(m_after)};
}

// What was said and shown belonged to another pair.
void CompareDialog::takeUpChoice() {
  const bool canCompare = m_before->count() > 0;
  m_compare->setEnabled(canCompare);
  setTextRole(m_verdict, canCompare ? QStringLiteral("quiet") : QStringLiteral("warning"));
  m_verdict->setText(
      canCompare ? tr("“Compare” lays the later photo on the earlier one and measures both.")
      : m_branch->count() == 0
          ? tr("Add a branch to the tree first, and outline it on a photo on the Bench.")
          : tr("No photo carries an outline of this branch yet. Open the earlier "
               "photo on the Bench and outline the branch there."));
  m_figures->clear();
  m_cautions->clear();
  m_keep->setEnabled(false);
  showPair({});
  const int choice = ++m_choice;
  m_services.jobs->start<PairPictures>(
      this,
      [asked = asked()](const JobControl&) { return picturesOf(asked); },
      [this, choice](Result<PairPictures> pictures) {
        if (pictures && choice == m_choice) {
          showPair(*pictures);
        }
      });
}

void CompareDialog::compare() {
  const PairAsked pair = asked();
  if (pair.before.id == pair.after.id) {
    setTextRole(m_verdict, QStringLiteral("bad"));
    m_verdict->setText(tr("Choose two different photos."));
    return;
  }
  ++m_choice;  // pictures that are still being read come too late
  setBusy(Busy::Yes);
  setTextRole(m_verdict, QStringLiteral("heading"));
  m_verdict->setText(tr("Comparing…"));
  m_figures->clear();
  m_cautions->clear();
  m_services.jobs->start<ComparisonShown>(
      this,
      [pair](const JobControl&) { return compareShown(pair); },
      [this](Result<ComparisonShown> shown) { present(shown); });
}

// The choice stands still while it is compared.
void CompareDialog::setBusy(Busy busy) {
  const bool isBusy = busy == Busy::Yes;
  for (QWidget* each : std::initializer_list<QWidget*>{m_branch, m_before, m_after, m_compare}) {
    each->setEnabled(!isBusy);
  }
  m_busy->setVisible(isBusy);
}

void CompareDialog::present(const Result<ComparisonShown>& shown) {
  setBusy(Busy::No);
  m_compare->setFocus();
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
  showPair(shown->pictures);
  m_services.session->announceChange();
}

void CompareDialog::showPair(const PairPictures& pictures) {
  m_pictures = pictures;
  showPictures();
}

void CompareDialog::showPictures() {
  const auto fitted = [this](QLabel* label, const QImage& image) {
    if (image.isNull()) {
      label->clear();
      return;
    }
    QPixmap pixmap = QPixmap::fromImage(image.scaled(
        label->size() * devicePixelRatioF(), Qt::KeepAspectRatio, Qt::SmoothTransformation));
    pixmap.setDevicePixelRatio(devicePixelRatioF());
    label->setPixmap(pixmap);
  };
  fitted(m_beforePicture, m_pictures.before);
  fitted(m_afterPicture, m_pictures.after);
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
