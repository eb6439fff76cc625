#include "quantity/date.hpp"

#include <charconv>

namespace buttonworth {
namespace {

std::optional<int> whole(std::string_view digits) {
  int value = 0;
  auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (fault != std::errc{} || end != digits.data() + digits.size() || value < 0) return std::nullopt;
  return value;
}

}  // namespace

std::optional<std::chrono::year_month_day> read_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  auto year = whole(text.substr(0, 4));
  auto month = whole(text.substr(5, 2));
  auto day = whole(text.substr(8, 2));
  if (!year || !month || !day) return std::nullopt;
  std::chrono::year_month_day date{std::chrono::year{*year},
                                   std::chrono::month{static_cast<unsigned>(*month)},
                                   std::chrono::day{static_cast<unsigned>(*day)}};
  if (!date.ok()) return std::nullopt;
  return date;
}

}  // namespace buttonworth
