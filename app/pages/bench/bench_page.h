// SPDX-License-Identifier: GPL-3.0-or-later
// Bench: one photo, close; outlines, dots and patches, measuring.
#pragma once

#include "app/pages/garden_session.h"

#include <QWidget>
#include <memory>

namespace edamori::pages {

class BenchPage : public QWidget {
  Q_OBJECT

 public:
  explicit BenchPage(QWidget* parent = nullptr);
  ~BenchPage() override;

  // The garden to work on; nullptr lets go of it (and of the photo).
  void setSession(GardenSession* session);
  // Shows the photo with its outlines, marks and figures. Its pixels are decoded in a worker; when
  // that fails, one line says so in their place. Errors: InvalidArgument without a garden;
  // NotFound; those of reading the garden.
  Result<void> openPhoto(const store::PhotoId& photo);
  [[nodiscard]] store::PhotoId currentPhoto() const;
  // The tree of the current photo; empty without a photo and when it is not filed.
  [[nodiscard]] store::TreeId currentTree() const;

 Q_SIGNALS:
  // The person wants to see the tree of the current photo.
  void treeRequested(const edamori::store::TreeId& tree);

 private:
  class Parts;
  std::unique_ptr<Parts> m_parts;
};

}  // namespace edamori::pages
