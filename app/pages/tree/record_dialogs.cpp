// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/pages/tree/record_dialogs.h"

#include "app/look/theme.h"
#include "app/models/text.h"

#include <QComboBox>
#include <QDateEdit>
#include <QFormLayout>
#include <QFrame>
#include <QLabel>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QScrollArea>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>

namespace edamori::pages {

using models::qText;
using models::stdText;

namespace {

std::string textOf(const QLineEdit* edit) { return stdText(edit->text().trimmed()); }

template <typename Enum>
void fillKinds(QComboBox* box, std::initializer_list<Enum> kinds, Enum chosen) {
  for (const Enum kind : kinds) {
    box->addItem(models::capitalised(qText(store::toText(kind))), static_cast<int>(kind));
  }
  box->setCurrentIndex(std::max(0, box->findData(static_cast<int>(chosen))));
}

void fillBranches(QComboBox* box,
                  const std::vector<store::Branch>& branches,
                  const store::BranchId& chosen) {
  box->addItem(QObject::tr("The whole tree"), QString());
  for (const store::Branch& branch : branches) {
    box->addItem(qText(branch.name), qText(branch.id.text));
  }
  box->setCurrentIndex(std::max(0, box->findData(qText(chosen.text))));
}

store::BranchId branchOf(const QComboBox* box) { return {stdText(box->currentData().toString())}; }

// The day is the person's; the time of day stays as it was when the day did.
store::LocalTime withDate(store::LocalTime time, const QDate& date) {
  if (models::qDate(time.date) != date) {
    time = store::LocalTime{};
    time.date = models::dateOf(date);
  }
  return time;
}

template <typename IdType>
IdType orNew(const IdType& id) {
  return id.isEmpty() ? IdType::create() : id;
}

}  // namespace

BranchDialog::BranchDialog(const store::Branch& branch, QStringList otherNames, QWidget* parent)
    : FormDialog(branch.id.isEmpty() ? tr("Add a branch") : tr("Edit branch"),
                 branch.id.isEmpty() ? tr("&Add the branch") : tr("&Save"),
                 parent),
      m_branch(branch),
      m_otherNames(std::move(otherNames)),
      m_name(lineEdit(QStringLiteral("branchName"), qText(branch.name))),
      m_kind(choice(QStringLiteral("branchKind"))) {
  setObjectName(QStringLiteral("branchDialog"));
  using Kind = store::BranchKind;
  fillKinds(m_kind,
            {Kind::Branch, Kind::Apex, Kind::TrunkLine, Kind::Fork, Kind::SurfaceRoots},
            branch.kind);
  m_name->setPlaceholderText(tr("e.g. first left"));
  addField(form(), tr("&Name:"), m_name);
  addField(form(), tr("&Kind:"), m_kind);
}

store::Branch BranchDialog::branch() const {
  store::Branch branch = m_branch;
  branch.id = orNew(branch.id);
  branch.name = textOf(m_name);
  branch.kind = static_cast<store::BranchKind>(m_kind->currentData().toInt());
  return branch;
}

QString BranchDialog::problem() {
  const QString name = m_name->text().trimmed();
  if (!name.isEmpty() && !m_otherNames.contains(name)) {
    return {};
  }
  m_name->setFocus();
  return name.isEmpty()
             ? tr("Enter a name for the branch.")
             : tr("This tree has a branch named %1 already; choose another name.").arg(name);
}

PhotoDialog::PhotoDialog(const store::Photo& photo,
                         const std::vector<store::Tree>& trees,
                         QWidget* parent)
    : FormDialog(tr("Edit photo"), tr("&Save"), parent),
      m_photo(photo),
      m_date(dateEdit(QStringLiteral("photoDate"), models::qDate(photo.takenAt.date))),
      m_view(choice(QStringLiteral("photoView"))),
      m_tree(choice(QStringLiteral("photoTree"))),
      m_note(textEdit(QStringLiteral("photoNote"), qText(photo.note))) {
  setObjectName(QStringLiteral("photoDialog"));
  using View = store::View;
  fillKinds(
      m_view,
      {View::Unknown, View::Front, View::Back, View::Left, View::Right, View::Below, View::CloseUp},
      photo.view);
  m_tree->addItem(tr("No tree (not filed)"), QString());
  for (const store::Tree& tree : trees) {
    m_tree->addItem(models::treeWords(tree), qText(tree.id.text));
  }
  m_tree->setCurrentIndex(std::max(0, m_tree->findData(qText(photo.tree.text))));
  addField(form(), tr("Taken &on:"), m_date);
  form()->addRow(QString(),
                 label(tr("Date from: %1. A date changed here counts as edited by hand.")
                           .arg(qText(store::toText(photo.dateSource))),
                       QStringLiteral("quiet")));
  addField(form(), tr("&View:"), m_view);
  addField(form(), tr("&Tree:"), m_tree);
  addField(form(), tr("&Note:"), m_note);
}

store::Photo PhotoDialog::photo() const {
  store::Photo photo = m_photo;
  photo.takenAt = withDate(photo.takenAt, m_date->date());
  if (photo.takenAt.date != m_photo.takenAt.date) {
    photo.dateSource = store::DateSource::Edited;
  }
  photo.view = static_cast<store::View>(m_view->currentData().toInt());
  photo.tree = {stdText(m_tree->currentData().toString())};
  photo.note = stdText(m_note->toPlainText());
  return photo;
}

TreatmentDialog::TreatmentDialog(const store::Treatment& treatment,
                                 const std::vector<store::Branch>& branches,
                                 QWidget* parent)
    : FormDialog(treatment.id.isEmpty() ? tr("Add a treatment") : tr("Edit treatment"),
                 treatment.id.isEmpty() ? tr("&Add the treatment") : tr("&Save"),
                 parent),
      m_treatment(treatment) {
  setObjectName(QStringLiteral("treatmentDialog"));
  createFields(branches);
  createSprayFields();
  showKind();
  connect(m_kind, &QComboBox::currentIndexChanged, this, &TreatmentDialog::showKind);
}

void TreatmentDialog::createFields(const std::vector<store::Branch>& branches) {
  using Kind = store::TreatmentKind;
  m_kind = choice(QStringLiteral("treatmentKind"));
  fillKinds(
      m_kind,
      {Kind::HandRemoval, Kind::Brushing, Kind::Plucking, Kind::Thinning, Kind::Spray, Kind::Other},
      m_treatment.kind);
  m_date = dateEdit(
      QStringLiteral("treatmentDate"),
      models::qDate(m_treatment.doneAt.isKnown() ? m_treatment.doneAt.date : models::today()));
  m_branch = choice(QStringLiteral("treatmentBranch"));
  fillBranches(m_branch, branches, m_treatment.branch);
  m_who = lineEdit(QStringLiteral("treatmentWho"), qText(m_treatment.who));
  m_note = textEdit(QStringLiteral("treatmentNote"), qText(m_treatment.note));
  m_note->setFixedHeight(look::forText(56));
  addField(form(), tr("&Kind:"), m_kind);
  addField(form(), tr("&Done on:"), m_date);
  addField(form(), tr("&Branch:"), m_branch);
  addField(form(), tr("&Who did it:"), m_who);
  addField(form(), tr("&Note:"), m_note);
}

void TreatmentDialog::createSprayFields() {
  const auto field = [](const char* name, const std::string& text) {
    return lineEdit(QLatin1String(name), qText(text));
  };
  m_product = field("treatmentProduct", m_treatment.product);
  m_registration = field("treatmentRegistration", m_treatment.registrationNumber);
  m_amount = field("treatmentAmount", m_treatment.amount);
  m_dose = field("treatmentDose", m_treatment.dose);
  m_area = field("treatmentArea", m_treatment.areaTreated);
  m_place = field("treatmentPlace", m_treatment.place);
  m_certificate = field("treatmentCertificate", m_treatment.certificateNumber);
  m_reentry = field("treatmentReentry", {});
  if (m_treatment.reentryHours) {
    m_reentry->setText(QString::number(*m_treatment.reentryHours));
  }
  m_amount->setPlaceholderText(tr("with unit, e.g. 250 ml"));
  m_dose->setPlaceholderText(tr("with unit, as on your label"));
  m_area->setPlaceholderText(tr("with unit, e.g. 1 tree, 2 m²"));
  m_reentry->setPlaceholderText(tr("hours, from your product's label"));
  m_spray = new QWidget;
  auto* fields = new QFormLayout(m_spray);
  fields->setContentsMargins(0, 0, 0, 0);
  fields->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
  addField(fields, tr("&Product:"), m_product);
  addField(fields, tr("&Registration no.:"), m_registration);
  addField(fields, tr("A&mount used:"), m_amount);
  addField(fields, tr("D&ose:"), m_dose);
  addField(fields, tr("Ar&ea treated:"), m_area);
  addField(fields, tr("P&lace:"), m_place);
  addField(fields, tr("&Certificate no.:"), m_certificate);
  addField(fields, tr("Re-entr&y after:"), m_reentry);
  auto* notice = new QFrame;
  notice->setProperty("role", QStringLiteral("notice"));
  auto* inside = new QVBoxLayout(notice);
  inside->setContentsMargins(look::kGrid, look::kGrid / 2, look::kGrid, look::kGrid / 2);
  auto* cautions =
      label(QStringLiteral("• ") + models::sprayCautions().join(QStringLiteral("\n• ")),
            QStringLiteral("small"));
  cautions->setObjectName(QStringLiteral("sprayCautions"));
  inside->addWidget(cautions);
  // A form row gives a wrapping label too little height, so the notice stands below the form.
  fieldsBeside(m_spray);
  body()->addWidget(notice);
  m_notice = notice;
}

store::TreatmentKind TreatmentDialog::kind() const {
  return static_cast<store::TreatmentKind>(m_kind->currentData().toInt());
}

void TreatmentDialog::showKind() {
  const bool isSpray = kind() == store::TreatmentKind::Spray;
  m_spray->setVisible(isSpray);
  m_notice->setVisible(isSpray);
  setMinimumWidth(dialogWidth(isSpray ? 860 : 460));
  fitFields();
}

store::Treatment TreatmentDialog::treatment() const {
  store::Treatment t = m_treatment;
  t.id = orNew(t.id);
  t.kind = kind();
  t.doneAt = withDate(t.doneAt, m_date->date());
  t.branch = branchOf(m_branch);
  t.who = textOf(m_who);
  t.note = stdText(m_note->toPlainText());
  if (t.kind == store::TreatmentKind::Spray) {
    t.product = textOf(m_product);
    t.registrationNumber = textOf(m_registration);
    t.amount = textOf(m_amount);
    t.dose = textOf(m_dose);
    t.areaTreated = textOf(m_area);
    t.place = textOf(m_place);
    t.certificateNumber = textOf(m_certificate);
    const QString hours = m_reentry->text().trimmed();
    t.reentryHours = hours.isEmpty() ? std::nullopt : std::optional(hours.toDouble());
  }
  return t;
}

QString TreatmentDialog::problem() {
  const QString hours = m_reentry->text().trimmed();
  bool isNumber = true;
  const double value = hours.isEmpty() ? 0.0 : hours.toDouble(&isNumber);
  if (kind() == store::TreatmentKind::Spray &&
      (!isNumber || !std::isfinite(value) || value < 0.0)) {
    m_reentry->setFocus();
    return tr("Enter the re-entry time in hours as a number (e.g. 12 or 0.5), or leave it empty.");
  }
  // What a record lacks is named in the list, and never stops the person from writing it down.
  return {};
}

RecheckDialog::RecheckDialog(const store::Recheck& recheck,
                             const std::vector<store::Branch>& branches,
                             QWidget* parent)
    : FormDialog(
          tr("Plan a check"), recheck.id.isEmpty() ? tr("&Add the check") : tr("&Save"), parent),
      m_recheck(recheck),
      m_due(dateEdit(QStringLiteral("recheckDue"),
                     recheck.due.ok() ? models::qDate(recheck.due)
                                      : models::qDate(models::today()).addDays(14))),
      m_branch(choice(QStringLiteral("recheckBranch"))),
      m_reason(lineEdit(QStringLiteral("recheckReason"), qText(recheck.reason))) {
  setObjectName(QStringLiteral("recheckDialog"));
  fillBranches(m_branch, branches, recheck.branch);
  m_reason->setPlaceholderText(tr("what to look for"));
  addField(form(), tr("&Due on:"), m_due);
  addField(form(), tr("&Branch:"), m_branch);
  addField(form(), tr("&Reason:"), m_reason);
}

store::Recheck RecheckDialog::recheck() const {
  store::Recheck recheck = m_recheck;
  recheck.id = orNew(recheck.id);
  recheck.due = models::dateOf(m_due->date());
  recheck.branch = branchOf(m_branch);
  recheck.reason = textOf(m_reason);
  return recheck;
}

QString RecheckDialog::problem() {
  if (m_reason->text().trimmed().isEmpty()) {
    m_reason->setFocus();
    return tr("Enter what to look for at the check.");
  }
  return {};
}

NoteDialog::NoteDialog(const store::Note& note, QWidget* parent)
    : FormDialog(note.id.isEmpty() ? tr("Add a note") : tr("Edit note"),
                 note.id.isEmpty() ? tr("&Add the note") : tr("&Save"),
                 parent),
      m_note(note),
      m_text(textEdit(QStringLiteral("noteText"), qText(note.text))) {
  setObjectName(QStringLiteral("noteDialog"));
  m_text->setFixedHeight(look::forText(140));
  addField(form(), tr("&Note:"), m_text);
}

store::Note NoteDialog::note() const {
  store::Note note = m_note;
  if (note.id.isEmpty()) {
    note.id = store::NoteId::create();
    note.writtenAt = store::now();
  }
  note.text = stdText(m_text->toPlainText().trimmed());
  return note;
}

QString NoteDialog::problem() {
  if (m_text->toPlainText().trimmed().isEmpty()) {
    m_text->setFocus();
    return tr("Write the note first.");
  }
  return {};
}

}  // namespace edamori::pages
