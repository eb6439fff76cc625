// What memory is spent on.

#include "allocations.hpp"
#include "cases.hpp"

namespace memory {
namespace {

/// The bytes that a plan's reading asks for, all told.
std::size_t price_of(const std::string& text, bw_status expected) {
  const capi::Context context;
  const std::size_t before = allocations::bytes();
  EXPECT_EQ(capi::refusal(context, text), expected);
  return allocations::bytes() - before;
}

// A program that reads one plan and ends must not wait for tables of what may stand in plans. First of the
// tests here, as the tables are made once a process.
TEST(Costs, of_the_first_plan_are_small) { EXPECT_LT(price_of(plan_text(), BW_OK), 1'000'000U); }

// Numbers beyond reason and lists without end are given up before anything is made of them.
TEST(Costs, are_not_paid_for_texts_meant_to_be_costly) {
  Json plan = capi::minimal_plan();
  plan["lot"]["wet_mass"] = "1e999999999 t";
  EXPECT_LT(price_of(plan.dump(), BW_DOCUMENT_LIMIT), 400'000U);
  plan["lot"]["wet_mass"] = std::string(1'000'000, '9') + " t";
  EXPECT_LT(price_of(plan.dump(), BW_DOCUMENT_LIMIT), 10'000'000U);  // a few copies of the text
  const std::string deep(100'000, '[');
  EXPECT_LT(price_of(deep, BW_DOCUMENT_LIMIT), 200'000U);
}

}  // namespace
}  // namespace memory
