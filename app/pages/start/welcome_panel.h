// SPDX-License-Identifier: GPL-3.0-or-later
// What is shown while no garden is open: three ways to one.
#pragma once

#include "app/pages/page_services.h"

#include <QPointer>
#include <QWidget>

class QLabel;
class QProgressBar;
class QPushButton;

namespace edamori::pages {

class WelcomePanel : public QWidget {
  Q_OBJECT

 public:
  explicit WelcomePanel(QWidget* parent = nullptr);
  void setServices(const PageServices& services) { m_services = services; }
  // Opens the demo garden, building it first when it is not there.
  void openDemo();

 Q_SIGNALS:
  void demoReady(const QString& folder);
  void newRequested();
  void openRequested();

 private:
  QWidget* createProgress();
  void buildDemo();
  enum class Busy { No, Yes };
  void setBusy(Busy busy);

  PageServices m_services;
  QPointer<Job> m_job;
  QPushButton* m_demo;
  QPushButton* m_new;
  QPushButton* m_open;
  QWidget* m_busy;
  QLabel* m_doing;
  QProgressBar* m_progress;
};

}  // namespace edamori::pages
