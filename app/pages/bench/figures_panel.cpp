// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/bench/figures_panel.h"

#include "app/look/theme.h"
#include "app/pages/bench/photo_picture.h"
#include "app/pages/controls.h"
#include "app/work/hint_image.h"
#include "app/work/learning.h"
#include "app/work/overview.h"
#include "vision/figures/measure.h"
#include "vision/load/load.h"

#include <QAction>
#include <QCheckBox>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QStyle>
#include <QTextBrowser>
#include <QVBoxLayout>
#include <algorithm>

namespace edamori::pages {

namespace {

QString escaped(const std::string& text) { return QString::fromStdString(text).toHtmlEscaped(); }

QString figureHtml(const store::Measurement& measurement, const look::Palette& colours) {
  QString html = QStringLiteral("<tr><td width='40%'>%1</td><td width='60%' align='right'><b>%2</b></td></tr>")
                     .arg(escaped(work::figureTitle(measurement.figure)),
                          escaped(work::figureText(measurement.figure, measurement.estimate))
                              .replace(QLatin1Char(' '), QStringLiteral("&nbsp;")));
  if (!measurement.verdict.empty()) {
    html += QStringLiteral("<tr><td colspan='2'>%1</td></tr>").arg(escaped(measurement.verdict));
  }
  if (const std::string taught = work::taughtWords(measurement.method); !taught.empty()) {
    html += QStringLiteral("<tr><td colspan='2'>%1</td></tr>").arg(QObject::tr("Measured %1").arg(escaped(taught)));
  }
  for (const auto& caution : measurement.cautions) {
    html += QStringLiteral("<tr><td colspan='2'><span style='color:%1'>⚠ %2</span></td></tr>")
                .arg(colours.warning.name(), escaped(caution.text));
  }
  return html;
}

// Measuring learns from strokes on and around the outline.
bool touches(const store::HintStroke& stroke, const Outline& outline) {
  const BoundsPx box = boundsPx(outline.polygon);
  const double around = vision::kMeasuredAroundShare * std::max(box.width(), box.height());
  return std::ranges::any_of(stroke.points, [&](PointPx point) {
    return point.x >= box.left - around && point.x <= box.right + around &&
           point.y >= box.top - around && point.y <= box.bottom + around;
  });
}

// What of the hints lies on and around the outline; measuring reads no others.
std::vector<std::uint8_t> paintedAround(const std::optional<LabelImage>& hints, const Outline& outline, int width, int height) {
  const BoundsPx box = boundsPx(outline.polygon);
  const double around = vision::kMeasuredAroundShare * std::max(box.width(), box.height());
  const auto clip = [](double at, int limit) { return static_cast<int>(std::clamp(at, 0.0, static_cast<double>(limit))); };
  const int left = clip(box.left - around, width), right = clip(box.right + around, width);
  std::vector<std::uint8_t> painted;
  for (int y = clip(box.top - around, height); y < clip(box.bottom + around, height); ++y) {
    if (hints) {
      painted.insert(painted.end(), hints->row(y) + left, hints->row(y) + right);
    } else {
      painted.resize(painted.size() + static_cast<std::size_t>(std::max(0, right - left)));
    }
  }
  return painted;
}

QString swatch(const QColor& colour, const QString& word) {
  return QStringLiteral("<span style='color:%1'>■</span> %2").arg(colour.name(), word);
}

}  // namespace

std::vector<store::Measurement> latestFigures(const std::vector<store::Measurement>& measurements,
                                              const store::BranchId& branch) {
  std::vector<store::Measurement> latest;
  for (const auto& measurement : measurements) {
    if (measurement.branch != branch) {
      continue;
    }
    const auto same = std::ranges::find_if(latest, [&measurement](const store::Measurement& other) {
      return other.figure == measurement.figure && other.baselinePhoto == measurement.baselinePhoto;
    });
    // They come oldest first.
    if (same == latest.end()) {
      latest.push_back(measurement);
    } else {
      *same = measurement;
    }
  }
  return latest;
}

FiguresPanel::FiguresPanel(
    PhotoDesk& desk, QAction* measure, QAction* measureAll, QAction* showTints, QWidget* parent)
    : QWidget(parent), m_desk(desk) {
  auto* const layout = new QVBoxLayout(this);
  layout->setContentsMargins(0, look::kGrid, 0, 0);
  createButtons(measure, measureAll);
  m_report = new QLabel(this);
  m_report->setObjectName(QStringLiteral("measureReport"));
  m_report->setAccessibleName(tr("Result of measuring"));
  m_report->setWordWrap(true);
  m_report->setTextInteractionFlags(Qt::TextSelectableByMouse);
  m_report->hide();
  layout->addWidget(m_report);
  auto* const tints = new QCheckBox(showTints->text(), this);
  tints->setChecked(showTints->isChecked());
  tints->setToolTip(showTints->toolTip());
  connect(tints, &QCheckBox::clicked, showTints, &QAction::setChecked);
  connect(showTints, &QAction::toggled, tints, &QCheckBox::setChecked);
  layout->addWidget(tints);
  auto* const legend = new QLabel(QStringLiteral("%1 &nbsp; %2")
                                      .arg(swatch(soundTint(), tr("sound foliage")),
                                           swatch(spotTint(), tr("spotted (striped)"))),
                                  this);
  legend->setProperty("textRole", QStringLiteral("small"));
  layout->addWidget(legend);
  m_figures = new QTextBrowser(this);
  m_figures->setObjectName(QStringLiteral("figures"));
  m_figures->setAccessibleName(tr("Figures of this photo"));
  m_figures->setFrameShape(QFrame::NoFrame);
  layout->addWidget(m_figures, 1);
  connect(&m_desk, &PhotoDesk::recordsChanged, this, &FiguresPanel::showRecords);
  connect(&m_desk, &PhotoDesk::choiceChanged, this, &FiguresPanel::showRecords);
}

void FiguresPanel::createButtons(QAction* measure, QAction* measureAll) {
  auto* const column = static_cast<QVBoxLayout*>(layout());
  auto* const row = new QHBoxLayout;
  auto* const one = buttonFor(measure, this);
  one->setProperty("role", QStringLiteral("primary"));
  row->addWidget(one);
  row->addWidget(buttonFor(measureAll, this));
  row->addStretch();
  column->addLayout(row);
  m_running = new QWidget(this);
  auto* const running = new QHBoxLayout(m_running);
  running->setContentsMargins(0, 0, 0, 0);
  m_progress = new QProgressBar(m_running);
  m_progress->setAccessibleName(tr("Measuring"));
  auto* const stop = new QPushButton(tr("Stop"), m_running);
  stop->setToolTip(tr("Stop after the outline that is being measured"));
  connect(stop, &QPushButton::clicked, this, &FiguresPanel::cancelRequested);
  running->addWidget(m_progress, 1);
  running->addWidget(stop);
  m_running->hide();
  column->addWidget(m_running);
}

void FiguresPanel::showProgress(int done, int total, const QString& doing) {
  m_report->hide();
  m_running->show();
  // One outline alone gives no fraction to show: the bar then only moves.
  m_progress->setRange(0, total == 1 ? 0 : total);
  m_progress->setValue(done);
  m_progress->setFormat(tr("Measuring %1").arg(doing));
}

void FiguresPanel::showReport(const MeasureReport& report, int leftOut) {
  m_running->hide();
  QStringList lines;
  if (report.measured > 0) {
    lines << (report.measured == 1 ? tr("1 outline measured.")
                                   : tr("%1 outlines measured.").arg(report.measured));
  }
  for (const QString& refusal : report.refusals) {
    lines << tr("Not measured – %1").arg(refusal);
  }
  if (leftOut > 0 && !lines.isEmpty()) {
    lines << (leftOut == 1 ? tr("1 carried outline waits to be confirmed and was left out.")
                           : tr("%1 carried outlines wait to be confirmed and were left out.").arg(leftOut));
  }
  if (report.isCancelled) {
    lines << tr("Stopped.");
  }
  m_report->setText(lines.join(QStringLiteral("\n")));
  m_report->setProperty(
      "textRole", report.refusals.isEmpty() ? QStringLiteral("small") : QStringLiteral("warning"));
  // A property is read when the style is set, so it is set anew.
  m_report->style()->unpolish(m_report);
  m_report->style()->polish(m_report);
  m_report->setVisible(!lines.isEmpty());
}

void FiguresPanel::clearReport() { m_report->hide(); }

void FiguresPanel::startLive(const store::OutlineId& outline) { showLive({.outline = outline, .result = {}, .refusal = {}}); }

void FiguresPanel::showLive(const LiveJudgement& judgement) {
  m_live = judgement;
  showRecords();
}

void FiguresPanel::endLive() {
  if (m_live) {
    m_live.reset();
    showRecords();
  }
}

QString FiguresPanel::liveHtml() const {
  const auto& colours = look::palette(look::currentTheme());
  if (!m_live->refusal.isEmpty()) {
    return QStringLiteral("<p style='margin:0; color:%1'>⚠ %2</p>")
        .arg(colours.warning.name(), m_live->refusal.toHtmlEscaped());
  }
  if (!m_live->result) {
    return QStringLiteral("<p style='margin:0'>%1</p>").arg(tr("Looking at the branch …"));
  }
  store::Measurement figure;
  figure.figure = "foliage";
  figure.estimate = m_live->result->foliage;
  figure.cautions = m_live->result->cautions;
  QString rows = figureHtml(figure, colours);
  if (m_live->result->spot) {
    store::Measurement spot;
    spot.figure = "spot";
    spot.estimate = *m_live->result->spot;
    rows += figureHtml(spot, colours);
  }
  return QStringLiteral("<table width='100%'>%1</table><p style='margin:2px 0 0 0'>%2</p>")
      .arg(rows,
           tr("By the hints painted so far; kept when you put the brush down."));
}

QString FiguresPanel::keptHtml(const store::BranchId& branch) {
  const auto& colours = look::palette(look::currentTheme());
  const auto figures = latestFigures(m_desk.measurements(), branch);
  QString html = QStringLiteral("<table width='100%'>");
  const auto* const outline = m_desk.outlineOf(branch);
  std::vector<std::string> said;
  bool isOlder = false;
  bool hasOtherHints = false;
  for (auto figure : figures) {
    // One measuring gives several figures with the same cautions: said once.
    std::erase_if(figure.cautions, [&said](const Caution& caution) {
      return std::ranges::find(said, caution.text) != said.end();
    });
    for (const auto& caution : figure.cautions) {
      said.push_back(caution.text);
    }
    html += figureHtml(figure, colours);
    // Both ids begin with the time they were made at.
    isOlder = isOlder || (!figure.baselinePhoto && outline != nullptr &&
                          std::ranges::any_of(m_desk.hints(), [&](const auto& stroke) {
                            return figure.id.text < stroke.id.text && touches(stroke, outline->shape);
                          }));
    hasOtherHints = hasOtherHints || (!isOlder && !figure.baselinePhoto && outline != nullptr &&
                                      wasMeasuredWithOtherHints(figure, outline->shape));
  }
  html += QStringLiteral("</table>");
  if (hasOtherHints) {
    return html + QStringLiteral("<p style='margin:0; color:%1'>⚠ %2</p>")
                      .arg(colours.warning.name(),
                           tr("Hints that it was measured with are gone; measure again."));
  }
  return isOlder ? html + QStringLiteral("<p style='margin:0; color:%1'>⚠ %2</p>")
                              .arg(colours.warning.name(),
                                   tr("Hints were painted since; measure again."))
                 : html;
}

// Strokes that were taken back leave their figure behind: the mask that it was measured with tells.
bool FiguresPanel::wasMeasuredWithOtherHints(const store::Measurement& figure, const Outline& outline) {
  if (figure.hintMask.empty() || m_desk.session() == nullptr) {
    return false;
  }
  if (m_comparedHints != m_desk.hints()) {
    m_comparedHints = m_desk.hints();
    m_hasOtherHints.clear();
  }
  const auto [known, isNew] = m_hasOtherHints.try_emplace({figure.hintMask, figure.outline.text}, false);
  if (!isNew) {
    return known->second;
  }
  const store::Photo& photo = m_desk.photo();
  const auto then = vision::loadLabels(m_desk.session()->garden().folder() / figure.hintMask);
  if (!then || then->width() != photo.widthPx || then->height() != photo.heightPx) {
    return false;  // lost or damaged: "check" says so
  }
  const auto now = work::hintImage(m_desk.hints(), photo.widthPx, photo.heightPx);
  const auto around = [&](const std::optional<LabelImage>& hints) {
    return paintedAround(hints, outline, photo.widthPx, photo.heightPx);
  };
  known->second = around(*then) != around(now);
  return known->second;
}

QString FiguresPanel::branchHtml(const store::BranchId& branch, const QString& name) {
  const auto& colours = look::palette(look::currentTheme());
  const QString heading =
      QStringLiteral("<h4 style='margin:8px 0 2px 0'>%1</h4>").arg(name.toHtmlEscaped());
  const auto* const outline = m_desk.outlineOf(branch);
  if (m_live && outline != nullptr && m_live->outline == outline->id) {
    return heading + liveHtml();
  }
  if (!latestFigures(m_desk.measurements(), branch).empty()) {
    return heading + keptHtml(branch);
  }
  return outline != nullptr && m_desk.lostFigures(outline->id)
             ? QStringLiteral("%1<p style='margin:0; color:%2'>⚠ %3</p>")
                   .arg(heading,
                        colours.warning.name(),
                        tr("The outline was changed, so its figures no longer hold; "
                           "measure again."))
             : QString();
}

void FiguresPanel::showRecords() {
  QString html;
  if (m_desk.hasPhoto()) {
    // The chosen branch first, so that what was just measured is in sight.
    for (const bool isChosen : {true, false}) {
      for (const auto& branch : m_desk.branches()) {
        if ((branch.id == m_desk.chosenBranch()) == isChosen) {
          html += branchHtml(branch.id, QString::fromStdString(branch.name));
        }
      }
    }
    html += branchHtml({}, tr("Whole photo"));
    if (html.isEmpty()) {
      html = m_desk.outlines().empty()
                 ? tr("No figures yet. Draw the outline of a branch, then measure it.")
                 : tr("No figures yet. Measure an outline to get its foliage cover and spots.");
    }
  }
  if (html != m_shown) {
    m_shown = html;
    m_figures->setHtml(html);
  }
}

}  // namespace edamori::pages
