// A buyer's return and its reconciliation as documents.
#pragma once

#include <memory>

#include "book/reconcile.hpp"
#include "document/form.hpp"
#include "document/json_text.hpp"

namespace buttonworth {

/// A delivery and what its buyer returned, or everything that is wrong with the request.
struct ReturnReading {
  std::shared_ptr<const Delivery> delivery;  ///< null if there are complaints
  BuyersReturn theirs;
  std::vector<Complaint> complaints;
};

ReturnReading read_return(const Value& document, const DocumentLimits& limits);

/// A return among others, with the id of its delivery, against that delivery as read by the same reader.
/// False where it is not in order.
bool read_listed_return(const Value& value, const Place& place, Reader& reader, const Delivery& ours,
                        BuyersReturn& out);
Json listed_return_schema(SchemaBook& book);

/// The parts and figures of one lot, as fields of an object that is open.
void write_reconciliation(const Delivery& delivery, const Reconciliation& reconciliation, JsonText& out);
Json listed_reconciliation_schema();
/// What a difference of so many standard uncertainties asks for: two are hard to explain, three hardly.
const char* verdict(const Decimal& z);
Json verdict_schema();
Json parts_schema();
/// The fields of proceeds, ours and theirs, and the parts of their difference.
void write_sums(const Decimal& ours, const Decimal& theirs, const std::vector<DifferencePart>& parts,
                JsonText& out);
/// The field of metal paid for or credited, by metal.
void write_payable(const std::vector<PayableDifference>& payable, JsonText& out);
Json payable_schema();

/// The reconciliation's JSON text.
std::string reconciliation_text(const Delivery& delivery, const Reconciliation& reconciliation);

/// The JSON Schemas (draft 7).
Json return_schema();
Json reconciliation_schema();

}  // namespace buttonworth
