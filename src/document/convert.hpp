// A quantity in another unit of the same dimension.
#pragma once

#include "document/form.hpp"

namespace buttonworth {

/// {"quantity": Q, "to": UNIT, "factors": {…}} to the text of the quantity in that unit; complaints
/// go to the list.
std::optional<Json> convert_request(const Value& request, const DocumentLimits& limits,
                                    std::vector<Complaint>& complaints);

/// Whether this is one of the format's units.
bool is_unit(std::string_view text);

/// The factor from one unit to another. Throws an Error (unit).
double conversion_factor(std::string_view from, std::string_view to);

}  // namespace buttonworth
