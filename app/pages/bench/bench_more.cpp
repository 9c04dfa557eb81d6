// SPDX-License-Identifier: GPL-3.0-or-later
// What happens on the Bench beside drawing and measuring: other photos, copies of marks, the menu,
// the list of actions, the ruler.
#include "app/models/text.h"
#include "app/pages/bench/bench_parts_internal.h"
#include "app/work/photo_scale.h"

#include <QAction>
#include <QActionGroup>
#include <QLabel>
#include <QMenu>
#include <QtConcurrent>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

namespace edamori::pages {

namespace {

// How near to a mark the menu must be asked for, in view px.
constexpr double kReachPx = 16;
constexpr double kMm2PerCm2 = 100;

QString areaText(const work::Size& mm2) {
  const bool isLarge = mm2.value >= 1000;
  const double factor = isLarge ? kMm2PerCm2 : 1;
  return (isLarge ? BenchPage::tr("%1 ± %2 cm²") : BenchPage::tr("%1 ± %2 mm²"))
      .arg(mm2.value / factor, 0, 'f', 1)
      .arg(mm2.plusMinus / factor, 0, 'f', 1);
}

}  // namespace

void BenchPage::Parts::openNext(const std::optional<store::PhotoId>& photo,
                                const QString& elseSay) {
  if (!photo) {
    refuse(elseSay);
    return;
  }
  if (const auto result = desk.open(*photo); !result) {
    refuse(QString::fromStdString(result.error().message));
  }
}

void BenchPage::Parts::copyMarksOn() {
  if (!desk.hasPhoto() || desk.session() == nullptr || m_copying.isRunning()) {
    return;
  }
  std::vector<store::Mark> marks;
  for (const auto& mark : desk.marks()) {
    if (desk.chosenMarks().empty() || desk.chosenMarks().contains(mark.id)) {
      marks.push_back(mark);
    }
  }
  const auto to =
      work::photoToCarryMarksTo(desk.session()->garden(), desk.photo().id, work::sharedBranch(marks));
  if (!to || !*to) {
    refuse(to ? tr("This is the latest photo of the tree.")
              : QString::fromStdString(to.error().message));
    return;
  }
  say(tr("Laying %1 marks on the next photo …").arg(marks.size()));
  m_copiedSession = desk.session();
  m_copying.setFuture(QtConcurrent::run([folder = desk.session()->garden().folder(),
                                         from = desk.photo().id,
                                         to = **to,
                                         marks = std::move(marks)] {
    const auto garden = store::Garden::open(folder);
    return std::make_shared<Copying>(Copying{
        .to = to,
        .carried = garden ? work::carryMarks(*garden, from, to, marks)
                          : Result<work::CarriedMarks>(garden.error())});
  }));
  updateActions();
}

void BenchPage::Parts::finishCopying() {
  const auto copying = m_copying.result();
  updateActions();
  if (m_copiedSession == nullptr || m_copiedSession != desk.session()) {
    return;
  }
  if (!copying->carried) {
    refuse(QString::fromStdString(copying->carried.error().message));
    return;
  }
  if (const auto result = desk.open(copying->to); !result) {
    refuse(QString::fromStdString(result.error().message));
    return;
  }
  const int added = desk.addMarks(copying->carried->marks, tr("Copy marks"));
  m_page.findChild<QAction*>(QStringLiteral("select"))->trigger();
  say(tr("%1 marks copied, good to about ±%2 px; they are chosen, so that they can be moved, "
         "changed or removed together.")
          .arg(added)
          .arg(std::max(1.0, copying->carried->errorPx), 0, 'f', 0));
}

void BenchPage::Parts::carryOutlinesHere() {
  if (!desk.hasPhoto() || desk.session() == nullptr || m_carrying.isRunning()) {
    return;
  }
  say(tr("Looking for the tree's outlines on this photo …"));
  m_carryingSession = desk.session();
  m_carrying.setFuture(
      QtConcurrent::run([folder = desk.session()->garden().folder(), photo = desk.photo().id] {
        const auto garden = store::Garden::open(folder);
        return std::make_shared<Carrying>(
            Carrying{.photo = photo,
                     .proposed = garden ? work::proposeOutlines(*garden, photo)
                                        : Result<work::ProposedOutlines>(garden.error())});
      }));
  updateActions();
}

void BenchPage::Parts::finishCarrying() {
  const auto carrying = m_carrying.result();
  updateActions();
  if (m_carryingSession == nullptr || m_carryingSession != desk.session() || !desk.hasPhoto() ||
      desk.photo().id != carrying->photo) {
    return;  // the person has gone on
  }
  const auto& proposed = carrying->proposed;
  if (!proposed) {
    refuse(QString::fromStdString(proposed.error().message));
  } else if (!proposed->from) {
    refuse(tr("No other photo of this tree from this side has outlines that are missing here; draw them with Outline."));
  } else if (const int added = desk.addOutlines(proposed->outlines, tr("Carry outlines over")); added == 0) {
    refuse(tr("No branch was found again on this photo; draw its outline with Outline."));
  } else {
    const QString carried = tr("%1 carried over").arg(models::countWords(added, tr("outline"), tr("outlines")));
    const QString guessed = proposed->guesses() == 0 ? QString()
                            : added == 1             ? tr(", only to the likeliest place")
                                                     : tr(", %1 of them only to the likeliest place").arg(proposed->guesses());
    say(tr("%1%2. Look at each, move corners that are off, then confirm.").arg(carried, guessed));
  }
}

void BenchPage::Parts::showActionList() {
  (new ActionList(m_keys, &m_page))->open();
}

void BenchPage::Parts::chooseAt(PointPx at) {
  store::MarkId nearest;
  double away = kReachPx / m_view->scale();
  for (const auto& mark : desk.marks()) {
    const double distance = std::hypot(mark.centre.x - at.x, mark.centre.y - at.y);
    if (distance <= away) {
      away = distance;
      nearest = mark.id;
    }
  }
  if (!nearest.isEmpty() && !desk.chosenMarks().contains(nearest)) {
    desk.chooseMarks({nearest});
  }
}

// The regions of other branches can be left out of the chosen outline at once.
void BenchPage::Parts::addLeaveOutActions(QMenu& menu) {
  const auto* const outline = desk.outlineOf(desk.chosenBranch());
  if (outline == nullptr) {
    return;
  }
  for (const auto& other : desk.outlines()) {
    if (other.id == outline->id) {
      continue;
    }
    auto* const action = menu.addAction(
        tr("Leave %1 out of %2")
            .arg(desk.branchName(other.branch), desk.branchName(outline->branch)));
    QObject::connect(action,
                     &QAction::triggered,
                     &desk,
                     [this, branch = outline->branch, region = other.shape.polygon] {
                       desk.leaveOut(branch, region);
                     });
  }
}

void BenchPage::Parts::showMenu(const QPoint& global, PointPx at) {
  chooseAt(at);
  auto* const menu = new QMenu(&m_page);
  menu->setObjectName(QStringLiteral("photoMenu"));
  menu->setAttribute(Qt::WA_DeleteOnClose);
  const auto add = [this, menu](const QString& title, const QString& prefix, int first, int last) {
    auto* const part = menu->addMenu(title);
    for (int i = first; i <= last; ++i) {
      part->addAction(m_page.findChild<QAction*>(prefix + QString::number(i)));
    }
  };
  addOfferActions(*menu, at);
  if (!desk.chosenMarks().empty()) {
    add(tr("&Finding"), QStringLiteral("chooseFinding"), 1, 6);
    add(tr("&Stage"), QStringLiteral("chooseStage"), 7, 9);
    menu->addAction(m_remove);
  }
  menu->addAction(m_copyMarks);
  menu->addAction(m_carryOutlines);
  menu->addAction(m_confirmAll);
  addLeaveOutActions(*menu);
  menu->addSeparator();
  for (auto* const tool : m_tools->actions()) {
    menu->addAction(tool);
  }
  menu->addSeparator();
  for (auto* const action : {m_undo, m_redo, m_loupe, m_overlay, m_removeRuler, m_actionList}) {
    menu->addAction(action);
  }
  menu->popup(global);
}

void BenchPage::Parts::keepRuler(double lengthMm) {
  const auto from = m_ruler.from();
  const auto to = m_ruler.to();
  if (from && to &&
      desk.addRuler(*from, *to, lengthMm, work::clickUncertaintyPx(m_view->scale()))) {
    m_ruler.cancel();
  }
}

void BenchPage::Parts::leaveRuler() {
  if (!m_rulerBar->isVisibleTo(&m_page)) {
    return;
  }
  m_rulerBar->hide();
  say(m_view->tool()->hint());
  m_view->setFocus(Qt::OtherFocusReason);
}

// Of the chosen patch, else of the chosen outline with its density of live marks.
void BenchPage::Parts::showSize() {
  const auto scale = desk.hasPhoto() ? desk.photoScale() : std::nullopt;
  const auto* const outline = desk.hasPhoto() ? desk.outlineOf(desk.chosenBranch()) : nullptr;
  if (!scale) {
    m_size->clear();
    return;
  }
  if (const auto* const patch = desk.chosenPatch()) {
    m_size->setText(tr("Patch %1").arg(areaText(work::areaMm2(*scale, areaPx2(patch->patch)))));
    return;
  }
  if (outline == nullptr) {
    m_size->setText(tr("1 px = %1 mm").arg(scale->mmPerPx, 0, 'g', 3));
    return;
  }
  double areaPx = areaPx2(outline->shape.polygon);
  for (const auto& hole : outline->shape.holes) {
    areaPx -= areaPx2(hole);
  }
  int live = 0;
  for (const auto& mark : desk.marks()) {
    live += mark.branch == outline->branch && mark.stage == store::Stage::Live ? mark.count : 0;
  }
  QString text = tr("Outline %1").arg(areaText(work::areaMm2(*scale, areaPx)));
  if (live > 0) {
    const auto density = work::densityPerDm2(*scale, live, areaPx);
    text += tr(", %1 ± %2 live per dm²")
                .arg(density.value, 0, 'f', 1)
                .arg(density.plusMinus, 0, 'f', 1);
  }
  m_size->setText(text);
}

}  // namespace edamori::pages
