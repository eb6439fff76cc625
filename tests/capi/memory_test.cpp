// Memory that runs out: at every allocation of a call in turn. Each call gives BW_MEMORY or its answer,
// loses nothing, and leaves the context usable.

#include <atomic>
#include <cstdlib>
#include <new>

#include "support.hpp"

namespace {

// The allocations of this thread: how many are out, and how many more may be made (-1: any number).
thread_local long balance = 0;
thread_local long left = -1;
thread_local std::size_t bytes_asked = 0;

void* allocate(std::size_t size) {
  if (left == 0) return nullptr;
  if (left > 0) --left;
  bytes_asked += size;
  void* made = std::malloc(size != 0 ? size : 1);
  if (made != nullptr) ++balance;
  return made;
}
void release(void* memory) {
  if (memory != nullptr) --balance;
  std::free(memory);
}
void* allocate_or_throw(std::size_t size) {
  if (void* made = allocate(size)) return made;
  throw std::bad_alloc();
}

}  // namespace

// The library's allocations come here too: these replace the standard ones of the whole process.
void* operator new(std::size_t size) { return allocate_or_throw(size); }
void* operator new[](std::size_t size) { return allocate_or_throw(size); }
void* operator new(std::size_t size, const std::nothrow_t&) noexcept { return allocate(size); }
void* operator new[](std::size_t size, const std::nothrow_t&) noexcept { return allocate(size); }
void operator delete(void* memory) noexcept { release(memory); }
void operator delete[](void* memory) noexcept { release(memory); }
void operator delete(void* memory, std::size_t) noexcept { release(memory); }
void operator delete[](void* memory, std::size_t) noexcept { release(memory); }
void operator delete(void* memory, const std::nothrow_t&) noexcept { release(memory); }
void operator delete[](void* memory, const std::nothrow_t&) noexcept { release(memory); }

namespace capi {
namespace {

/// All of the kinds of steps and of terms, in a few lines.
const std::string& plan_text() {
  static const std::string text = [] {
    Json plan = minimal_plan();
    plan["lot"]["assays"]["As"] = "0.3 %";
    plan["steps"] = Json::parse(R"({
      "shaker": {"kind": "table", "cut": "best",
                 "curve": {"Au": [["10 %", "80 %"], ["40 %", "96 %"]], "As": {"as": "gangue"}}},
      "pan": {"kind": "dry", "to": "0 %", "dust": "0.1 %"},
      "furnace": {"kind": "melt", "to_bar": {"Au": "99 %"},
                  "flux": [{"reagent": "borax", "dose": "0.8 kg/kg"}]}})");
    plan["terms"]["refiner"] = Json::parse(R"({"buys": "bar", "pay": {"Au": {}}})");
    plan["routes"]["melted"] = Json::parse(R"({
      "step": "shaker", "tailings": {"return": {"Au": "50 %"}},
      "concentrate": {"step": "pan",
                      "dried": {"step": "furnace", "bar": {"sell": "refiner"}, "slag": {"keep": true}}}})");
    return plan.dump();
  }();
  return text;
}

/// Lets a call run out of memory at its first allocation, its second, … until it needs no more. Far in,
/// only some are tried. Returns how often memory ran out.
template <class Call>
int run_out(bw_context* context, Call call) {
  int ran_out = 0;
  for (long allowed = 0;; allowed += allowed < 300 ? 1 : allowed / 40) {
    const long before = balance;
    left = allowed;
    const bw_status status = call();
    const bool needed_more = left == 0;
    left = -1;
    if (status == BW_OK) {
      if (!needed_more) return ran_out;
      continue;  // it did without, or needed exactly this much
    }
    ++ran_out;
    EXPECT_EQ(status, BW_MEMORY) << "after " << allowed << " allocations: " << bw_error_text(context);
    EXPECT_EQ(bw_error_status(context), BW_MEMORY);
    EXPECT_STRNE(bw_error_text(context), "");
    EXPECT_EQ(balance, before) << "after " << allowed << " allocations something was lost";
    if (testing::Test::HasFailure()) return ran_out;
  }
}

std::size_t price_of_first() {
  const Context context;
  bytes_asked = 0;
  EXPECT_EQ(refusal(context, plan_text()), BW_OK);
  return bytes_asked;
}

