#include "document/exchange_form.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

/// One determination, or several of one thing.
Form<std::vector<Quantity>> determinations(const Form<Quantity>& one) {
  const auto list = list_of(one, 1);
  return {[one, list](const Value& value, const Place& place, Reader& reader, std::vector<Quantity>& out) {
            if (value.kind == Value::Kind::list) list.read(value, place, reader, out);
            else one.read(value, place, reader, out.emplace_back());
          },
          [one, list](SchemaBook& book) {
            return Json{{"anyOf", {one.schema(book), list.schema(book)}}};
          }};
}

void check_exchange(const Value&, const Place& place, Reader& reader, ExchangedQuantity& out) {
  const bool both = !out.seller.empty() && !out.buyer.empty();
  if (out.seller.empty() && out.buyer.empty())
    reader.complain(Code::missing_field, place, "what seller or buyer found is missing");
  if (both && !out.limit && !out.limit_relative)
    reader.complain(
        Code::missing_field, place,
        "two parties want a limit: the largest difference that settles at their mean, as limit or "
        "limit_relative");
  if (!both && !out.umpire.empty())
    reader.complain(Code::conflict, Place(place, "umpire"),
                    "an umpire stands between two: state both parties");
}

const char* const exchange_names[] = {"seller", "buyer", "limit", "limit_relative", "umpire", "rule"};

bool is_exchange(const Value& value) {
  return value.kind == Value::Kind::object &&
         std::any_of(std::begin(exchange_names), std::end(exchange_names),
                     [&](const char* name) { return value.find(name) != nullptr; });
}

}  // namespace

Form<ExchangedQuantity> exchanged(Dimensions dimensions, Allowed allowed) {
  const auto one = quantity(dimensions, allowed);
  const auto found = determinations(one);
  const auto both = Fields<ExchangedQuantity>()
                        .may("seller", &ExchangedQuantity::seller, found)
                        .may("buyer", &ExchangedQuantity::buyer, found)
                        .may("limit", &ExchangedQuantity::limit, quantity(dimensions))
                        .may("limit_relative", &ExchangedQuantity::limit_relative, quantity(Dimension::share))
                        .may("umpire", &ExchangedQuantity::umpire, found)
                        .may("rule", &ExchangedQuantity::rule,
                             choice<UmpireRule>({{"umpire", UmpireRule::umpire},
                                                 {"middle", UmpireRule::middle},
                                                 {"nearer", UmpireRule::nearer}}))
                        .not_both("limit", "limit_relative")
                        .check(check_exchange)
                        .form();
  return {[one, both](const Value& value, const Place& place, Reader& reader, ExchangedQuantity& out) {
            out.pointer = place.pointer();
            if (is_exchange(value)) both.read(value, place, reader, out);
            else one.read(value, place, reader, out.alone.emplace());
          },
          [one, both](SchemaBook& book) {
            Json exchange = both.schema(book);
            exchange["anyOf"] = {{{"required", {"seller"}}}, {{"required", {"buyer"}}}};
            return Json{{"anyOf", {one.schema(book), exchange}}};
          }};
}

}  // namespace buttonworth
