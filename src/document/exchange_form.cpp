#include "document/exchange_form.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

/// One determination, or several of one thing.
Form<std::vector<Quantity>> determinations(const Form<Quantity>& one) { return one_or_list(one); }

bool is_of_both(const ExchangedQuantity& figure) { return !figure.seller.empty() && !figure.buyer.empty(); }

void require_limit(const Place& place, Reader& reader, const ExchangedQuantity& figure) {
  if (is_of_both(figure) && !figure.limit && !figure.limit_relative)
    reader.complain(
        Code::missing_field, place,
        "two parties want a limit: the largest difference that settles at their mean, as limit or "
        "limit_relative");
}

void check_exchange(const Place& place, Reader& reader, const ExchangedQuantity& out) {
  const bool both = is_of_both(out);
  if (out.seller.empty() && out.buyer.empty())
    reader.complain(Code::missing_field, place, "what seller or buyer found is missing");
  if (!both && !out.umpire.empty())
    reader.complain(Code::conflict, Place(place, "umpire"),
                    "an umpire stands between two: state both parties");
}

Form<UmpireRule> rule_form() {
  return choice<UmpireRule>(
      {{"umpire", UmpireRule::umpire}, {"middle", UmpireRule::middle}, {"nearer", UmpireRule::nearer}});
}

const char* const exchange_names[] = {"seller", "buyer", "limit", "limit_relative", "umpire", "rule"};

bool is_exchange(const Value& value) {
  return value.kind == Value::Kind::object &&
         std::any_of(std::begin(exchange_names), std::end(exchange_names),
                     [&](const char* name) { return value.find(name) != nullptr; });
}

}  // namespace

Form<ExchangedQuantity> exchanged(Dimensions dimensions, Allowed allowed, LimitOf limits) {
  const auto one = quantity(dimensions, allowed);
  const auto found = determinations(one);
  const auto both =
      Fields<ExchangedQuantity>()
          .may("seller", &ExchangedQuantity::seller, found)
          .may("buyer", &ExchangedQuantity::buyer, found)
          .may("limit", &ExchangedQuantity::limit, quantity(dimensions))
          .may("limit_relative", &ExchangedQuantity::limit_relative, quantity(Dimension::share))
          .may("umpire", &ExchangedQuantity::umpire, found)
          .may("rule", &ExchangedQuantity::rule, rule_form())
          .not_both("limit", "limit_relative")
          .check([limits](const Value&, const Place& place, Reader& reader, ExchangedQuantity& out) {
            if (limits == LimitOf::figure) require_limit(place, reader, out);
            check_exchange(place, reader, out);
          })
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

Form<ContractLimit> contract_limit(Dimensions dimensions) {
  return Fields<ContractLimit>()
      .may("limit", &ContractLimit::limit, quantity(dimensions))
      .may("limit_relative", &ContractLimit::limit_relative, quantity(Dimension::share))
      .may("rule", &ContractLimit::rule, rule_form())
      .one_of({"limit", "limit_relative"})
      .form("an object with limit or limit_relative");
}

void take_limit(const ContractLimit* contract, const Place& place, Reader& reader,
                ExchangedQuantity& figure) {
  if (contract != nullptr && !figure.limit && !figure.limit_relative) {
    figure.limit = contract->limit;
    figure.limit_relative = contract->limit_relative;
    if (!figure.rule) figure.rule = contract->rule;
  }
  require_limit(place, reader, figure);
}

}  // namespace buttonworth
