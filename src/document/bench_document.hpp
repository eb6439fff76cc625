// Requests to the bench: each with its format, told apart by it.
#pragma once

#include <string>
#include <vector>

#include "document/form.hpp"
#include "quantity/watch.hpp"

namespace buttonworth {

/// One kind of request. `answer` gives the answer's text, or nothing of worth where the reader has
/// complaints.
struct BenchRequest {
  const char* format;
  std::string (*answer)(const Value& request, Reader& reader, const Watch& watch);
  const char* name;  ///< of the request's schema
  Json (*schema)();
  const char* answer_name;  ///< of the answer's
  Json (*answer_schema)();
};

extern const BenchRequest sampling_request, screen_assay_request, run_sheet_request, balance_request,
    table_test_request, charge_request, bar_request, lot_size_request;

/// All kinds, in the order of the format's page.
const std::vector<const BenchRequest*>& bench_requests();

/// The kind that the request's format names; throws an Error with those there are.
const BenchRequest& bench_request_of(const Value& request);

/// The format's page, sections 14 to 21.
std::string bench_answer(const Value& request, const DocumentLimits& limits, const Watch& watch,
                         std::vector<Complaint>& complaints);

/// The formulas of plain numbers with their arguments, as JSON text.
std::string formulas_text();

}  // namespace buttonworth