// A program that reads one plan and ends must not wait for tables of what may stand in plans. First of the
// tests here, as the tables are made once a process.
TEST(Memory, is_not_spent_on_the_first_plan) { EXPECT_LT(price_of_first(), 1'000'000U); }

TEST(Memory, runs_out_while_a_plan_is_read) {
  Context context;
  bw_plan* plan = nullptr;
  bw_plan_read(context, plan_text().data(), plan_text().size(), &plan);  // what is made once a process stays
  ASSERT_NE(plan, nullptr) << bw_error_text(context);
  bw_plan_destroy(&plan);
  const int times = run_out(context, [&] {
    const bw_status status = bw_plan_read(context, plan_text().data(), plan_text().size(), &plan);
    EXPECT_EQ(plan == nullptr, status != BW_OK);
    bw_plan_destroy(&plan);
    return status;
  });
  EXPECT_GT(times, 100);
  EXPECT_EQ(refusal(context, plan_text()), BW_OK);
}

TEST(Memory, runs_out_while_routes_are_compared) {
  Context context;
  Plan plan;
  ASSERT_EQ(read(context, plan_text(), plan), BW_OK) << bw_error_text(context);
  const std::string expected = compared(context, plan);
  bw_answer* answer = nullptr;
  const int times = run_out(context, [&] {
    const bw_status status = bw_compare(context, plan, nullptr, 0, &answer);
    EXPECT_EQ(answer == nullptr, status != BW_OK);
    bw_answer_destroy(&answer);
    return status;
  });
  EXPECT_GT(times, 100);
  EXPECT_EQ(compared(context, plan), expected);
}

TEST(Memory, runs_out_while_a_plan_is_drawn) {
  Json unsure = minimal_plan();
  unsure["prices"]["Au"] = {{"low", "80 USD/g"}, {"high", "120 USD/g"}};
  Context context;
  const Plan plan = read_good(context, unsure);
  const std::string
      options = R"({"draws": 256, "keep": true})",
      candidates = R"({"draws": 256, "candidates": [{"of": "/prices/Au", "error": "2 %", "cost": "1 USD"}]})";
  for (const auto& [call, text] : {std::pair{&bw_simulate, options}, std::pair{&bw_worth, candidates}}) {
    bw_answer* answer = nullptr;
    ASSERT_EQ(call(context, plan, text.data(), text.size(), &answer), BW_OK) << bw_error_text(context);
    const std::string expected = bw_answer_text(answer, nullptr);
    bw_answer_destroy(&answer);
    const int times = run_out(context, [&, call = call, &text = text] {
      const bw_status status = call(context, plan, text.data(), text.size(), &answer);
      EXPECT_EQ(answer == nullptr, status != BW_OK);
      bw_answer_destroy(&answer);
      return status;
    });
    EXPECT_GT(times, 100);
    ASSERT_EQ(call(context, plan, text.data(), text.size(), &answer), BW_OK);
    EXPECT_EQ(bw_answer_text(answer, nullptr), expected);
    bw_answer_destroy(&answer);
  }
}

using Job = bw_status (*)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);

