// SPDX-License-Identifier: GPL-3.0-or-later
// The hand that judges offered scale insects, and how they look on the photo.
#pragma once

#include "app/pages/bench/candidates.h"
#include "app/pages/bench/tool.h"

namespace edamori::pages {

// A click on an offer accepts it, a drag moves the photo.
class CandidateTool : public Tool {
  Q_OBJECT

 public:
  CandidateTool(Candidates& candidates, PhotoDesk& desk, PhotoView& view, QObject* parent);
  void press(const ToolPoint& at) override;
  void drag(const ToolPoint& at) override;
  void hover(const ToolPoint& at) override;
  void release(const ToolPoint& at) override;
  void enter(const ToolPoint& at) override;
  void finish() override;    // Enter without crosshair: accepts the chosen one
  void stepBack() override;  // Backspace: rejects the chosen one
  void cancel() override;
  void paint(QPainter& painter) const override;
  [[nodiscard]] QCursor cursor() const override { return Qt::ArrowCursor; }
  [[nodiscard]] QString hint() const override;
  // The offer under a place of the photo, −1: none.
  [[nodiscard]] int candidateAt(PointPx photo) const;

 private:
  Candidates& m_candidates;
  QPointF m_pressedAt, m_last;
  int m_pressedOn = -1, m_under = -1;
  bool m_isMoved = false;
};

}  // namespace edamori::pages
