#include "sale/quotes.hpp"

#include <algorithm>

#include "quantity/edge.hpp"

namespace buttonworth {
namespace {

using std::chrono::days;

bool is_working_day(Day day) {
  const unsigned iso = std::chrono::weekday(day).iso_encoding();
  return iso <= 5;
}

int working_days(const Period& period) {
  int count = 0;
  for (Day day = period.from; day <= period.to; day += days(1)) count += is_working_day(day);
  return count;
}

}  // namespace

Period calendar_month(std::chrono::year_month month) {
  return {Day(month / std::chrono::day(1)), Day(month / std::chrono::last)};
}

Period months_after(Day day, int months) {
  const std::chrono::year_month_day date(day);
  return calendar_month(date.year() / date.month() + std::chrono::months(months));
}

std::optional<PriceAverage> average(const std::vector<Quote>& quotes, const Period& period) {
  const auto earlier = [](const Quote& quote, Day day) { return quote.day < day; };
  Decimal sum = 0;
  PriceAverage found;
  int quoted_working_days = 0;
  for (auto quote = std::lower_bound(quotes.begin(), quotes.end(), period.from, earlier);
       quote != quotes.end() && quote->day <= period.to; ++quote) {
    sum += quote->price;
    ++found.quoted_days;
    quoted_working_days += is_working_day(quote->day);
  }
  if (found.quoted_days == 0) return std::nullopt;
  found.price = sum / found.quoted_days;
  found.unquoted_days = working_days(period) - quoted_working_days;
  return found;
}

std::vector<Day> doubtful(const std::vector<Quote>& quotes) {
  static const Decimal high("1.1"), low("0.9");
  std::vector<Day> days;
  for (std::size_t i = 1; i + 1 < quotes.size(); ++i) {
    const Decimal &before = quotes[i - 1].price, &price = quotes[i].price, &after = quotes[i + 1].price;
    const bool far_above = above(price, Decimal(before * high)) && above(price, Decimal(after * high));
    const bool far_below = above(Decimal(before * low), price) && above(Decimal(after * low), price);
    if (far_above || far_below) days.push_back(quotes[i].day);
  }
  return days;
}

}  // namespace buttonworth
