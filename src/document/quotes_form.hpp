// Quotes by day, and the periods they are averaged over.
#pragma once

#include "document/form.hpp"
#include "sale/statement.hpp"

namespace buttonworth {

/// {"unit": "USD/ozt", "days": {DATE: NUMBER}}: the first quote's place in the table of quantities tells
/// unit and currency of all.
struct MetalQuotes {
  Analyte analyte = 0;
  std::string unit;
  std::optional<Quantity> like;
  std::vector<Quote> quotes;  ///< in the order of their days
};
Form<std::vector<MetalQuotes>> quotes_form();

/// {"from", "to"}, {"month"} or {"months_after"}.
struct MetalPeriod {
  Analyte analyte = 0;
  std::optional<Day> from, to;
  std::optional<std::chrono::year_month> month;
  std::optional<std::int64_t> months_after;
};
Form<std::vector<MetalPeriod>> periods_form();

/// A day as ISO 8601 writes it.
Form<Day> day_form();

}  // namespace buttonworth
