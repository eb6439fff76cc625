// Metal called for and accounted for, as documents.
#pragma once

#include "book/metal_call.hpp"
#include "document/form.hpp"

namespace buttonworth {

/// Streams and stages, or everything that is wrong with the request.
struct MetalCallReading {
  MetalCall call;
  std::vector<Complaint> complaints;
};

MetalCallReading read_metal_call(const Value& document, const DocumentLimits& limits);

/// The answer's JSON text.
std::string accounted_text(const MetalCall& call, const Accounted& accounted);

/// The JSON Schemas (draft 7).
Json call_schema();
Json accounted_schema();

}  // namespace buttonworth
