// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/letter/render_internal.h"

#include "tests/app/letter/sample_detail.h"
#include "tests/support/temporary_folder.h"

#include <QProcess>
#include <QRegularExpression>

#include <gmock/gmock.h>

#include <algorithm>

namespace edamori::letter {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using namespace std::chrono_literals;

Document sampleDocument(const work::TreeDetail& detail = test::sampleDetail()) {
  return compose(detail, test::sampleRequest(), QStringLiteral("Test garden"), test::plainPicture);
}

// Output of a poppler tool (package poppler-utils); a tool that is not there fails the test.
QString outputOf(const QString& program, const QStringList& arguments) {
  QProcess process;
  process.start(program, arguments);
  if (!process.waitForStarted() || !process.waitForFinished() || process.exitCode() != 0) {
    ADD_FAILURE() << program.toStdString() << " could not be run; install poppler-utils";
    return {};
  }
  return QString::fromUtf8(process.readAllStandardOutput());
}

struct PdfFile {
  test::TemporaryFolder folder;
  QString path;
  explicit PdfFile(const Document& document) {
    const QByteArray bytes = toPdf(document);
    test::writeFile(folder / "letter.pdf", bytes.toStdString());
    path = QString::fromStdString((folder / "letter.pdf").string());
  }
  // In the order of drawing, runs of white space as one space.
  [[nodiscard]] QString text() const {
    return outputOf(QStringLiteral("pdftotext"), {QStringLiteral("-raw"), QStringLiteral("-enc"), QStringLiteral("UTF-8"), path, QStringLiteral("-")});
  }
  [[nodiscard]] std::string plainText() const {
    return text().replace(QRegularExpression(QStringLiteral("[\\s\\x{00A0}]+")), QStringLiteral(" ")).toStdString();
  }
  [[nodiscard]] std::string information() const { return outputOf(QStringLiteral("pdfinfo"), {path}).toStdString(); }
};

TEST(Pdf, HoldsTheFiguresOfTheRecords) {
  const std::string text = PdfFile(sampleDocument()).plainText();
  for (const char* figure : {"71.2 % (66.8–75.3 %)", "63.4 % (59.0–67.5 %)", "69.0 % (64.1–73.7 %)",
                             "62.4 % (58.1–66.9 %)", "12.4 % (5.2–19.3 %)", "8.3 % (4.7–13.1 %)",
                             "64.1 % (58.8–68.9 %)", "−1.1 % (−9.4 to 7.1 %)"}) {
    EXPECT_THAT(text, HasSubstr(figure));
  }
  EXPECT_THAT(text, HasSubstr("incomplete: registration number"));
  EXPECT_THAT(text, HasSubstr("none seen (95 % upper bound 3.7)"));
}

// ISO 216: A4 is 210 mm × 297 mm, that is 595.3 × 841.9 points.
TEST(Pdf, IsA4) { EXPECT_THAT(PdfFile(sampleDocument()).information(), HasSubstr("(A4)")); }

TEST(Pdf, NumbersItsPages) {
  const PdfFile pdf(sampleDocument());
  const QString text = pdf.text();
  const auto pages = static_cast<int>(text.count(QLatin1Char('\f')));
  EXPECT_GE(pages, 2);
  for (int page = 1; page <= pages; ++page) {
    EXPECT_TRUE(text.contains(QStringLiteral("ED-07 · page %1 of %2").arg(page).arg(pages))) << page;
  }
}

TEST(Pdf, RepeatsTheHeadOfATableOnEveryPageItRunsOver) {
  work::TreeDetail detail = test::sampleDetail();
  for (int i = 0; i < 240; ++i) {
    detail.figures.push_back(detail.figures[0]);
  }
  const QStringList pages = PdfFile(sampleDocument(detail)).text().split(QLatin1Char('\f'), Qt::SkipEmptyParts);
  int pagesWithRows = 0;
  for (const QString& page : pages) {
    if (page.contains(QStringLiteral("P1 ab12cd31 M1"))) {
      ++pagesWithRows;
      EXPECT_EQ(page.count(QStringLiteral("Outline Method Caution")), 1) << page.toStdString();
    }
  }
  EXPECT_GE(pagesWithRows, 4);
}

TEST(Pdf, NeverEndsAPageWithAHeading) {
  QStringList headings;
  for (int notes = 0; notes < 24; ++notes) {
    work::TreeDetail detail = test::sampleDetail();
    for (int i = 0; i < notes; ++i) {
      detail.notes.push_back(detail.notes.front());
    }
    const Document document = sampleDocument(detail);
    headings.clear();
    for (const Block& block : document.blocks) {
      if (const auto* heading = std::get_if<Heading>(&block)) {
        headings << heading->text;
      }
    }
    for (const QString& page : PdfFile(document).text().split(QLatin1Char('\f'), Qt::SkipEmptyParts)) {
      const QStringList lines = page.split(QLatin1Char('\n'), Qt::SkipEmptyParts);
      // The last lines are the foot.
      const auto foot = std::find_if(lines.begin(), lines.end(), [](const QString& line) {
        return line.startsWith(QStringLiteral("Condition report, "));
      });
      ASSERT_NE(foot, lines.end());
      ASSERT_NE(foot, lines.begin());
      EXPECT_FALSE(headings.contains(*(foot - 1))) << (foot - 1)->toStdString();
    }
  }
}

TEST(Pdf, WrapsLongNamesAndNeverCutsThem) {
  work::TreeDetail detail = test::sampleDetail();
  std::string longName;
  for (int i = 0; i < 60; ++i) {
    longName += "name" + std::to_string(i);  // 350 letters without a space
  }
  detail.branches[0].name = longName;
  detail.summary.tree.species = longName;
  detail.rechecks[0].reason = longName;
  QString text = PdfFile(sampleDocument(detail)).text();
  text.remove(QRegularExpression(QStringLiteral("\\s")));
  EXPECT_GE(text.count(QString::fromStdString(longName)), 5);
}

// A name too long for the marks' column, of underscores only: at those no line breaks of its own
// accord (Unicode line breaking, UAX #14, from memory). Each line ends after one of them.
TEST(Pdf, BreaksFileNamesOnlyAfterUnderscores) {
  work::TreeDetail detail = test::sampleDetail();
  std::string name;
  for (int i = 10; i < 20; ++i) {
    name += "part" + std::to_string(i) + "_";
  }
  detail.photos[0].originalName = name + ".jpg";
  const QString text = PdfFile(sampleDocument(detail)).text();
  EXPECT_FALSE(text.contains(QChar(0x200B)));
  const auto broken = QRegularExpression(QStringLiteral("part1\\d_\\n")).globalMatch(text);
  EXPECT_TRUE(broken.hasNext()) << text.toStdString();
  EXPECT_FALSE(text.contains(QRegularExpression(QStringLiteral("p(a(r(t(1\\d?)?)?)?)?\\n"))));
}

TEST(Html, OffersBreaksInFileNamesAndDrawsTheLegend) {
  work::TreeDetail detail = test::sampleDetail();
  detail.photos[0].originalName = "a_b-c.jpg";
  const Document document = compose(detail, test::sampleRequest(), {}, [](const auto& photo, const auto& branch) {
    PictureAnswer answer = test::plainPicture(photo, branch);
    answer.legend = {{answer.image, QStringLiteral("needle blight & more")}};
    return answer;
  });
  const std::string html = toHtml(document).toStdString();
  EXPECT_THAT(html, HasSubstr("a_<wbr>b-<wbr>c.jpg"));
  EXPECT_THAT(html, HasSubstr("\"> needle blight &amp; more"));
  EXPECT_THAT(PdfFile(document).plainText(), HasSubstr("needle blight & more"));
}

TEST(Pdf, SplitsARowThatIsHigherThanAPage) {
  work::TreeDetail detail = test::sampleDetail();
  QString words;
  for (int i = 0; i < 1500; ++i) {
    words += QStringLiteral("w%1 ").arg(i);
  }
  detail.treatments[0].note = words.toStdString();
  QString text = PdfFile(sampleDocument(detail)).text();
  text.replace(QRegularExpression(QStringLiteral("\\s+")), QStringLiteral(" "));
  for (const int i : {0, 400, 800, 1499}) {
    EXPECT_TRUE(text.contains(QStringLiteral(" w%1 ").arg(i))) << i;
  }
}

TEST(Html, EscapesEveryText) {
  const std::string bad = "<script>alert(\"1\")</script> & 'x'";
  work::TreeDetail detail = test::sampleDetail();
  detail.summary.tree.species = detail.summary.tree.tag = detail.summary.tree.cultivar = detail.summary.tree.place = bad;
  detail.owner->name = detail.owner->contact = bad;
  detail.branches[0].name = detail.photos[2].originalName = detail.figures[4].photoName = bad;
  detail.treatments[1].product = detail.treatments[1].note = detail.rechecks[0].reason = detail.notes[0].text = bad;
  detail.figures[5].measurement.cautions[0].text = detail.figures[5].measurement.method.name = bad;
  const Document document = compose(detail, test::sampleRequest(), QString::fromStdString(bad), test::plainPicture);
  const std::string html = toHtml(document).toStdString();
  EXPECT_THAT(html, Not(HasSubstr("<script")));
  EXPECT_THAT(html, HasSubstr("&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp;"));
}

TEST(Html, ReachesForNothingOutside) {
  const QString html = toHtml(sampleDocument());
  EXPECT_FALSE(html.contains(QStringLiteral("http:")) || html.contains(QStringLiteral("https:")));
  auto sources = QRegularExpression(QStringLiteral("(?:src|href)=\"([^\"]*)\"")).globalMatch(html);
  int count = 0;
  while (sources.hasNext()) {
    EXPECT_TRUE(sources.next().captured(1).startsWith(QStringLiteral("data:image/")));
    ++count;
  }
  EXPECT_EQ(count, 7);  // two pairs and three charts
  EXPECT_EQ(html.count(QStringLiteral("<img alt=\"")), 7);
}

TEST(Html, SaysTheSameFiguresAsThePdf) {
  const Document document = sampleDocument();
  QString html = toHtml(document);
  html.replace(QChar(0x00A0), QLatin1Char(' '));
  const QString pdf = QString::fromStdString(PdfFile(document).plainText());
  const QRegularExpression figure(QStringLiteral("−?\\d+\\.\\d % \\([^)]*%\\)"));
  QStringList inHtml, inPdf;
  for (auto found = figure.globalMatch(html); found.hasNext();) {
    inHtml << found.next().captured();
  }
  for (auto found = figure.globalMatch(pdf); found.hasNext();) {
    inPdf << found.next().captured();
  }
  std::sort(inHtml.begin(), inHtml.end());
  std::sort(inPdf.begin(), inPdf.end());
  EXPECT_GT(inHtml.size(), 12);
  EXPECT_EQ(inHtml, inPdf);
}

}  // namespace
}  // namespace edamori::letter
