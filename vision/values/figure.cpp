// SPDX-License-Identifier: GPL-3.0-or-later
#include "vision/values/figure.h"

namespace edamori {

std::string toText(Verdict verdict) {
  switch (verdict) {
    case Verdict::ClearLoss:
      return "clear loss";
    case Verdict::ClearGain:
      return "clear gain";
    case Verdict::NoClearChange:
      return "no clear change";
    case Verdict::CannotTell:
      break;
  }
  return "cannot tell";
}

}  // namespace edamori
