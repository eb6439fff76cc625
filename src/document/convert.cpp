#include "document/convert.hpp"

#include "document/range_text.hpp"

namespace buttonworth {
namespace {

/// Any dimension: a conversion does not know beforehand what it is of.
constexpr Dimensions anything() {
  Dimensions all = Dimension::mass;
  for (int i = 0; i <= static_cast<int>(Dimension::length); ++i)
    all = all | Dimensions(static_cast<Dimension>(i));
  return all;
}

struct Request {
  Quantity quantity;
  std::string to;
};

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .effect<StatedFactors>("factors", factors_form(),
                                 [](Reader& reader, const StatedFactors& stated) {
                                   reader.factors = fixed_factors(reader.factors, stated);
                                 })
          .need("quantity", &Request::quantity, quantity(anything(), Allowed::any))
          .need("to", &Request::to, text_form())
          .form();
  return form;
}

Error unit_error(std::string_view unit, const std::string& wanted, const std::string& pointer) {
  if (auto advice = unit_advice(unit)) return Error(Code::unit, *advice, pointer);
  return Error(Code::unit,
               '"' + std::string(unit) + "\" is no unit that this can be turned into; wanted is " + wanted,
               pointer);
}

Unit unit_like(std::string_view text, Dimension dimension, std::string_view currency,
               const MassFactors& factors, const std::string& pointer) {
  const auto unit = find_unit(text, dimension, factors);
  if (!unit || unit->dimension != dimension) throw unit_error(text, unit_examples(dimension), pointer);
  if (unit->currency != currency)
    throw Error(Code::unit, "one kind of money is turned into another by exchange in a plan only", pointer);
  return *unit;
}

}  // namespace

std::optional<Json> convert_request(const Value& request, const DocumentLimits& limits,
                                    std::vector<Complaint>& complaints) {
  Reader reader(limits);
  Request read;
  request_form().read(request, Place(), reader, read);
  complaints = std::move(reader.complaints);
  if (!complaints.empty()) return std::nullopt;
  const StatedQuantity& stated = reader.quantities[read.quantity];
  const std::string_view from_currency = find_unit(stated.unit, stated.dimension, reader.factors)->currency;
  const Unit to = unit_like(read.to, stated.dimension, from_currency, reader.factors, "/to");
  const std::string number = to_text(Decimal(stated.mean / to.factor), full_digits);
  if (read_number(number, limits.numbers).fault == NumberFault::too_large)
    throw Error(Code::limit, out_of_proportion("what this comes to in " + read.to, limits.numbers),
                "/quantity");
  return Json(number + ' ' + read.to);
}

bool is_unit(std::string_view text) { return find_unit(text, anything(), exact_factors()).has_value(); }

double conversion_factor(std::string_view from, std::string_view to) {
  const auto source = find_unit(from, anything(), exact_factors());
  if (!source) throw unit_error(from, "one of the format's units", {});
  const Unit target = unit_like(to, source->dimension, source->currency, exact_factors(), {});
  return to_double(Decimal(source->factor / target.factor));
}

}  // namespace buttonworth
