#include <algorithm>
#include <limits>

#include "document/lot_values_document.hpp"
#include "planned.hpp"
#include "strides.hpp"

using namespace buttonworth;

namespace {

/// What a host hands over of its lots.
struct HostColumns {
  const char* const* pointers;
  const double* const* numbers;
  const int64_t* strides;
  size_t count, rows;
};

std::vector<std::string> pointers_of(const HostColumns& host, const bw_context& context) {
  require(host.count == 0 || (host.pointers != nullptr && host.numbers != nullptr && host.strides != nullptr),
          Code::usage_null, "the pointers, the columns or their strides are NULL");
  require(host.count <= static_cast<std::uint64_t>(context.limits.list_length), Code::usage_size,
          "more columns than the context's list length");
  std::vector<std::string> pointers;
  for (size_t i = 0; i < host.count; ++i) {
    require_pointer(host.pointers[i], "a column's pointer is NULL");
    require_column(host.numbers[i], host.strides[i], host.rows);
    pointers.emplace_back(host.pointers[i]);
  }
  return pointers;
}

void require_rows(size_t rows, const LotOptions& options) {
  constexpr std::int64_t most = std::int64_t{1} << 53;  // numbers of lots are whole in a double
  require(rows <= static_cast<std::uint64_t>(most - options.first), Code::usage_size,
          "more rows than lots can be numbered: 2^53");
}

/// Room for a figure by lot and route, where any is wanted.
void require_room(const LotFigures& out, size_t capacity, size_t rows, size_t routes) {
  if (out.means == nullptr && out.sds == nullptr) return;
  require(rows <= capacity / routes, Code::usage_buffer,
          "the place for the values is too small: a number for every lot and route is wanted");
}

}  // namespace

bw_status bw_value_lots(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                        const char* const* pointers, const double* const* columns, const int64_t* strides,
                        size_t column_count, size_t rows, double* values, double* sds, size_t capacity,
                        bw_answer** out) noexcept {
  const auto clear = [&] {
    for (double* const place : {values, sds})
      if (place != nullptr) std::fill_n(place, capacity, std::numeric_limits<double>::quiet_NaN());
  };
  clear();
  const bw_status status =
      planned(context, plan, options, size, out, [&](const std::optional<Value>& text, bw_context& host) {
        const auto placed = with_places(*plan);
        const HostColumns given{pointers, columns, strides, column_count, rows};
        const std::vector<std::string> names = pointers_of(given, host);
        const HostWatch watch(host);
        const PlanInHand in_hand{plan->document, *placed, host.limits, watch};
        std::vector<Complaint> complaints;
        const LotOptions request = read_lot_options(in_hand, text, complaints);
        std::vector<LotColumn> lots = lot_columns(in_hand, names, complaints);
        throw_if_any(std::move(complaints));
        require_rows(rows, request);
        const LotFigures figures{values, sds};
        require_room(figures, capacity, rows,
                     request.routes.empty() ? placed->routes.size() : request.routes.size());
        for (size_t i = 0; i < column_count; ++i) {
          lots[i].numbers = columns[i];
          lots[i].stride = strides[i];
        }
        return new_answer(
            lot_values_text(value_lots(*placed, request, lots, rows, figures, watch), request, lots));
      });
  if (status != BW_OK) clear();  // of what was worked before it failed
  return status;
}
