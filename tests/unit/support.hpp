// What the unit tests share: plans from documents, and one route worked out in each arithmetic.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "document/plan_document.hpp"
#include "ordered_json.hpp"

namespace buttonworth::test {

/// A plan from its document; a test fails with all complaints if there are any.
std::shared_ptr<const Plan> plan_from(const OrderedJson& document);
std::vector<Complaint> complaints_of(const std::string& text);

/// What a route came to. `fault` is the text of impossible physics, empty where there is none.
struct Outcome {
  std::string fault;
  bool refused = false;
  Decimal present_value = 0, cash = 0, credit = 0;

  bool impossible() const { return !fault.empty(); }
};

Outcome in_decimal(const Plan& plan, const Route& route);
Outcome in_double(const Plan& plan, const Route& route);
/// In the narrowest lanes; a test fails where lanes that hold the same scenario differ.
Outcome in_lanes(const Plan& plan, const Route& route);

/// One route in all three, with names for messages.
struct Named {
  const char* arithmetic;
  Outcome outcome;
};
std::vector<Named> in_all_three(const Plan& plan, const Route& route);

/// What of a route depends on its searched cuts, at these pulls; SweepPoint::nothing where that is refused
/// or impossible.
double searched_value(const Prepared<Decimal>& prepared, const Route& route, const Pulls& pulls);
double searched_value(const Prepared<double>& prepared, const Route& route, const Pulls& pulls);

/// What the lot and the pieces hold at market prices: the size that money of a plan is measured by.
Decimal contained_value(const Plan& plan);

/// The whole comparison in decimals.
Comparison<Decimal> compared(const Plan& plan);

/// A plan with no discount, of one lot, one route "r", and these steps and terms.
OrderedJson plain_plan(const OrderedJson& lot, const OrderedJson& steps, const OrderedJson& terms,
                       const OrderedJson& route);

/// Fails unless the only route comes to this present value in all three arithmetics, to 1e-9 of `scale`
/// (or of the value): doubles carry sixteen digits, and no chain of steps here loses seven of them.
void expect_value(const OrderedJson& document, const Decimal& value, const Decimal& scale = 0);
void expect_taken(const OrderedJson& document);
void expect_refused(const OrderedJson& document);
void expect_impossible(const OrderedJson& document);

/// [[a, b], …]: braces alone would make an object of pairs of texts.
OrderedJson pairs(const std::vector<std::pair<std::string, std::string>>& list);

/// A decimal as a quantity's text, to as many digits as a document may hold.
std::string text_of(const Decimal& value, const char* unit);

/// a and b agree to `relative` of the larger.
bool close_to(const Decimal& a, const Decimal& b, const Decimal& relative, const Decimal& scale = 0);

}  // namespace buttonworth::test
