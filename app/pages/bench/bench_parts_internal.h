// SPDX-License-Identifier: GPL-3.0-or-later
// What the Bench page is made of; for bench_*.cpp alone.
#pragma once

#include "app/pages/bench/action_list.h"
#include "app/pages/bench/bench_page.h"
#include "app/pages/bench/branch_chooser.h"
#include "app/pages/bench/branch_panel.h"
#include "app/pages/bench/candidate_tool.h"
#include "app/pages/bench/candidate_widgets.h"
#include "app/pages/bench/candidates.h"
#include "app/pages/bench/figures_panel.h"
#include "app/pages/bench/live_figures.h"
#include "app/pages/bench/mark_panel.h"
#include "app/pages/bench/marks_list.h"
#include "app/pages/bench/measure_run.h"
#include "app/pages/bench/over_bars.h"
#include "app/pages/bench/photo_desk.h"
#include "app/pages/bench/photo_picture.h"
#include "app/pages/bench/photo_view.h"
#include "app/pages/bench/tool.h"

#include "app/work/carry_marks.h"
#include "app/work/carry_outlines.h"

#include <QFutureWatcher>
#include <QPointer>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

class QAction;
class QActionGroup;
class QKeySequence;
class QLabel;
class QMenu;
class QTabWidget;
class QToolBar;

namespace edamori::pages {

class BenchPage::Parts {
 public:
  explicit Parts(BenchPage& page);

  void setSession(GardenSession* session);
  Result<void> openPhoto(const store::PhotoId& photo);

  PhotoDesk desk;

 private:
  // bench_page.cpp: what is where.
  void createLayout();
  QWidget* createHeader();
  QToolBar* createToolColumn();
  QWidget* createPanel();
  void connectDesk();
  void connectView();
  void connectMeasuring();
  void connectBars();

  // bench_actions.cpp: what can be done, and by which key.
  void createActions();
  void createTools();
  void createChoiceActions();
  void showSteps();
  void createPhotoActions();
  void createMeasureActions();
  void createPaneActions();
  void createViewActions();
  void createFurtherActions();
  QAction* addAction(const QString& name,
                     const QString& text,
                     const QString& toolTip,
                     const QList<QKeySequence>& keys);
  void addTool(Tool& tool,
               const QString& name,
               const QString& text,
               const QIcon& icon,
               const QKeySequence& key);
  void updateActions();

  // bench_flow.cpp: what happens.
  void showPhoto();
  void showHeader();
  void showPicture(const Picture& picture);
  void showFailure(const QString& message);
  void showTints();
  void say(const QString& line);  // below the photo
  void refuse(const QString& line);
  void useTool(Tool& tool);
  void goTo(int step);
  void cyclePanes(int step);
  void askForBranch();
  void leaveChooser();
  void measure(std::vector<const store::OutlineRecord*> outlines);
  void startMeasuring(std::vector<OutlineToMeasure> outlines);
  void finishMeasuring(const MeasureReport& report);

  // bench_live.cpp: figures that follow the hint brush.
  void connectLive();
  void updateLive();
  void followOutline(const store::OutlineRecord& outline);
  void leaveLive();  // what the strokes changed is then measured and kept
  void keepNext();

  // bench_more.cpp: what happens beside drawing and measuring.
  void openNext(const std::optional<store::PhotoId>& photo, const QString& elseSay);
  void copyMarksOn();
  void finishCopying();
  void carryOutlinesHere();
  void finishCarrying();
  void showActionList();
  void showMenu(const QPoint& global, PointPx at);
  void chooseAt(PointPx at);
  void addLeaveOutActions(QMenu& menu);
  void keepRuler(double lengthMm);
  void leaveRuler();
  void showSize();

  // bench_offers.cpp: offered scale insects.
  void createOfferActions();
  void connectOffers();
  void lookForInsects();
  void finishLooking(const store::PhotoId& photo, const CandidateRun::Found& found);
  void goToOffer(int step);
  void showOfferCount();
  void updateOfferActions();
  void addOfferActions(QMenu& menu, PointPx at);

  BenchPage& m_page;
  PictureLoader m_loader;
  MeasureRun m_run;
  QPointer<GardenSession> m_measuredSession;
  store::PhotoId m_measuredPhoto;
  int m_leftOut = 0;  // outlines that measuring all passes over
  LiveFigures m_live;
  std::vector<store::HintStroke> m_hintsBefore, m_hintsNow;  // of the outline followed
  std::vector<store::HintStroke> m_judged;                   // with the stroke in hand
  std::vector<OutlineToMeasure> m_toKeep;

  PhotoView* m_view;
  PanTool m_pan;
  OutlineTool m_outline;
  DotTool m_dot;
  PatchTool m_patch;
  SelectTool m_select;
  HoleTool m_hole;
  RulerTool m_ruler;
  HintTool m_hintBrush;
  Candidates m_candidates;
  CandidateTool m_offer;
  CandidateRun m_candidateRun;
  QPointer<GardenSession> m_candidateSession;
  ActionKeys m_keys;
  // Marks on their way to another photo.
  struct Copying {
    store::PhotoId to;
    Result<work::CarriedMarks> carried;
  };
  QFutureWatcher<std::shared_ptr<Copying>> m_copying;
  QPointer<GardenSession> m_copiedSession;
  // Outlines of another photo on their way here.
  struct Carrying {
    store::PhotoId photo;
    Result<work::ProposedOutlines> proposed;
  };
  QFutureWatcher<std::shared_ptr<Carrying>> m_carrying;
  QPointer<GardenSession> m_carryingSession;
  std::map<store::PhotoId, Polygon> m_drafts;  // outlines left unfinished on other photos
  store::PhotoId m_shown;
  std::string m_shownMask;

  QActionGroup* m_tools = nullptr;
  QAction *m_undo = nullptr, *m_redo = nullptr, *m_remove = nullptr, *m_chooseAll = nullptr;
  QAction *m_zoomIn = nullptr, *m_zoomOut = nullptr, *m_fit = nullptr, *m_pixels = nullptr;
  QAction *m_previous = nullptr, *m_next = nullptr, *m_tree = nullptr;
  QAction *m_confirm = nullptr, *m_confirmAll = nullptr, *m_measure = nullptr, *m_measureAll = nullptr, *m_tint = nullptr;
  QAction *m_loupe = nullptr, *m_light = nullptr, *m_overlay = nullptr, *m_actionList = nullptr;
  QAction *m_unmarked = nullptr, *m_copyMarks = nullptr, *m_carryOutlines = nullptr, *m_removeRuler = nullptr;
  QAction *m_offerTool = nullptr, *m_accept = nullptr, *m_reject = nullptr;
  QAction *m_acceptAll = nullptr, *m_rejectAll = nullptr;
  QAction *m_nextOffer = nullptr, *m_previousOffer = nullptr;

  QLabel *m_title = nullptr, *m_date = nullptr, *m_uncertain = nullptr, *m_zoom = nullptr;
  QLabel *m_hint = nullptr, *m_place = nullptr, *m_size = nullptr;
  LightBar* m_lightBar = nullptr;
  RulerBar* m_rulerBar = nullptr;
  HintBar* m_hintBar = nullptr;
  CandidateBar* m_candidateBar = nullptr;
  BranchChooser* m_chooser = nullptr;
  QTabWidget* m_tabs = nullptr;
  QWidget* m_markPage = nullptr;  // the next mark and the list of marks
  BranchPanel* m_branchPanel = nullptr;
  FiguresPanel* m_figures = nullptr;
  MarksList* m_marks = nullptr;
  CandidatesPanel* m_offers = nullptr;
};

}  // namespace edamori::pages
