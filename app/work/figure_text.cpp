// SPDX-License-Identifier: GPL-3.0-or-later
// Figures as words, tables and files.
#include "app/work/learning.h"
#include "app/work/overview.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace edamori::work {
namespace {

using Json = nlohmann::ordered_json;

// Never printf: Qt may switch the C locale, and figures always carry a point.
std::string decimal(double value, int digits) {
  std::array<char, 64> buffer{};
  const auto [end, error] = std::to_chars(
      buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, digits);
  return error == std::errc{} ? std::string(buffer.data(), end) : std::string("?");
}

std::string percent(double fraction) {
  std::string text = decimal(100.0 * fraction, 1);
  if (text == "-0.0") {
    return "0.0";
  }
  return text.front() == '-' ? "−" + text.substr(1) : text;
}

std::string hundredthsText(const Estimate& estimate, const std::string& unit) {
  const bool hasMinus = estimate.low < 0.0;
  return percent(estimate.value) + unit + " (" + percent(estimate.low) + (hasMinus ? " to " : "–") +
         percent(estimate.high) + unit + ")";
}

// Columns on a terminal, not bytes: every letter we print is one column wide.
std::size_t columnsOf(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string cautionsOf(const FigureRow& row, const char* separator) {
  std::string text;
  for (const Caution& caution : row.measurement.cautions) {
    text += (text.empty() ? "" : separator) + caution.text;
  }
  return text;
}

std::string takenText(const FigureRow& row) {
  const std::string uncertain = row.dateSource == store::DateSource::FileTime ? " (uncertain)" : "";
  return store::dateText(row.takenAt) + uncertain;
}

// RFC 4180; a text that a spreadsheet would run as a formula is led by an apostrophe.
std::string csvField(std::string text) {
  if (!text.empty() && std::string("=+-@").find(text.front()) != std::string::npos) {
    text.insert(text.begin(), '\'');
  }
  if (text.find_first_of(",\"\r\n") == std::string::npos) {
    return text;
  }
  std::string quoted = "\"";
  for (const char c : text) {
    quoted += c == '"' ? "\"\"" : std::string(1, c);
  }
  return quoted + "\"";
}

}  // namespace

std::string figureTitle(const std::string& figure) {
  static const std::array<std::pair<const char*, const char*>, 7> kTitles{{
      {"foliage", "Foliage cover"},
      {"spot", "Spotted or blighted"},
      {"loss-by-cover", "Loss by cover"},
      {"loss-by-light", "Loss by light"},
      {"spot-change", "Change of spotted share"},
      {"scale insect", "Scale insects, live"},
      {"aphids", "Aphids, live"},
  }};
  for (const auto& [name, title] : kTitles) {
    if (figure == name) {
      return title;
    }
  }
  return figure;
}

std::string estimateText(const Estimate& estimate) { return hundredthsText(estimate, " %"); }

std::string figureText(const std::string& figure, const Estimate& estimate) {
  return hundredthsText(estimate, figure == "spot-change" ? " points" : " %");
}

std::string clearSpotChange(const Estimate& change) {
  return change.low > 0.0 ? kClearlyMoreSpotted : change.high < 0.0 ? kClearlyLessSpotted : "";
}

std::string figuresTable(const std::vector<FigureRow>& rows) {
  std::vector<std::array<std::string, 7>> cells{
      {"Tree", "Branch", "Taken", "Photo", "Figure", "Value (95 % interval)", "Verdict and cautions"}};
  for (const FigureRow& row : rows) {
    std::string remarks = row.verdict;
    for (const std::string& more : {taughtWords(row.measurement.method), cautionsOf(row, " ")}) {
      remarks += (remarks.empty() || more.empty() ? "" : "; ") + more;
    }
    cells.push_back({row.treeTag, row.branchName, takenText(row), row.photoName, figureTitle(row.figure),
                     figureText(row.figure, row.measurement.estimate), remarks});
  }
  std::array<std::size_t, 7> widths{};
  for (const auto& line : cells) {
    for (std::size_t i = 0; i < line.size(); ++i) {
      widths[i] = std::max(widths[i], columnsOf(line[i]));
    }
  }
  std::string text;
  for (const auto& line : cells) {
    std::string printed;
    for (std::size_t i = 0; i < line.size(); ++i) {
      printed += line[i] + std::string(widths[i] - columnsOf(line[i]) + 2, ' ');
    }
    printed.erase(printed.find_last_not_of(' ') + 1);
    text += printed + "\n";
  }
  return text;
}

std::string figuresCsv(const std::vector<FigureRow>& rows) {
  std::string text =
      "tree,branch,taken_at,date_source,figure,value,low,high,unit,verdict,cautions,photo,sha256,"
      "method,method_version\r\n";
  for (const FigureRow& row : rows) {
    const store::Measurement& m = row.measurement;
    text += csvField(row.treeTag) + "," + csvField(row.branchName) + "," +
            store::toText(row.takenAt) + "," + store::toText(row.dateSource) + "," + row.figure +
            "," + decimal(m.estimate.value, 6) + "," + decimal(m.estimate.low, 6) + "," +
            decimal(m.estimate.high, 6) + "," + m.unit + "," + row.verdict + "," +
            csvField(cautionsOf(row, " ")) + "," + csvField(row.photoName) + "," + row.photoHash +
            "," + m.method.name + "," + std::to_string(m.method.version) + "\r\n";
  }
  return text;
}

std::string figuresJson(const std::vector<FigureRow>& rows) {
  Json list = Json::array();
  for (const FigureRow& row : rows) {
    const store::Measurement& m = row.measurement;
    Json cautions = Json::array();
    for (const Caution& caution : m.cautions) {
      cautions.push_back({{"code", caution.code}, {"text", caution.text}});
    }
    list.push_back({{"tree", row.treeTag},
                    {"branch", row.branchName},
                    {"taken_at", store::toText(row.takenAt)},
                    {"date_source", store::toText(row.dateSource)},
                    {"figure", row.figure},
                    {"value", m.estimate.value},
                    {"low", m.estimate.low},
                    {"high", m.estimate.high},
                    {"unit", m.unit},
                    {"verdict", row.verdict.empty() ? Json(nullptr) : Json(row.verdict)},
                    {"warnings", cautions},
                    {"photo", row.photoName},
                    {"sha256", row.photoHash},
                    {"method", {{"name", m.method.name}, {"version", m.method.version}}}});
  }
  return list.dump(2, ' ', false, Json::error_handler_t::replace);
}

}  // namespace edamori::work
