// What contesting an assay is worth, as documents.
#pragma once

#include <memory>

#include "book/dispute.hpp"
#include "document/form.hpp"

namespace buttonworth {

/// A delivery and the dispute about one of its assays, or everything that is wrong with the request.
struct DisputeReading {
  std::shared_ptr<const Delivery> delivery;  ///< null if there are complaints
  Dispute dispute;
  std::vector<Complaint> complaints;
};

DisputeReading read_dispute(const Value& document, const DocumentLimits& limits);

/// The answer's JSON text.
std::string contest_text(const Delivery& delivery, const Dispute& dispute, const Contest& contest);

/// The JSON Schemas (draft 7).
Json dispute_schema();
Json contest_schema();

}  // namespace buttonworth
