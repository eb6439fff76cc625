// Deliveries and statements as documents.
#pragma once

#include <memory>

#include "document/form.hpp"
#include "sale/statement.hpp"

namespace buttonworth {

/// A delivery, or everything that is wrong with the request.
struct DeliveryReading {
  std::shared_ptr<const Delivery> delivery;  ///< null if there are complaints
  bool how = true;                           ///< whether lines are to say how they were worked out
  std::vector<Complaint> complaints;
};

DeliveryReading read_delivery(const Value& document, const DocumentLimits& limits);

/// A delivery inside another request: its quantities and analytes stay in the reader. Returns `how`.
bool read_delivery(const Value& document, const Place& place, Reader& reader, Delivery& out);
/// The delivery with the reader's tables, once all of the request is read.
std::shared_ptr<const Delivery> with_tables(Delivery&& delivery, Reader&& reader);
Json delivery_schema(SchemaBook& book);
Form<Delivery> whole_delivery();

/// The statement's JSON text.
std::string statement_text(const Statement& statement, bool how);

/// The JSON Schemas (draft 7).
Json delivery_schema();
Json statement_schema();

}  // namespace buttonworth
