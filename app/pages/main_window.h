// SPDX-License-Identifier: GPL-3.0-or-later
// The window: Garden, Tree, Bench and Before & After pages over one open garden.
#pragma once

#include "app/pages/garden_session.h"

#include <QMainWindow>
#include <filesystem>
#include <memory>

namespace edamori::pages {

// Opens the garden of last time when asked to, or shows the ways to one. Destroying it ends running work and
// waits for it.
class MainWindow : public QMainWindow {
  Q_OBJECT

 public:
  enum class StartWith { LastGarden, Welcome };
  explicit MainWindow(StartWith start = StartWith::LastGarden, QWidget* parent = nullptr);
  ~MainWindow() override;

  // Opens a garden folder and shows the Garden page; on failure says why, in the window too, and
  // keeps what was open.
  Result<void> openGarden(const std::filesystem::path& folder);

 protected:
  void closeEvent(QCloseEvent* event) override;
  void dragEnterEvent(QDragEnterEvent* event) override;
  void dropEvent(QDropEvent* event) override;

 private:
  class Parts;
  std::unique_ptr<Parts> m_parts;
};

}  // namespace edamori::pages
