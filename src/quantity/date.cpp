#include "quantity/date.hpp"

#include <array>
#include <charconv>
#include <cstdio>

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

std::optional<std::chrono::year_month> read_month(std::string_view text) {
  if (text.size() != 7) return std::nullopt;
  const auto date = read_date(std::string(text) + "-01");
  if (!date) return std::nullopt;
  return date->year() / date->month();
}

std::string date_text(std::chrono::sys_days day) {
  const std::chrono::year_month_day date(day);
  std::array<char, 16> text{};
  std::snprintf(text.data(), text.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return text.data();
}

}  // namespace buttonworth
