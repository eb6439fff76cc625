// The plan that options are tried on: small, with something of everything they can name. All figures are
// invented.
#pragma once

#include <string_view>

namespace fuzz {

inline constexpr std::string_view small_plan = R"({
  "format": "buttonworth-plan/1", "currency": "USD", "exchange": {"PEN": "0.25 USD"}, "day": "10 h",
  "prices": {"Au": {"value": "60 USD/g", "sd": "4 USD/g"}, "Ag": {"low": "0.6 USD/g", "high": "0.9 USD/g"}},
  "discount": "12 %/a",
  "lot": {"wet_mass": {"value": "100 kg", "sd": "1 kg"}, "moisture": "5 %",
          "assays": {"Au": {"value": "1000 g/t", "rsd": "3 %"}, "Ag": "300 g/t", "As": "0.2 %"}},
  "steps": {"table": {"kind": "table", "curve": {"Au": [["2 %", "40 %"], ["10 %", "80 %"], ["40 %", "95 %"]], "Ag": {"as": "Au"}, "As": {"as": "gangue"}},
                      "cut": "best", "rate": "50 kg/h", "cost": [{"what": "labour", "rate": "3 USD/h"}]}},
  "terms": {
    "a": {"buys": "concentrate", "pay": {"Au": {"share": "92 %", "refining": "0.2 USD/g"}, "Ag": {"share": "80 %"}},
          "charges": [{"what": "treatment", "rate": "900 PEN/t"}, {"what": "assay", "rate": "60 USD/lot"}],
          "penalties": [{"for": ["As"], "above": "0.1 %", "each": "0.1 %", "rate": "20 USD/t"}],
          "advance": {"share": "80 %", "after": "5 d"}, "final": "30 d", "rounding": {"money": "0.01 USD"}},
    "b": {"buys": "concentrate", "accepts": {"Au": {"min": "2 g/t"}},
          "pay": {"Au": {"bands": [["2 g/t", "85 %"], ["2000 g/t", "96 %"]]}}, "final": "2 d"}},
  "routes": {"to a": {"sell": "a"}, "to b": {"sell": "b"},
             "tabled": {"step": "table", "concentrate": {"sell": "b"}, "tailings": {"keep": true}}}})";

}  // namespace fuzz
