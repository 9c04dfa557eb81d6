// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/program.h"

#include "app/pages/main_window.h"

#include <QApplication>
#include <cstdio>

namespace edamori::pages {

int openWindow(int argc, char** argv, const std::filesystem::path& garden) {
  const bool hasScreen = !qEnvironmentVariableIsEmpty("DISPLAY") ||
                         !qEnvironmentVariableIsEmpty("WAYLAND_DISPLAY") ||
                         !qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM");
  if (!hasScreen) {
    std::fputs(
        "edamori: there is no display to open the window on; see edamori --help for the commands\n",
        stderr);
    return 2;
  }
  QApplication application(argc, argv);
  QApplication::setApplicationName(QStringLiteral("edamori"));
  QApplication::setOrganizationName(QStringLiteral("edamori"));
  QApplication::setApplicationDisplayName(QStringLiteral("Edamori"));
  // A garden that was asked for and cannot be opened must not be mistaken for the last one.
  MainWindow window(garden.empty() ? MainWindow::StartWith::LastGarden
                                   : MainWindow::StartWith::Welcome);
  window.show();
  if (!garden.empty()) {
    // The window says itself why a garden could not be opened.
    (void)window.openGarden(garden);
  }
  return QApplication::exec();
}

}  // namespace edamori::pages
