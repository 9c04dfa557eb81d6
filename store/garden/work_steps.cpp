// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/garden/table_internal.h"

namespace edamori::store {

Result<std::vector<WorkStep>> Garden::workSteps(const PhotoId& photo) const {
  return guarded(folder(), [&]() -> Result<std::vector<WorkStep>> {
    SQLite::Statement query(
        connection().database(),
        "SELECT number, what, is_done, changes FROM work_step WHERE photo = ? ORDER BY number");
    query.bind(1, photo.text);
    std::vector<WorkStep> steps;
    while (query.executeStep()) {
      steps.push_back({.photo = photo,
                       .number = query.getColumn(0).getInt(),
                       .what = query.getColumn(1).getString(),
                       .isDone = query.getColumn(2).getInt() != 0,
                       .changes = query.getColumn(3).getString()});
    }
    return steps;
  });
}

Result<void> Garden::putWorkStep(const WorkStep& step) {
  if (step.photo.isEmpty() || step.number < 1) {
    return fail(ErrorCode::InvalidArgument, "a step of work needs a photo and a number from 1 on");
  }
  return connection().inTransaction([&]() -> Result<void> {
    EDAMORI_RETURN_IF_ERROR(forgetWorkSteps(step.photo, step.number));
    SQLite::Statement insert(connection().database(),
                             "INSERT INTO work_step (photo, number, what, is_done, changes)"
                             " VALUES (?, ?, ?, ?, ?)");
    insert.bind(1, step.photo.text);
    insert.bind(2, step.number);
    insert.bind(3, step.what);
    insert.bind(4, step.isDone ? 1 : 0);
    insert.bind(5, step.changes);
    insert.exec();
    return {};
  });
}

Result<void> Garden::updateWorkStep(const WorkStep& step) {
  return connection().inTransaction([&]() -> Result<void> {
    SQLite::Statement update(connection().database(),
                             "UPDATE work_step SET what = ?, is_done = ?, changes = ?"
                             " WHERE photo = ? AND number = ?");
    update.bind(1, step.what);
    update.bind(2, step.isDone ? 1 : 0);
    update.bind(3, step.changes);
    update.bind(4, step.photo.text);
    update.bind(5, step.number);
    update.exec();
    return {};
  });
}

Result<void> Garden::forgetWorkSteps(const PhotoId& photo, int fromNumber) {
  return connection().inTransaction([&]() -> Result<void> {
    SQLite::Statement forget(connection().database(),
                             "DELETE FROM work_step WHERE photo = ? AND number >= ?");
    forget.bind(1, photo.text);
    forget.bind(2, fromNumber);
    forget.exec();
    return {};
  });
}

}  // namespace edamori::store
