// SPDX-License-Identifier: GPL-3.0-or-later
// Drives the real window as a person does: by mouse, or by keys alone.
#pragma once

#include "app/pages/main_window.h"
#include "tests/support/matchers.h"
#include "tests/support/temporary_folder.h"

#include <QApplication>
#include <QComboBox>
#include <QDateEdit>
#include <QDialog>
#include <QImage>
#include <QLabel>
#include <QLineEdit>
#include <QPainter>
#include <QPushButton>
#include <QRandomGenerator>
#include <QSettings>
#include <QTest>
#include <filesystem>
#include <functional>
#include <memory>

#include <gmock/gmock.h>

namespace edamori::test {

inline QString qPath(const std::filesystem::path& path) {
  return QString::fromStdString(path.string());
}

// A scene of many leaf-like ellipses, `shiftPx` to the right; the same seed gives the same scene.
inline QImage leafScene(quint32 seed, int shiftPx) {
  QImage image(960, 720, QImage::Format_RGB32);
  image.fill(QColor(196, 188, 176));
  QPainter painter(&image);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setPen(Qt::NoPen);
  QRandomGenerator random(seed);
  for (int i = 0; i < 700; ++i) {
    const QPointF at(random.bounded(960) + shiftPx, random.bounded(720));
    painter.save();
    painter.translate(at);
    painter.rotate(random.bounded(180));
    painter.setBrush(
        QColor(40 + random.bounded(60), 96 + random.bounded(80), 30 + random.bounded(40)));
    painter.drawEllipse(QPointF(), 10 + random.bounded(22), 5 + random.bounded(10));
    painter.restore();
  }
  return image;
}

class WindowDriver : public ::testing::Test {
 protected:
  void SetUp() override {
    // Neither settings nor the demo garden of the person are touched.
    QSettings::setPath(QSettings::NativeFormat, QSettings::UserScope, qPath(m_folder / "settings"));
    qputenv("XDG_DATA_HOME", QByteArray::fromStdString((m_folder / "data").string()));
    openWindow();
  }

  void openWindow(
      pages::MainWindow::StartWith start = pages::MainWindow::StartWith::LastGarden) {
    m_window.reset();
    m_window = std::make_unique<pages::MainWindow>(start);
    m_window->resize(1280, 800);
    m_window->show();
    ASSERT_TRUE(QTest::qWaitForWindowActive(m_window.get()));
  }

  // Two photos of one scene, 14 px apart, in a folder of their own.
  std::filesystem::path photoFolder() {
    const std::filesystem::path folder = m_folder / "card";
    std::filesystem::create_directories(folder);
    EXPECT_TRUE(leafScene(7, 0).save(qPath(folder / "a.jpg"), "JPG", 92));
    EXPECT_TRUE(leafScene(7, 14).save(qPath(folder / "b.jpg"), "JPG", 92));
    return folder;
  }

  [[nodiscard]] std::filesystem::path gardenFolder() const { return m_folder / "garden"; }
  [[nodiscard]] pages::MainWindow& window() { return *m_window; }

  // A second, independent look at what the garden holds.
  [[nodiscard]] store::Garden stored() {
    auto garden = store::Garden::open(gardenFolder());
    EXPECT_THAT(garden, isOk());
    return std::move(garden).value();
  }

  template <typename T>
  T* child(const char* name) {
    // In the form on top first, so that names need only be unique within a form.
    QWidget* top = QApplication::activeModalWidget();
    T* found = top == nullptr ? nullptr : top->findChild<T*>(QLatin1String(name));
    if (found == nullptr) {
      found = m_window->findChild<T*>(QLatin1String(name));
    }
    if (found == nullptr) {
      ADD_FAILURE() << "there is no control named " << name;
      std::abort();
    }
    return found;
  }

  static bool waitFor(const std::function<bool()>& condition, int limitMs = 20000) {
    return QTest::qWaitFor(condition, limitMs);
  }
  // Until the form is shown and has the keyboard, as a window manager would give it.
  bool waitForForm(const char* name) {
    return waitFor([name] {
      QWidget* top = QApplication::activeModalWidget();
      if (top == nullptr || !top->isVisible() || top->objectName() != QLatin1String(name)) {
        return false;
      }
      top->activateWindow();
      return QApplication::focusWidget() != nullptr && QApplication::focusWidget()->window() == top;
    });
  }
  bool waitForNoForm() {
    // The window takes the keyboard back, as a window manager would have it.
    return waitFor([this] {
      if (QApplication::activeModalWidget() != nullptr) {
        return false;
      }
      m_window->activateWindow();
      return QApplication::activeWindow() == m_window.get();
    });
  }
  [[nodiscard]] QString message() { return child<QLabel>("messageText")->text(); }

  // By mouse.
  void click(const char* name) {
    auto* widget = child<QWidget>(name);
    ASSERT_TRUE(waitFor([widget] { return widget->isVisible() && widget->isEnabled(); })) << name;
    QTest::mouseClick(widget, Qt::LeftButton, {}, widget->rect().center());
  }
  void fill(const char* name, const char* text) {
    auto* edit = child<QLineEdit>(name);
    QTest::mouseClick(edit, Qt::LeftButton);
    edit->selectAll();
    QTest::keyClicks(edit, QLatin1String(text));
  }
  // Paths may be non-ASCII, which QTest::keyClicks cannot type: pasted instead.
  void paste(const char* name, const std::filesystem::path& path) {
    auto* edit = child<QLineEdit>(name);
    edit->setFocus();
    edit->selectAll();
    edit->insert(qPath(path));
  }

  // By keys.
  static void press(Qt::Key key, Qt::KeyboardModifiers modifiers = {}) {
    QWidget* focus = QApplication::focusWidget();
    ASSERT_NE(focus, nullptr) << "nothing has the focus";
    QTest::keyClick(focus, key, modifiers);
  }
  static void type(const char* text) {
    ASSERT_NE(QApplication::focusWidget(), nullptr);
    QTest::keyClicks(QApplication::focusWidget(), QLatin1String(text));
  }
  // Presses Tab until the control has the focus.
  void tabTo(const char* name) {
    QStringList passed;
    for (int i = 0; i < 80; ++i) {
      const QWidget* focus = QApplication::focusWidget();
      if (focus != nullptr && focus->objectName() == QLatin1String(name)) {
        return;
      }
      passed << (focus == nullptr ? QStringLiteral("nothing") : focus->objectName());
      QTest::keyClick(
          focus == nullptr ? static_cast<QWidget*>(m_window.get()) : QApplication::focusWidget(),
          Qt::Key_Tab);
    }
    FAIL() << "Tab never reaches " << name << "; it passes "
           << passed.join(QStringLiteral(", ")).toStdString();
  }

  TemporaryFolder m_folder;
  std::unique_ptr<pages::MainWindow> m_window;
};

}  // namespace edamori::test