/// Four lots, of which one cannot be read and one breaks physics.
bw_status value_lots(bw_context* context, const bw_plan* plan, const char* options, size_t size,
                     bw_answer** out) {
  const char* const pointers[] = {"/lot/wet_mass", "/lot/assays/Au"};
  const double masses[] = {1, -1, 2, 3}, assays[] = {50, 50, 999'999, 60};
  const double* const columns[] = {masses, assays};
  const int64_t strides[] = {1, 1};
  return bw_value_lots(context, plan, options, size, pointers, columns, strides, 2, 4, nullptr, nullptr, 0,
                       out);
}

TEST(Memory, runs_out_while_jobs_on_a_plan_are_done) {
  Context context;
  Plan plan;
  ASSERT_EQ(read(context, plan_text(), plan), BW_OK) << bw_error_text(context);
  const std::string held = R"("cuts": "held")", of = R"("of": "/prices/Au")";
  const std::pair<Job, std::string> jobs[] = {
      {bw_break_even, '{' + of + ',' + held + '}'},
      {value_lots, R"({"draws": 4})"},
      {bw_counter_offers, '{' + held + '}'},
      {bw_forgiving_cut, R"({"points": 3})"},
      {bw_sensitivity, R"({"of": ["/prices/Au", "/lot/assays/Au"]})"},
      {bw_map, R"({"x": {"of": "/prices/Au", "steps": 2}, "y": {"of": "/lot/wet_mass", "steps": 2}})"}};
  for (const auto& [job, options] : jobs) {
    bw_answer* answer = nullptr;
    ASSERT_EQ(job(context, plan, options.data(), options.size(), &answer), BW_OK) << bw_error_text(context);
    const std::string expected = bw_answer_text(answer, nullptr);
    bw_answer_destroy(&answer);
    const int times = run_out(context, [&, job = job, &options = options] {
      const bw_status status = job(context, plan, options.data(), options.size(), &answer);
      EXPECT_EQ(answer == nullptr, status != BW_OK);
      bw_answer_destroy(&answer);
      return status;
    });
    EXPECT_GT(times, 100);
    ASSERT_EQ(job(context, plan, options.data(), options.size(), &answer), BW_OK);
    EXPECT_EQ(bw_answer_text(answer, nullptr), expected);
    bw_answer_destroy(&answer);
  }
}

/// Exchanged masses and assays, quotes, an advance, and the statement before.
const std::string& delivery_text() {
  static const std::string text = R"({
    "format": "buttonworth-delivery/1", "currency": "USD", "id": "L1", "buyer": "smelter", "arrived": "2026-03-09",
    "terms": {"buys": "concentrate", "pay": {"Au": {"share": "95 %", "less": "1 g/t"}},
              "charges": [{"what": "treatment", "rate": "450 USD/t"}],
              "penalties": [{"for": "As", "above": "0.2 %", "each": "0.1 %", "rate": "3 USD/t"}],
              "advance": {"share": "85 %", "after": "7 d", "interest": "9 %/a"}, "final": "45 d",
              "rounding": {"mass": {"step": "1 kg"}, "payable": {"Au": "0.001 ozt"}, "money": "0.01 USD"}},
    "delivered": {"wet_mass": {"seller": "806 kg", "buyer": "805 kg", "limit_relative": "0.2 %"}, "moisture": "11 %"},
    "assays": {"Au": {"seller": ["1840 g/t", "1852 g/t"], "buyer": "1810 g/t", "limit": "30 g/t"}, "As": "0.46 %"},
    "quotes": {"Au": {"unit": "USD/ozt", "days": {"2026-04-01": "2650.10", "2026-04-02": "2655"}}},
    "period": {"Au": {"months_after": 1}},
    "previous": {"format": "buttonworth-statement/1", "advance": "40000.00",
                 "lines": [{"what": "Au value", "amount": "60000.00"}, {"what": "samples", "amount": "-1.00"}]}})";
  return text;
}

using Request = bw_status (*)(bw_context*, const char*, size_t, bw_answer**);

/// Memory runs out at each allocation of a call on a request in turn; in the end its answer is the same.
void expect_to_run_out(Request call, const std::string& text) {
  Context context;
  bw_answer* answer = nullptr;
  auto ask = [&] {
    const bw_status status = call(context, text.data(), text.size(), &answer);
    EXPECT_EQ(answer == nullptr, status != BW_OK);
    return status;
  };
  ASSERT_EQ(ask(), BW_OK) << bw_error_text(context);  // what is made once a process stays
  const std::string expected = bw_answer_text(answer, nullptr);
  bw_answer_destroy(&answer);
  const int times = run_out(context, [&] {
    const bw_status status = ask();
    bw_answer_destroy(&answer);
    return status;
  });
  EXPECT_GT(times, 100);
  ASSERT_EQ(ask(), BW_OK);
  EXPECT_EQ(bw_answer_text(answer, nullptr), expected);
  bw_answer_destroy(&answer);
}

TEST(Memory, runs_out_while_a_delivery_is_settled) { expect_to_run_out(bw_settle, delivery_text()); }

TEST(Memory, runs_out_while_a_month_is_booked) {
  expect_to_run_out(bw_book, R"({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01",
    "to": "2026-03-31", "list": true, "csv": true,
    "buyers": {"refiner": {"terms": {"buys": "bar", "pay": {"Au": {}}}, "credits": ["Au"],
      "account": {"Au": {"priced": [{"date": "2026-03-04", "mass": "2 ozt", "price": "2600 USD/ozt"}]}}}},
    "deliveries": "id,buyer,arrived,gross (ozt),Au (fine)\nB-1,refiner,2026-03-02,100,900\n",
    "received": [{"date": "2026-03-09", "buyer": "refiner", "amount": "100 USD"}],
    "on_hand": {"Au": {"opening": "90 ozt"}}})");
}

