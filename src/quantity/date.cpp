#include "quantity/date.hpp"

#include <charconv>

namespace buttonworth {
namespace {

std::optional<unsigned> whole(std::string_view digits) {
  unsigned value = 0;  // unsigned, so that no sign is read
  auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (fault != std::errc{} || end != digits.data() + digits.size()) return std::nullopt;
  return value;
}

}  // namespace

std::optional<std::chrono::year_month_day> read_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  auto year = whole(text.substr(0, 4));
  auto month = whole(text.substr(5, 2));
  auto day = whole(text.substr(8, 2));
  if (!year || !month || !day) return std::nullopt;
  std::chrono::year_month_day date{std::chrono::year{static_cast<int>(*year)}, std::chrono::month{*month},
                                   std::chrono::day{*day}};
  if (!date.ok()) return std::nullopt;
  return date;
}

}  // namespace buttonworth
