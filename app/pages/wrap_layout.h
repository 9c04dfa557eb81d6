// SPDX-License-Identifier: GPL-3.0-or-later
// A row of controls that goes on below where the width ends.
#pragma once

#include <QLayout>
#include <memory>
#include <vector>

namespace edamori::pages {

// Each item keeps the size it asks for. A bar over a narrow photo, or one with large letters, thus
// grows downwards instead of cutting words.
class WrapLayout : public QLayout {
 public:
  explicit WrapLayout(QWidget* parent);
  ~WrapLayout() override;

  // A label and its field, which stay side by side.
  void addPair(QWidget* label, QWidget* field);

  void addItem(QLayoutItem* item) override;
  [[nodiscard]] int count() const override;
  [[nodiscard]] QLayoutItem* itemAt(int index) const override;
  QLayoutItem* takeAt(int index) override;
  [[nodiscard]] Qt::Orientations expandingDirections() const override { return {}; }
  [[nodiscard]] bool hasHeightForWidth() const override { return true; }
  [[nodiscard]] int heightForWidth(int width) const override;
  [[nodiscard]] QSize sizeHint() const override;     // all in one row
  [[nodiscard]] QSize minimumSize() const override;  // room for the widest item
  void setGeometry(const QRect& rect) override;

 private:
  struct Row {
    std::vector<QLayoutItem*> items;
    int width = 0, height = 0;  // px
  };
  [[nodiscard]] std::vector<Row> rowsWithin(int width) const;
  [[nodiscard]] QSize framed(QSize inside) const;

  std::vector<std::unique_ptr<QLayoutItem>> m_items;
};

}  // namespace edamori::pages
