// SPDX-License-Identifier: GPL-3.0-or-later
// What the Before & After page does: choosing, reading, comparing, helping, keeping.
#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/before_after/before_after_page.h"
#include "app/pages/before_after/save_pair_dialog.h"
#include "app/pages/controls.h"

#include <QApplication>
#include <QAction>
#include <QActionGroup>
#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QListWidget>
#include <QProgressBar>
#include <QPushButton>
#include <QSignalBlocker>
#include <QSpinBox>
#include <algorithm>
#include <cmath>
#include <set>

namespace edamori::pages {

using models::qText;
using models::stdText;

namespace {

QString dayWords(const store::Photo& photo) {
  return models::photoDateWords(photo.takenAt, photo.dateSource);
}

bool hasCertainDate(const store::Photo& photo) {
  return photo.takenAt.isKnown() && photo.dateSource != store::DateSource::FileTime;
}

// Day and side; the file's name where the day says little.
QString photoChoice(const store::Photo& photo) {
  QStringList words{dayWords(photo)};
  if (photo.view != store::View::Unknown) {
    words << models::viewWords(photo.view).toLower();
  }
  if (!hasCertainDate(photo)) {
    words << qText(photo.originalName);
  }
  return words.join(QObject::tr(", "));
}

// The last photo of a certain date, else the last.
int latestOf(const std::vector<store::Photo>& photos) {
  const auto last = std::find_if(photos.rbegin(), photos.rend(), hasCertainDate);
  return static_cast<int>(last == photos.rend() ? photos.size() : static_cast<std::size_t>(photos.rend() - last)) - 1;
}

void choose(QComboBox* box, const store::PhotoId& photo) {
  const int at = box->findData(qText(photo.text));
  if (at >= 0) {
    box->setCurrentIndex(at);
  }
}

}  // namespace

void BeforeAfterPage::cancelWork() {
  if (Job* const job = m_job.data(); job != nullptr) {
    job->cancel();
  }
}

void BeforeAfterPage::setServices(const PageServices& services) {
  m_services = services;
  ++m_run;
  cancelWork();
  m_tree = {};
  m_detail = {};
  m_shown.reset();
  m_held = {};
  m_hasPictures = false;
  m_pictures = {};
  m_view->clear();
  for (QComboBox* each : {m_branch, m_before, m_after}) {
    const QSignalBlocker quiet(each);
    each->clear();
  }
  setBusy(Busy::No);
  if (services.session != nullptr) {
    connect(services.session, &GardenSession::changed, this, &BeforeAfterPage::refresh);
  }
}

Result<void> BeforeAfterPage::showTree(const store::TreeId& tree, const store::PhotoId& after) {
  if (tree == m_tree && after.isEmpty()) {
    auto result = reload();
    if (result) {
      takeUpChange();
    }
    return result;
  }
  const store::TreeId was = m_tree;
  m_tree = tree;
  if (auto result = reload(); !result) {
    m_tree = was;
    return result;
  }
  chooseFirst(after);
  return {};
}

Result<void> BeforeAfterPage::reload() {
  m_isStale = false;
  auto detail = work::treeDetail(m_services.session->garden(), m_tree, models::today());
  if (!detail) {
    return detail.error();
  }
  m_detail = std::move(*detail);
  m_title->setText(models::treeWords(m_detail.summary.tree));
  fillBranches();
  fillPhotos(store::PhotoId{stdText(m_after->currentData().toString())});
  fillProposals();
  return {};
}

// What is shown stays as long as the garden holds the same of the pair.
void BeforeAfterPage::takeUpChange() {
  if (held() == m_held) {
    updateControls();
  } else {
    takeUpChoice();
  }
}

void BeforeAfterPage::showEvent(QShowEvent* event) {
  QWidget::showEvent(event);
  if (m_isStale) {
    refresh();
  }
}

// Nothing changes by itself where nobody looks.
void BeforeAfterPage::hideEvent(QHideEvent* event) {
  QWidget::hideEvent(event);
  m_turnItself->setChecked(false);
}

void BeforeAfterPage::refresh() {
  if (m_tree.isEmpty() || m_services.session == nullptr) {
    return;
  }
  if (!isVisible()) {
    m_isStale = true;
    return;
  }
  if (const auto result = reload(); !result) {
    m_tree = {};
    m_view->clear();
    m_services.messages->sayError(result.error());
    return;
  }
  takeUpChange();
}

void BeforeAfterPage::fillBranches() {
  const QSignalBlocker quiet(m_branch);
  const QVariant was = m_branch->currentData();
  m_branch->clear();
  for (const store::Branch& branch : m_detail.branches) {
    m_branch->addItem(qText(branch.name), qText(branch.id.text));
  }
  m_branch->setCurrentIndex(std::max(0, m_branch->findData(was)));
}

store::BranchId BeforeAfterPage::chosenBranch() const {
  return {stdText(m_branch->currentData().toString())};
}

const store::Photo* BeforeAfterPage::photoOf(const store::PhotoId& id) const {
  const auto at = std::ranges::find(m_detail.photos, id, &store::Photo::id);
  return at == m_detail.photos.end() ? nullptr : &*at;
}

const store::Photo* BeforeAfterPage::photoOf(const QComboBox* box) const {
  return photoOf(store::PhotoId{stdText(box->currentData().toString())});
}

// Only a photo with an outline of the branch can be the earlier one. What was chosen stays, else
// the photo before the later one.
void BeforeAfterPage::fillPhotos(const store::PhotoId& after) {
  const QSignalBlocker quietBefore(m_before);
  const QSignalBlocker quietAfter(m_after);
  const QVariant was = m_before->currentData();
  m_before->clear();
  m_after->clear();
  std::set<store::PhotoId> outlined;
  for (const store::OutlineRecord& outline : m_detail.outlines) {
    if (outline.branch == chosenBranch()) {
      outlined.insert(outline.photo);
    }
  }
  for (const store::Photo& photo : m_detail.photos) {
    m_after->addItem(photoChoice(photo), qText(photo.id.text));
  }
  const int wanted = m_after->findData(qText(after.text));
  m_after->setCurrentIndex(wanted >= 0 ? wanted : latestOf(m_detail.photos));
  int proposed = 0;
  for (std::size_t i = 0; i < m_detail.photos.size(); ++i) {
    const store::Photo& photo = m_detail.photos[i];
    if (outlined.contains(photo.id)) {
      proposed = static_cast<int>(i) < m_after->currentIndex() ? m_before->count() : proposed;
      m_before->addItem(photoChoice(photo), qText(photo.id.text));
    }
  }
  const int kept = was.isValid() ? m_before->findData(was) : -1;
  m_before->setCurrentIndex(kept >= 0 ? kept : m_before->count() > 0 ? proposed : -1);
}

QString BeforeAfterPage::proposalWords(const work::PairProposal& proposal) const {
  const store::Photo* before = photoOf(proposal.before);
  const store::Photo* after = photoOf(proposal.after);
  if (before == nullptr || after == nullptr) {
    return {};
  }
  QString why;
  switch (proposal.reason) {
    case work::PairReason::Treatment:
      why = tr("Before and after %1 of %2")
                .arg(qText(store::toText(proposal.treatment->kind)),
                     models::dateWords(proposal.treatment->doneAt.date));
      break;
    case work::PairReason::SameSeason:
      why = proposal.seasonDistanceDays == 0
                ? tr("Same season, the same day of the year")
                : tr("Same season, %1 off")
                      .arg(models::countWords(proposal.seasonDistanceDays, tr("day"), tr("days")));
      break;
    case work::PairReason::RepeatPhoto:
      why = tr("Repeat photo: what photographing again does");
      break;
  }
  const QString apart = proposal.daysApart == 0
                            ? tr("same day")
                            : tr("%1 apart").arg(models::countWords(
                                  proposal.daysApart, tr("day"), tr("days")));
  return tr("%1 and %2, %3\n%4").arg(dayWords(*before), dayWords(*after), apart, why);
}

void BeforeAfterPage::fillProposals() {
  const QSignalBlocker quiet(m_proposals);
  work::PairMaterial material{.branch = chosenBranch(),
                              .photos = m_detail.photos,
                              .outlined = {},
                              .treatments = m_detail.treatments};
  for (const store::OutlineRecord& outline : m_detail.outlines) {
    if (outline.branch == material.branch) {
      material.outlined.push_back(outline.photo);
    }
  }
  m_proposed = work::proposePairs(material, m_window->value());
  m_proposals->clear();
  for (const work::PairProposal& proposal : m_proposed) {
    m_proposals->addItem(proposalWords(proposal));
  }
  // Room for the proposals that there are, up to three: the figures below need the rest.
  constexpr int kRowsShown = 3;
  const int rows = std::min(kRowsShown, m_proposals->count());
  m_proposals->setFixedHeight(rows * 2 * m_proposals->fontMetrics().lineSpacing() + look::kGrid);
  m_proposals->setVisible(!m_proposed.empty());
  markProposal();
  m_noProposals->setVisible(m_proposed.empty());
  m_noProposals->setText(
      material.outlined.empty()
          ? tr("The branch is outlined on no photo yet.")
          : tr("None yet: of the photos on which the branch is outlined, a pair is proposed around a treatment, "
               "for the same season of two years, and for two photos of one day."));
  updateControls();
}

// The row of the pair that is chosen, if it is one of them.
void BeforeAfterPage::markProposal() {
  const QSignalBlocker quiet(m_proposals);
  const auto pair = asked();
  int row = -1;
  for (std::size_t i = 0; pair && i < m_proposed.size(); ++i) {
    if (m_proposed[i].before == pair->pair.before && m_proposed[i].after == pair->pair.after) {
      row = static_cast<int>(i);
    }
  }
  m_proposals->setCurrentRow(row);
}

void BeforeAfterPage::takeUpProposal() {
  const int row = m_proposals->currentRow();
  if (row < 0 || row >= static_cast<int>(m_proposed.size())) {
    return;
  }
  const work::PairProposal& proposal = m_proposed[static_cast<std::size_t>(row)];
  {
    const QSignalBlocker quietBefore(m_before);
    const QSignalBlocker quietAfter(m_after);
    choose(m_before, proposal.before);
    choose(m_after, proposal.after);
  }
  takeUpChoice();
}

// The branch that has a pair around a treatment, else any pair, else the first that is outlined.
void BeforeAfterPage::chooseFirst(const store::PhotoId& after) {
  const QSignalBlocker quiet(m_branch);
  int best = 0;
  int bestWorth = -1;
  for (int i = 0; i < m_branch->count(); ++i) {
    m_branch->setCurrentIndex(i);
    fillProposals();
    const bool isOutlined = std::ranges::any_of(m_detail.outlines, [this](const auto& outline) {
      return outline.branch == chosenBranch();
    });
    const int worth = m_proposed.empty() ? (isOutlined ? 1 : 0)
                      : m_proposed.front().reason == work::PairReason::Treatment ? 3
                                                                                 : 2;
    if (worth > bestWorth) {
      best = i;
      bestWorth = worth;
    }
  }
  m_branch->setCurrentIndex(best);
  m_before->blockSignals(true);
  m_before->clear();
  m_before->blockSignals(false);
  fillPhotos(after);
  fillProposals();
  if (after.isEmpty() && !m_proposed.empty()) {
    {
      const QSignalBlocker quietList(m_proposals);
      m_proposals->setCurrentRow(0);
    }
    takeUpProposal();
  } else {
    takeUpChoice();
  }
}

std::optional<PairAsked> BeforeAfterPage::asked() const {
  const store::Photo* before = photoOf(m_before);
  const store::Photo* after = photoOf(m_after);
  if (m_services.session == nullptr || before == nullptr || after == nullptr) {
    return std::nullopt;
  }
  return PairAsked{.folder = m_services.session->garden().folder(),
                   .pair = {.branch = chosenBranch(), .before = before->id, .after = after->id},
                   .before = *before,
                   .after = *after};
}

BeforeAfterPage::Held BeforeAfterPage::held() const {
  const auto pair = asked();
  if (!pair) {
    return {};
  }
  Held held{.pair = pair->pair, .help = {}, .outlines = {}};
  const auto help = m_services.session->garden().pairHelp(
      pair->pair.branch, pair->pair.before, pair->pair.after);
  held.help = help ? *help : std::nullopt;
  for (const store::OutlineRecord& outline : m_detail.outlines) {
    if (outline.branch == pair->pair.branch &&
        (outline.photo == pair->pair.before || outline.photo == pair->pair.after)) {
      held.outlines.push_back(outline);
    }
  }
  return held;
}

// What was said and shown belonged to another pair, or to what was known of it then. A pair that was
// compared is compared again when only what is known of it has changed.
void BeforeAfterPage::takeUpChoice() {
  markProposal();
  const Held now = held();
  const bool wasCompared = m_shown && now.pair == m_held.pair;
  m_held = now;
  m_shown.reset();
  m_hasPictures = false;
  m_view->endTask();
  m_view->forgetComparison();
  m_figures->clear();
  m_cautions->clear();
  const auto pair = asked();
  if (!pair) {
    m_view->clear();
    m_view->setMessage(m_branch->count() == 0
                           ? tr("Add a branch to the tree first, and outline it on a photo on the "
                                "Bench.")
                           : tr("No photo carries an outline of this branch yet. Open the earlier "
                                "photo on the Bench and outline the branch there."));
    say(m_branch->count() == 0 ? tr("No branch yet") : tr("No outline yet"),
        QStringLiteral("warning"));
    ++m_run;
    setBusy(Busy::No);
    return;
  }
  if (pair->pair.before == pair->pair.after) {
    m_view->clear();
    m_view->setMessage(tr("Choose two different photos."));
    say(tr("Choose two different photos."), QStringLiteral("bad"));
    ++m_run;
    setBusy(Busy::No);
    return;
  }
  m_view->setTitles(tr("Before, %1").arg(dayWords(pair->before)),
                    tr("After, %1").arg(dayWords(pair->after)));
  say(tr("“Compare” lays the later photo on the earlier one and measures both."),
      QStringLiteral("quiet"));
  read(wasCompared ? Then::Compare : Then::Look);
}

void BeforeAfterPage::read(Then then) {
  const auto pair = asked();
  if (!pair || m_services.jobs == nullptr) {
    return;
  }
  cancelWork();
  const int run = ++m_run;
  setBusy(Busy::Reading);
  m_view->setMessage(tr("Reading the photos…"));
  m_job = m_services.jobs->start<PairPictures>(
      this,
      [asked = *pair](const JobControl& control) { return readPair(asked, control); },
      [this, run, then](Result<PairPictures> pictures) {
        if (run != m_run) {
          return;
        }
        setBusy(Busy::No);
        if (!pictures) {
          m_view->setMessage(qText(pictures.error().message));
          say(qText(pictures.error().message), QStringLiteral("bad"));
          updateControls();
          return;
        }
        m_pictures = std::move(*pictures);
        m_hasPictures = true;
        m_view->setPictures(m_pictures);
        updateControls();
        if (then == Then::Compare) {
          compare();
        }
      });
}

void BeforeAfterPage::compare() {
  const auto pair = asked();
  if (!pair || pair->pair.before == pair->pair.after || m_busyWith == Busy::Comparing) {
    return;
  }
  if (!m_hasPictures) {
    read(Then::Compare);
    return;
  }
  m_view->endTask();
  const int run = ++m_run;
  const QWidget* const had = QApplication::focusWidget();
  setBusy(Busy::Comparing);
  if (had != nullptr && isAncestorOf(had) && !had->isEnabled()) {
    m_view->setFocus();  // the picture, not the next field, gets the keys that are typed now
  }
  say(tr("Comparing…"), QStringLiteral("heading"));
  m_figures->clear();
  m_cautions->clear();
  m_job = m_services.jobs->start<ComparisonShown>(
      this,
      [asked = *pair, pictures = m_pictures](const JobControl& control) {
        return comparePair(asked, pictures, control);
      },
      [this, run](Result<ComparisonShown> shown) {
        if (run == m_run) {
          present(shown);
        }
      });
  connect(m_job, &Job::progressed, this, [this, run](int done, int total, const QString& doing) {
    if (run == m_run) {
      m_busy->setRange(0, total);
      m_busy->setValue(done);
      say(doing + QStringLiteral("…"), QStringLiteral("heading"));
    }
  });
}

// The work ends in its own time; the person need not wait for it, and nothing of it is kept.
void BeforeAfterPage::stop() {
  cancelWork();
  ++m_run;
  const bool wasReading = m_busyWith == Busy::Reading;
  setBusy(Busy::No);
  say(tr("Stopped. Nothing was stored."), QStringLiteral("quiet"));
  if (wasReading) {
    m_view->setMessage(tr("Stopped. “Compare” reads the photos again."));
  }
  m_compare->setFocus();
}

void BeforeAfterPage::setBusy(Busy busy) {
  m_busyWith = busy;
  m_busy->setRange(0, 0);
  m_busy->setAccessibleName(busy == Busy::Reading ? tr("Reading the photos") : tr("Comparing"));
  m_busy->setVisible(busy != Busy::No);
  const bool hadFocus = m_stop->hasFocus();
  const bool losesFocus = busy != Busy::No && m_compare->hasFocus();  // while it cannot be pressed
  m_stop->setVisible(busy != Busy::No);
  if (hadFocus && busy == Busy::No) {
    m_compare->setFocus();
  }
  if (losesFocus) {
    m_stop->setFocus();
  }
  updateControls();
}

void BeforeAfterPage::present(const Result<ComparisonShown>& shown) {
  setBusy(Busy::No);
  if (!shown) {
    say(qText(shown.error().message), QStringLiteral("bad"));
    return;
  }
  m_shown = *shown;
  say(shown->verdict,
      shown->aligned ? QStringLiteral("heading") : QStringLiteral("warning"));
  m_figures->setText(shown->figures.join(QLatin1Char('\n')));
  m_cautions->setText(shown->cautions.join(QLatin1Char('\n')));
  if (m_view->mode() == PairMode::Change && shown->change.image.isNull()) {
    m_view->setMode(PairMode::SideBySide);  // nothing could be told of this branch
  }
  m_view->setComparison(*shown);
  updateControls();
  updateTurn();
  m_services.session->announceChange();
}

void BeforeAfterPage::say(const QString& verdict, const QString& role) {
  setTextRole(m_verdict, role);
  m_verdict->setText(verdict);
}

void BeforeAfterPage::updateControls() {
  const bool isIdle = m_busyWith == Busy::No;
  const bool isComparing = m_busyWith == Busy::Comparing;
  const bool isLaidOn = m_view->isLaidOn();
  const bool isLooking = m_view->task() == PairTask::Look;
  const auto pair = asked();
  const bool isPair = pair && pair->pair.before != pair->pair.after;
  for (QWidget* each : std::initializer_list<QWidget*>{m_branch, m_before, m_after, m_proposals}) {
    each->setEnabled(!isComparing && isLooking);
  }
  m_compare->setEnabled(isPair && !isComparing && isLooking);
  const bool isCompared = m_shown && m_shown->aligned;
  const bool isKept = isPair && std::ranges::any_of(m_detail.pairs, [&pair](const auto& one) {
    return one.branch == pair->pair.branch && one.before == pair->pair.before &&
           one.after == pair->pair.after;
  });
  m_keep->setEnabled(isCompared && isIdle && isLooking && !isKept);
  m_keep->setText(isKept ? tr("&Kept for the letter") : tr("&Keep for the letter"));
  m_keep->setAccessibleName(withoutMnemonic(m_keep->text()));
  m_save->setEnabled(m_hasPictures && isIdle && isLooking);
  m_places->setEnabled(m_hasPictures && isIdle && isLooking);
  m_outline->setEnabled(m_hasPictures && isIdle && isLooking &&
                        (isCompared || (m_pictures.help && !m_pictures.help->outlineAfter.empty())));
  m_forget->setVisible(m_held.help.has_value());
  m_forget->setEnabled(isIdle && isLooking);
  const bool hasChange = m_shown && !m_shown->change.image.isNull();
  for (QAction* mode : m_modes->actions()) {
    const auto is = static_cast<PairMode>(mode->data().toInt());
    const bool isSide = is == PairMode::SideBySide;
    mode->setEnabled(isSide ||
                     (isLaidOn && isLooking && (is != PairMode::Change || hasChange)));
    mode->setChecked(isLaidOn && isLooking ? is == m_view->mode() : isSide);
  }
  const bool isSeen = isLaidOn && isLooking;
  m_turnBar->setVisible(isSeen && m_view->mode() == PairMode::InTurn);
  m_legend->setVisible(isSeen && m_view->mode() == PairMode::Change);
  if (m_view->mode() != PairMode::InTurn) {
    m_turnItself->setChecked(false);
  }
  updateTaskBar();
}

void BeforeAfterPage::updateTurn() {
  const bool runs = m_turnItself->isChecked() && m_view->isLaidOn() &&
                    m_view->mode() == PairMode::InTurn;
  m_view->setTurnIntervalMs(runs ? static_cast<int>(std::lround(1000 * m_turnSeconds->value())) : 0);
}

void BeforeAfterPage::updateTaskBar() {
  m_taskBar->setVisible(m_view->task() != PairTask::Look);
  if (m_view->task() == PairTask::Places) {
    const auto set = m_view->places().size();
    const QString next =
        set >= vision::kMaxPointPairs ? tr("All four places are set.")
        : m_view->asksForAfter()
            ? tr("Place %1: click the same detail on the later photo.").arg(set + 1)
            : tr("Place %1: click a detail on the earlier photo, such as a fork or a cut.").arg(set + 1);
    m_taskWords->setText(tr("%1 Set 2 to 4, far apart. By keys: arrows move the crosshair, Enter "
                            "sets, Ctrl+Enter uses them.")
                             .arg(next));
    m_taskUse->setText(tr("Use them"));
    m_taskUse->setEnabled(set >= vision::kMinPointPairs && !m_view->asksForAfter());
    m_taskBack->setVisible(true);
    m_taskBack->setEnabled(set > 0 || m_view->asksForAfter());
  } else {
    m_taskWords->setText(tr("Drag the dashed outline to where the branch is on the later photo, or "
                            "move it with the arrow keys; Enter keeps it there."));
    m_taskUse->setText(tr("Keep it there"));
    m_taskUse->setEnabled(true);
    m_taskBack->setVisible(false);
  }
  m_taskUse->setAccessibleName(withoutMnemonic(m_taskUse->text()));
}

void BeforeAfterPage::setPlaces() {
  m_view->startPlaces();
  updateControls();
}

void BeforeAfterPage::moveOutline() {
  const Outline& found = m_shown && m_shown->aligned ? m_shown->outlineAfter : Outline{};
  m_view->startOutline(found.polygon.empty() && m_pictures.help
                           ? Outline{.polygon = m_pictures.help->outlineAfter,
                                     .holes = m_pictures.help->holesAfter}
                           : found);
  updateControls();
}

void BeforeAfterPage::takeTask() {
  if (m_services.session == nullptr || !m_taskUse->isEnabled()) {
    return;
  }
  store::Garden& garden = m_services.session->garden();
  const work::BranchPair pair = m_held.pair;
  if (m_view->task() == PairTask::Places) {
    const auto points = m_view->places();
    kept(work::keepPoints(garden, pair, points),
         tr("%1 matching places kept").arg(points.size()));
  } else if (m_view->task() == PairTask::Outline) {
    kept(work::keepOutlineAfter(garden, pair, m_view->movedOutline()),
         tr("Outline moved on the later photo"));
  }
}

// What a person has said of a pair is used at once.
void BeforeAfterPage::kept(const Result<work::PairHelpBefore>& before, const QString& said) {
  if (!before) {
    m_services.messages->sayError(before.error());
    return;
  }
  m_services.undo->push(said, [was = *before](store::Garden& garden) {
    return work::takeBack(garden, was);
  });
  m_view->endTask();
  m_shown = m_shown ? m_shown : std::optional(ComparisonShown{});  // to be compared again
  m_services.session->announceChange();
  m_services.messages->offerUndo(said);
}

void BeforeAfterPage::leaveTask() {
  m_view->endTask();
  updateControls();
  m_view->setFocus();
}

void BeforeAfterPage::forgetHelp() {
  if (m_services.session != nullptr) {
    m_compare->setFocus();  // the button itself goes
    kept(work::forgetPairHelp(m_services.session->garden(), m_held.pair),
         tr("What you said of this pair is forgotten"));
  }
}

void BeforeAfterPage::keepPair() {
  const auto chosen = asked();
  if (!chosen) {
    return;
  }
  store::PhotoPair pair;
  pair.id = store::PairId::create();
  pair.tree = m_tree;
  pair.branch = chosen->pair.branch;
  pair.before = chosen->pair.before;
  pair.after = chosen->pair.after;
  pair.title =
      stdText(tr("%1: %2 and %3")
                  .arg(m_branch->currentText(), m_before->currentText(), m_after->currentText()));
  const QString said = tr("Pair kept for the letter");
  if (write(m_services, {}, [&pair](store::Garden& garden) { return garden.put(pair); })) {
    m_services.undo->push(said, [id = pair.id](store::Garden& garden) { return garden.remove(id); },
                          [id = pair.id](store::Garden& garden) { return garden.restore(id); });
    m_services.messages->offerUndo(said);
  }
}

void BeforeAfterPage::savePicture() {
  const auto pair = asked();
  if (!pair || !m_hasPictures) {
    return;
  }
  const bool isLaidOn = m_shown && m_shown->aligned;
  const auto cut = [](const Picture& picture, const std::optional<Outline>& outline) {
    const QImage& whole = picture.levels.front();
    if (!outline) {
      return whole;
    }
    const double scale = 1.0 * whole.width() / picture.photoSize.width();
    const BoundsPx box = boundsPx(outline->polygon);
    const double margin = 0.12 * std::max(box.width(), box.height());
    const QRectF part(QPointF(box.left - margin, box.top - margin) * scale,
                      QPointF(box.right + margin, box.bottom + margin) * scale);
    return whole.copy(part.toAlignedRect().intersected(whole.rect()));
  };
  const auto& outline = m_pictures.outlineBefore;
  const PairHalf before{.image = cut(m_pictures.before, outline),
                        .caption = tr("Before, %1").arg(dayWords(pair->before))};
  const PairHalf after{.image = isLaidOn ? cut(m_shown->laidOn, outline)
                                         : cut(m_pictures.after, m_pictures.outlineAfter),
                       .caption = tr("After, %1").arg(dayWords(pair->after))};
  const QString title = tr("%1, %2").arg(models::treeWords(m_detail.summary.tree), m_branch->currentText());
  QString name = QStringLiteral("%1 %2 %3 %4.png")
                     .arg(qText(m_detail.summary.tree.tag),
                          m_branch->currentText(),
                          qText(store::dateText(pair->before.takenAt)),
                          qText(store::dateText(pair->after.takenAt)));
  name.replace(QLatin1Char('/'), QLatin1Char('-'));
  auto* dialog = new SavePairDialog(besideEachOther(before, after, title),
                                    isLaidOn ? m_view->snapshot() : QImage(),
                                    usualFolder(QStandardPaths::PicturesLocation) / models::pathOf(name),
                                    this);
  connect(dialog, &QDialog::accepted, this, [this, dialog] {
    m_services.messages->offerOpen(tr("Picture saved: %1").arg(models::pathText(dialog->file())),
                                   models::pathText(dialog->file()));
  });
  dialog->open();
}

}  // namespace edamori::pages