TEST(Memory, runs_out_while_many_returns_are_reconciled) {
  expect_to_run_out(bw_reconcile, R"({"format": "buttonworth-returns/1", "currency": "USD",
    "buyers": {"smelter": {"terms": {"buys": "concentrate", "pay": {"Au": {}}}, "prices": {"Au": "80 USD/g"}}},
    "deliveries": "id,buyer,arrived,wet_mass (kg),Au (g/t)\nK-1,smelter,2026-03-02,100,900\n",
    "returns": "id,Au (g/t),proceeds\nK-1,890,7000\n"})");
}

TEST(Memory, runs_out_while_a_plan_is_changed) {
  Context context;
  Plan plan;
  ASSERT_EQ(read(context, plan_text(), plan), BW_OK);
  bw_plan* other = nullptr;
  const int times = run_out(context, [&] {
    const bw_status status = bw_plan_with(context, plan, "/prices/Au", "90 USD/g", &other);
    bw_plan_destroy(&other);
    return status;
  });
  EXPECT_GT(times, 100);
  EXPECT_EQ(bw_plan_text(plan, nullptr), plan_text());
}

// The errors' own texts need memory too.
TEST(Memory, runs_out_while_errors_are_told) {
  Context context;
  Json bad = Json::parse(plan_text());
  bad["unknown"] = bad["lot"]["moisture"] = bad["discount"] = 1;
  const std::string text = bad.dump();
  refusal(context, text);
  Plan plan;
  run_out(context, [&] {
    const bw_status status = bw_plan_read(context, text.data(), text.size(), plan.out());
    return status == BW_DOCUMENT_TYPE ? BW_OK : status;  // told in full: that is the answer here
  });
  EXPECT_EQ(refusal(context, text), BW_DOCUMENT_TYPE);
  EXPECT_EQ(errors(context).size(), 3U);
}

// What an answer holds by pointer is found out when first asked for: a failure then is tried again.
TEST(Memory, runs_out_while_an_answer_is_asked) {
  Context context;
  const Plan plan = read_good(context, minimal_plan());
  double number = 0;
  for (long allowed = 0; allowed < 60; ++allowed) {
    Answer answer;
    ASSERT_EQ(compare(context, plan, answer), BW_OK);
    left = allowed;
    const bw_status status = bw_answer_number(context, answer, "/routes/as it is/net", &number);
    left = -1;
    if (status != BW_OK) {
      EXPECT_EQ(status, BW_MEMORY);
      EXPECT_TRUE(std::isnan(number));
    }
    EXPECT_EQ(bw_answer_number(context, answer, "/routes/as it is/net", &number), BW_OK);
    EXPECT_EQ(number, 4500);
  }
}

/// The bytes that a refusal asks for, all told.
std::size_t price_of_refusal(const std::string& text, bw_status expected) {
  const Context context;
  bytes_asked = 0;
  EXPECT_EQ(refusal(context, text), expected);
  return bytes_asked;
}

// Numbers beyond reason and lists without end are given up before anything is made of them.
TEST(Memory, is_not_spent_on_texts_meant_to_be_costly) {
  Json plan = minimal_plan();
  plan["lot"]["wet_mass"] = "1e999999999 t";
  EXPECT_LT(price_of_refusal(plan.dump(), BW_DOCUMENT_LIMIT), 400'000U);
  plan["lot"]["wet_mass"] = std::string(1'000'000, '9') + " t";
  EXPECT_LT(price_of_refusal(plan.dump(), BW_DOCUMENT_LIMIT), 10'000'000U);  // a few copies of the text
  const std::string deep(100'000, '[');
  EXPECT_LT(price_of_refusal(deep, BW_DOCUMENT_LIMIT), 200'000U);
}

TEST(Memory, runs_out_at_a_context_and_a_logger) {
  left = 0;
  bw_context* none = nullptr;
  EXPECT_EQ(bw_context_create(&none), BW_MEMORY);
  left = -1;
  EXPECT_EQ(none, nullptr);
  Context context;
  left = 1;
  EXPECT_EQ(bw_set_log(
                context, [](void*, int32_t, const char*, size_t) {}, nullptr, 0),
            BW_MEMORY);
  left = -1;
  EXPECT_EQ(refusal(context, plan_text()), BW_OK);
}

}  // namespace
}  // namespace capi
