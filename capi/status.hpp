// Names and texts of the statuses.
#pragma once

#include "buttonworth.h"

namespace buttonworth {

struct StatusText {
  bw_status status;
  const char* name;
  const char* text;
};

/// The entry of a status, or null for a number that is none.
const StatusText* find_status(bw_status status) noexcept;
const char* status_class(bw_status status) noexcept;

}  // namespace buttonworth
