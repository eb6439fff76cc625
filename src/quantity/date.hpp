// Calendar dates as ISO 8601 writes them.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace buttonworth {

/// "2026-03-02", a day that exists in the Gregorian calendar, or nothing.
std::optional<std::chrono::year_month_day> read_date(std::string_view text);

/// "2026-04", or nothing.
std::optional<std::chrono::year_month> read_month(std::string_view text);

/// "2026-03-02".
std::string date_text(std::chrono::sys_days day);

}  // namespace buttonworth
