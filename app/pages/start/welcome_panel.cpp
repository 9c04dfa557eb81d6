// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/start/welcome_panel.h"

#include "app/look/theme.h"
#include "app/models/text.h"
#include "app/pages/controls.h"
#include "app/work/demo.h"

#include <QFrame>
#include <QHBoxLayout>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QVBoxLayout>

namespace edamori::pages {

namespace {

constexpr int kColumnWidthPx = 560;

}  // namespace

WelcomePanel::WelcomePanel(QWidget* parent)
    : QWidget(parent),
      m_demo(button(tr("Open the &demo garden"), QStringLiteral("openDemo"), ButtonRole::Primary)),
      m_new(button(tr("&New garden…"), QStringLiteral("newGarden"), ButtonRole::Plain)),
      m_open(button(tr("&Open a garden…"), QStringLiteral("openGarden"), ButtonRole::Plain)) {
  setObjectName(QStringLiteral("welcomePanel"));
  auto* frame = new QFrame;
  frame->setProperty("role", QStringLiteral("panel"));
  frame->setFixedWidth(look::forText(kColumnWidthPx));
  auto* column = new QVBoxLayout(frame);
  column->setContentsMargins(look::kGrid * 4, look::kGrid * 4, look::kGrid * 4, look::kGrid * 4);
  column->setSpacing(look::kGrid * 2);
  column->addWidget(label(tr("Edamori"), QStringLiteral("title")));
  column->addWidget(
      label(tr("Dated photos of your container-trained trees: what is on each branch, how "
               "much foliage is spotted or lost, and whether a treatment worked."),
            {}));
  const std::initializer_list<std::pair<QPushButton*, QString>> ways{
      {m_demo,
       tr("Invented trees with real measurements, to look around in. Building it takes a few "
          "minutes the first time.")},
      {m_new, tr("Make a folder for your own garden and take your first photos in.")},
      {m_open, tr("Go on with a garden folder that is there already.")}};
  for (const auto& [way, words] : ways) {
    way->setAccessibleDescription(words);
    column->addSpacing(look::kGrid / 2);
    column->addWidget(way);
    column->addWidget(label(words, QStringLiteral("quiet")));
  }
  column->addWidget(createProgress());
  auto* all = new QVBoxLayout(this);
  all->addStretch(2);
  // Between stretches, not aligned: an aligned item is not asked how high its wrapped text is.
  auto* across = new QHBoxLayout;
  across->addStretch(1);
  across->addWidget(frame);
  across->addStretch(1);
  all->addLayout(across);
  all->addStretch(3);
  connect(m_demo, &QPushButton::clicked, this, &WelcomePanel::openDemo);
  connect(m_new, &QPushButton::clicked, this, &WelcomePanel::newRequested);
  connect(m_open, &QPushButton::clicked, this, &WelcomePanel::openRequested);
}

QWidget* WelcomePanel::createProgress() {
  m_busy = new QWidget;
  m_doing = label({}, QStringLiteral("quiet"));
  m_progress = new QProgressBar;
  m_progress->setObjectName(QStringLiteral("demoProgress"));
  m_progress->setAccessibleName(tr("Progress of building the demo garden"));
  auto* cancel = button(tr("&Cancel"), QStringLiteral("demoCancel"), ButtonRole::Plain);
  connect(cancel, &QPushButton::clicked, this, [this] {
    if (m_job != nullptr) {
      m_job->cancel();
      m_doing->setText(tr("Stopping…"));
    }
  });
  auto* row = new QHBoxLayout;
  row->addWidget(m_progress, 1);
  row->addWidget(cancel);
  auto* all = new QVBoxLayout(m_busy);
  all->setContentsMargins(0, look::kGrid, 0, 0);
  all->addWidget(m_doing);
  all->addLayout(row);
  m_busy->setVisible(false);
  return m_busy;
}

void WelcomePanel::openDemo() {
  const std::filesystem::path folder = work::defaultDemoFolder();
  std::error_code ignored;
  if (std::filesystem::exists(folder / "garden.sqlite", ignored)) {
    Q_EMIT demoReady(models::pathText(folder));
  } else if (m_job == nullptr) {
    buildDemo();
  }
}

void WelcomePanel::buildDemo() {
  const auto samples = work::samplesFolder();
  if (!samples) {
    m_services.messages->sayError(samples.error());
    return;
  }
  setBusy(Busy::Yes);
  const std::filesystem::path folder = work::defaultDemoFolder();
  m_job = m_services.jobs->start<bool>(
      this,
      [folder, samples = *samples](const JobControl& control) -> Result<bool> {
        EDAMORI_RETURN_IF_ERROR(
            work::buildDemo(folder, samples, [&control](const work::DemoProgress& at) {
              control.report(at.done, at.total, models::qText(at.doing));
              return !control.isCancelled();
            }));
        return true;
      },
      [this, folder](Result<bool> built) {
        m_job = nullptr;
        setBusy(Busy::No);
        if (built) {
          Q_EMIT demoReady(models::pathText(folder));
        } else if (built.error().code == ErrorCode::Cancelled) {
          m_services.messages->say(tr("The demo garden was not built; nothing was left behind."));
        } else {
          m_services.messages->sayError(built.error());
        }
      });
  connect(m_job, &Job::progressed, this, [this](int done, int total, const QString& doing) {
    m_progress->setRange(0, total);
    m_progress->setValue(done);
    m_doing->setText(tr("Building the demo garden: %1").arg(doing));
  });
}

void WelcomePanel::setBusy(Busy busy) {
  const bool isBusy = busy == Busy::Yes;
  m_busy->setVisible(isBusy);
  m_progress->setRange(0, 0);
  m_doing->setText(tr("Building the demo garden…"));
  for (QPushButton* each : {m_demo, m_new, m_open}) {
    each->setEnabled(!isBusy);
  }
}

}  // namespace edamori::pages
