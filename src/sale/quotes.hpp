// Prices by day, and their average over a quotational period.
#pragma once

#include <chrono>
#include <optional>
#include <vector>

#include "quantity/decimal.hpp"

namespace buttonworth {

using Day = std::chrono::sys_days;

struct Quote {
  Day day;
  Decimal price;
};

/// Both days belong to it.
struct Period {
  Day from, to;
  bool operator==(const Period&) const = default;
};

Period calendar_month(std::chrono::year_month month);
/// The n-th month after the one that holds the day.
Period months_after(Day day, int months);

struct PriceAverage {
  Decimal price;  ///< arithmetic mean of the days that have a quote
  int quoted_days = 0;
  int unquoted_days = 0;  ///< Mondays to Fridays without one
};

/// Nothing, where no day of the period has a quote. The quotes stand in the order of their days, each
/// day once.
std::optional<PriceAverage> average(const std::vector<Quote>& quotes, const Period& period);

/// Quotes more than 10 % above, or below, both their neighbours: slips of the keyboard.
std::vector<Day> doubtful(const std::vector<Quote>& quotes);

}  // namespace buttonworth
