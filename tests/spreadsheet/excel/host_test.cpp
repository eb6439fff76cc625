// What Excel expects of a library that it loads: values of every type, names in any script, its floating
// point left alone, nothing leaked, threads, wrong handles.
#include <gtest/gtest.h>

#include <windows.h>

#include <psapi.h>
#include <xmmintrin.h>

#include <atomic>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <thread>

#include "buttonworth.h"
#include "library.hpp"

namespace excel {
namespace {

using Json = nlohmann::ordered_json;

const Library& library() {
  static const Library loaded;
  return loaded;
}

constexpr unsigned long no_solution = 2036, missing = 2042, wrong = 2015;

using Rows = std::vector<std::pair<std::string, std::string>>;

Rows plan_named(const std::string& route) {
  return {{"/format", "buttonworth-plan/1"},
          {"/currency", "USD"},
          {"/prices/Au", "100 USD/g"},
          {"/discount", "0 %/a"},
          {"/lot/wet_mass", "1000 kg"},
          {"/lot/assays/Au", "30 g/t"},
          {"/terms/smelter/buys", "concentrate"},
          {"/terms/smelter/pay/Au/share", "92 %"},
          {"/routes/" + route + "/sell", "smelter"}};
}

Value range(const Rows& rows) {
  std::vector<Value> cells;
  for (const auto& [pointer, value] : rows) {
    cells.emplace_back(std::string_view(pointer));
    cells.emplace_back(std::string_view(value));
  }
  return excel::range(rows.size(), 2, cells);
}

std::string plan_text(const std::string& route, const std::string& mass = "1000 kg") {
  const Json plan{{"format", "buttonworth-plan/1"},
                  {"currency", "USD"},
                  {"prices", {{"Au", "100 USD/g"}}},
                  {"discount", "0 %/a"},
                  {"lot", {{"wet_mass", mass}, {"assays", {{"Au", "30 g/t"}}}}},
                  {"terms", {{"smelter", {{"buys", "concentrate"}, {"pay", {{"Au", {{"share", "92 %"}}}}}}}}},
                  {"routes", {{route, {{"sell", "smelter"}}}}}};
  return plan.dump();
}

struct Asked {
  std::int32_t status;
  std::string answer;
};
Asked ask(std::intptr_t session, std::string_view call, std::string_view request,
          std::string_view options = {}) {
  Value answer;
  const std::int32_t status =
      library().ask(session, Text(call).pointer(), Text(request).pointer(), Text(options).pointer(), &answer);
  return {status, answer.text()};
}

std::string last_error(std::intptr_t session) {
  Value text, list;
  library().last_error(session, &text, &list);
  EXPECT_EQ(Json::parse(list.text()).empty(), text.text().empty());
  return text.text();
}

Value dry_mass(Value wet, Value moisture = 0.25) {
  std::vector<Value> arguments;
  arguments.push_back(std::move(wet));
  arguments.push_back(std::move(moisture));
  return shown(library(), "BW_DRY_MASS", std::move(arguments));
}

// ---- Values ----------------------------------------------------------------------------------------------

Value of_type(VARTYPE type, double number) {
  Value made(number);
  EXPECT_EQ(VariantChangeType(&made, &made, 0, type), S_OK);
  return made;
}

TEST(Values, numbers_of_every_type) {
  for (const VARTYPE type : {VT_R8, VT_R4, VT_I2, VT_I4, VT_I8, VT_UI1, VT_UI2, VT_UI4, VT_UI8, VT_I1, VT_INT,
                             VT_UINT, VT_CY, VT_DECIMAL, VT_DATE}) {
    const Value result = dry_mass(of_type(type, 100));
    EXPECT_TRUE(result.is_number() && result.dblVal == 75) << "type " << type;
  }
  EXPECT_DOUBLE_EQ(dry_mass(of_type(VT_CY, 0.0004)).dblVal, 0.0003);
}

TEST(Values, numbers_by_reference) {
  double number = 100;
  Value by_reference;
  by_reference.vt = VT_R8 | VT_BYREF;
  by_reference.pdblVal = &number;
  VARIANT arguments[2];
  for (VARIANT& one : arguments) {
    VariantInit(&one);
    one.vt = VT_VARIANT | VT_BYREF;
  }
  Value moisture = 0.25;
  arguments[0].pvarVal = &by_reference;
  arguments[1].pvarVal = &moisture;
  const Value list = excel::list({});
  SAFEARRAY* array = SafeArrayCreateVector(VT_VARIANT, 5, 2);  // whatever bound it starts from
  void* data = nullptr;
  SafeArrayAccessData(array, &data);
  std::copy(arguments, arguments + 2, static_cast<VARIANT*>(data));
  SafeArrayUnaccessData(array);
  Value given, result;  // as VBA hands on an array that a function was given
  given.vt = VT_ARRAY | VT_VARIANT | VT_BYREF;
  given.pparray = &array;
  library().evaluate(Text(std::string_view("BW_DRY_MASS")).pointer(), &given, &result);
  EXPECT_TRUE(result.is_number() && result.dblVal == 75);
  SafeArrayDestroy(array);
}

TEST(Values, arrays_of_plain_numbers_are_ranges) {
  Value numbers;
  numbers.vt = VT_ARRAY | VT_R8;
  numbers.parray = SafeArrayCreateVector(VT_R8, 1, 3);
  for (LONG i = 1; i <= 3; ++i) {
    double mass = 100.0 * i;
    SafeArrayPutElement(numbers.parray, &i, &mass);
  }
  const Value result = dry_mass(numbers);
  EXPECT_EQ(cell(result, 1, 3).dblVal, 225);  // one dimension is a row
}

TEST(Values, a_column_meets_a_row) {
  const Value result = dry_mass(excel::range(2, 1, {100.0, 200.0}), excel::range(1, 3, {0.0, 0.25, 0.5}));
  ASSERT_EQ(SafeArrayGetDim(result.parray), 2U);
  LONG first = 0, last = 0;
  SafeArrayGetLBound(result.parray, 1, &first);
  SafeArrayGetUBound(result.parray, 1, &last);
  EXPECT_EQ(first, 1);
  EXPECT_EQ(last, 2);
  EXPECT_EQ(cell(result, 2, 2).dblVal, 150);
  EXPECT_EQ(cell(result, 1, 3).dblVal, 50);
}

TEST(Values, empty_missing_and_wrong_ones) {
  EXPECT_TRUE(dry_mass(Value()).is_error(missing));
  EXPECT_TRUE(dry_mass(Value::missing()).is_error(missing));
  EXPECT_TRUE(dry_mass(Value::error(static_cast<SCODE>(0x800A01C0UL))).is_error(missing));  // CVErr(448)
  EXPECT_TRUE(dry_mass(std::string_view("much")).is_error(wrong));
  EXPECT_TRUE(dry_mass(std::string_view("")).is_error(missing));
  Value truth;
  truth.vt = VT_BOOL;
  truth.boolVal = VARIANT_TRUE;
  EXPECT_TRUE(dry_mass(truth).is_error(wrong));
  Value null;
  null.vt = VT_NULL;
  EXPECT_TRUE(dry_mass(null).is_error(wrong));
  Value object;
  object.vt = VT_DISPATCH;
  object.pdispVal = nullptr;
  EXPECT_TRUE(dry_mass(object).is_error(wrong));
  Value deep;
  SAFEARRAYBOUND bounds[] = {{2, 1}, {2, 1}, {2, 1}};
  deep.vt = VT_ARRAY | VT_VARIANT;
  deep.parray = SafeArrayCreate(VT_VARIANT, 3, bounds);
  EXPECT_TRUE(dry_mass(deep).is_error(wrong));
}

TEST(Values, errors_go_through_as_they_are) {
  for (const unsigned long number : {2007UL, 2023UL, 2029UL, no_solution, missing, wrong, 2000UL})
    EXPECT_TRUE(dry_mass(Value::error(static_cast<SCODE>(0x800A0000UL + number))).is_error(number)) << number;
  const Value column = dry_mass(excel::range(3, 1,
                                             {Value::error(static_cast<SCODE>(0x800A0000UL + no_solution)),
                                              Value::error(static_cast<SCODE>(0x800A07D7UL)), 100.0}));
  EXPECT_TRUE(cell(column, 1, 1).is_error(no_solution));
  EXPECT_TRUE(cell(column, 2, 1).is_error(wrong));  // #DIV/0! in a range
  EXPECT_EQ(cell(column, 3, 1).dblVal, 75);
}

TEST(Values, true_in_a_document_is_its_true) {
  Rows rows = plan_named("kept");
  rows.back() = {"/routes/kept/keep", ""};
  std::vector<Value> cells;
  for (const auto& [pointer, value] : rows) {
    cells.emplace_back(std::string_view(pointer));
    cells.emplace_back(std::string_view(value));
  }
  Value truth;
  truth.vt = VT_BOOL;
  truth.boolVal = VARIANT_TRUE;
  VariantCopy(&cells.back(), &truth);
  const Value best = shown(library(), "BW_FIGURE",
                           {excel::range(rows.size(), 2, cells), std::string_view("/routes/kept/net")});
  EXPECT_TRUE(best.is_number() && best.dblVal == 0) << best.text();
}

TEST(Values, no_such_function_is_a_name_that_excel_does_not_know) {
  EXPECT_TRUE(shown(library(), "BW_NOTHING", {}).is_error(2029));
  EXPECT_TRUE(shown(library(), "", {}).is_error(2029));
  Value result, given = 1.0;
  library().evaluate(Text(std::string_view("BW_VERSION")).pointer(), &given, &result);
  EXPECT_TRUE(result.is_error(wrong));
}

TEST(Values, what_the_result_held_is_freed) {
  Value result = std::string_view("before");
  const Value given = list({});
  library().evaluate(Text(std::string_view("BW_VERSION")).pointer(), &given, &result);
  EXPECT_EQ(result.text(), BUTTONWORTH_TEST_VERSION);
}

// ---- Names -----------------------------------------------------------------------------------------------

TEST(Names, in_any_script_stay_themselves) {
  for (const std::string name : {"как есть, Ёлка", "ñawi ch’iqchi q’umir", "n\u0303awi, not composed",
                                 "金 🥇 \U0001F469\u200D\U0001F52C", "ٱلذَّهَب"}) {
    EXPECT_EQ(shown(library(), "BW_BEST_ROUTE", {range(plan_named(name))}).text(), name);
    const Value table = shown(library(), "BW_ROUTES", {range(plan_named(name))});
    EXPECT_EQ(cell(table, 2, 1).text(), name);
    const std::intptr_t session = library().open();
    const Asked asked = ask(session, "compare", plan_text(name));
    EXPECT_EQ(asked.status, BW_OK);
    EXPECT_EQ(Json::parse(asked.answer).at("best"), name);
    const Asked bad = ask(session, "compare", plan_text(name, "15 " + name));
    EXPECT_EQ(bad.status / 100, 2);
    EXPECT_NE(last_error(session).find("/lot/wet_mass"), std::string::npos);
    library().close(session);
  }
}

TEST(Names, half_a_surrogate_pair_is_refused) {
  const std::intptr_t session = library().open();
  std::wstring request = cells::utf16<wchar_t>(plan_text("as it is"));
  request.insert(request.find(L"smelter"), 1, static_cast<wchar_t>(0xD83E));
  Value answer;
  const std::int32_t status = library().ask(session, Text(std::string_view("compare")).pointer(),
                                            Text(std::wstring_view(request)).pointer(), nullptr, &answer);
  EXPECT_EQ(status, BW_DOCUMENT_UTF8);
  EXPECT_EQ(answer.vt, VT_EMPTY);
  library().close(session);
}

TEST(Names, a_zero_character_does_not_end_a_text) {
  const std::intptr_t session = library().open();
  const std::string request = plan_text("as it is");
  EXPECT_EQ(ask(session, "compare", request).status, BW_OK);
  EXPECT_EQ(ask(session, "compare", request + std::string(1, '\0') + "more").status, BW_DOCUMENT_JSON);
  library().close(session);
}

// ---- Sessions --------------------------------------------------------------------------------------------

TEST(Sessions, wrong_handles_are_told) {
  const std::intptr_t session = library().open();
  ASSERT_NE(session, 0);
  EXPECT_EQ(library().close(session), BW_OK);
  for (const std::intptr_t handle :
       {session, std::intptr_t{0}, std::intptr_t{-1}, std::intptr_t{0x7FFF12345678}}) {
    EXPECT_EQ(library().close(handle), BW_USAGE_OVER);
    EXPECT_EQ(ask(handle, "compare", plan_text("as it is")).status, BW_USAGE_OVER);
    double result = 0;
    const Value none = list({});
    EXPECT_EQ(library().formula(handle, nullptr, &none, &result), BW_USAGE_OVER);
    EXPECT_TRUE(std::isnan(result));
    Value text, errors;
    EXPECT_EQ(library().last_error(handle, &text, &errors), BW_USAGE_OVER);
    EXPECT_NE(text.text().find("buttonworth_open"), std::string::npos);
  }
  const std::intptr_t next = library().open();
  EXPECT_NE(next, session);
  library().close(next);
}

TEST(Sessions, mistakes_of_the_program_are_told) {
  const std::intptr_t session = library().open();
  EXPECT_EQ(ask(session, "compute", "{}").status, BW_USAGE_NAME);
  EXPECT_NE(last_error(session).find("compute"), std::string::npos);
  EXPECT_EQ(ask(session, "settle", "{}", "{}").status, BW_USAGE_OPTIONS);
  EXPECT_NE(last_error(session).find("settle"), std::string::npos);
  EXPECT_EQ(ask(session, "compare", plan_text("as it is")).status, BW_OK);
  EXPECT_EQ(last_error(session), "");
  double result = 0;
  const Value texts = list({0.5, std::string_view("25"), 0.05});
  EXPECT_EQ(
      library().formula(session, Text(std::string_view("two_product_yield")).pointer(), &texts, &result),
      BW_USAGE_TYPE);
  EXPECT_NE(last_error(session).find("argument 2"), std::string::npos);
  const Value numbers = list({0.5, 25.0, 0.05});
  EXPECT_EQ(library().formula(session, Text(std::string_view("no_such")).pointer(), &numbers, &result),
            BW_USAGE_NAME);
  EXPECT_EQ(library().ask(session, nullptr, nullptr, nullptr, nullptr), BW_USAGE_NULL);
  library().close(session);
}

// ---- The host's floating point ---------------------------------------------------------------------------

struct Settings {
  unsigned sse;
  unsigned short x87;
  bool operator==(const Settings&) const = default;
};
Settings now() {
  Settings settings{_mm_getcsr(), 0};
  asm volatile("fnstcw %0" : "=m"(settings.x87));
  return settings;
}
void set(Settings settings) {
  asm volatile("fldcw %0" : : "m"(settings.x87));
  _mm_setcsr(settings.sse);
}

TEST(FloatingPoint, of_the_host_is_kept_and_does_not_matter) {
  const Settings usual = now();
  const Value document = range(plan_named("as it is"));
  const Value given = list({document, std::string_view("/routes/as it is/net")});
  const Text function(std::string_view("BW_FIGURE"));
  // As Windows starts a thread; up, all trapped; towards zero, flushed to zero; 24 bits.
  for (const Settings settings : {Settings{0x1F80, 0x027F}, Settings{0x4000, 0x0B40},
                                  Settings{0xFF80, 0x0E7F}, Settings{0x1F80, 0x007F}}) {
    Value result;
    set(settings);
    library().evaluate(function.pointer(), &given, &result);
    const Settings after = now();
    set(usual);
    EXPECT_EQ(after, settings) << std::hex << after.sse << ' ' << after.x87;
    EXPECT_TRUE(result.is_number() && result.dblVal == 2760);
  }
}

TEST(FloatingPoint, simulations_are_the_same_whatever_the_host_has_set) {
  const Settings usual = now();
  const std::intptr_t session = library().open();
  Json plan = Json::parse(plan_text("as it is"));
  plan["lot"]["assays"]["Au"] = {{"value", "30 g/t"}, {"sd", "3 g/t"}};
  plan["prices"]["Au"] = {{"value", "100.1 USD/g"}, {"sd", "7 USD/g"}};
  const std::string options = R"({"draws": 4096, "threads": 2})";
  const Asked first = ask(session, "simulate", plan.dump(), options);
  ASSERT_EQ(first.status, BW_OK) << last_error(session);
  const Text call(std::string_view("simulate")), request(plan.dump()), chosen(options);
  Value answer;
  set({0x4000, 0x0B40});
  library().ask(session, call.pointer(), request.pointer(), chosen.pointer(), &answer);
  set(usual);
  EXPECT_EQ(answer.text(), first.answer);
  EXPECT_EQ(ask(session, "simulate", plan.dump(), R"({"draws": 4096, "threads": 1})").answer, first.answer);
  library().close(session);
}

// ---- Memory and threads ----------------------------------------------------------------------------------

std::size_t memory() {
  PROCESS_MEMORY_COUNTERS counters{};
  counters.cb = sizeof counters;
  GetProcessMemoryInfo(GetCurrentProcess(), &counters, sizeof counters);
  return counters.PagefileUsage;
}
unsigned long handles() {
  DWORD count = 0;
  GetProcessHandleCount(GetCurrentProcess(), &count);
  return count;
}

/// Calls again and again: once used to it, the process grows by less than a call could leave.
template <class Call>
void expect_no_leak(int times, Call call) {
  for (int i = 0; i < times / 10; ++i) call(i);
  const std::size_t before = memory();
  const unsigned long handles_before = handles();
  for (int i = 0; i < times; ++i) call(i);
  EXPECT_LT(memory(), before + static_cast<std::size_t>(times) * 8 + (std::size_t{128} << 10))
      << "less than a pointer a call";
  EXPECT_LE(handles(), handles_before + 2);
}

TEST(Memory, failing_calls_leave_nothing) {
  const Value column = excel::range(3, 1, {std::string_view("много"), Value(), 100.0});
  const Value given = list({column, 0.25});
  const Value explained = list({std::string_view("BW_DRY_MASS"), column, 0.25});
  const Text dry(std::string_view("BW_DRY_MASS")), explain(std::string_view("BW_EXPLAIN"));
  expect_no_leak(100000, [&](int) {
    Value result;
    library().evaluate(dry.pointer(), &given, &result);
    library().evaluate(explain.pointer(), &explained, &result);
  });
}

TEST(Memory, failing_questions_leave_nothing) {
  const std::intptr_t session = library().open();
  const Text call(std::string_view("compare")), request(plan_text("как есть", "15 oz"));
  Value answer, text, errors;
  expect_no_leak(100000, [&](int) {
    EXPECT_NE(library().ask(session, call.pointer(), request.pointer(), nullptr, &answer), BW_OK);
    library().last_error(session, &text, &errors);
  });
  EXPECT_NE(text.text().find("ozt"), std::string::npos);
  library().close(session);
}

TEST(Memory, sessions_leave_nothing) {
  expect_no_leak(100000, [&](int) { library().close(library().open()); });
}

TEST(Threads, two_ask_at_once) {
  std::atomic<int> bad = 0;
  const auto work = [&](const std::string& name) {
    const std::intptr_t session = library().open();
    for (int i = 0; i < 200; ++i) {
      const Asked asked = ask(session, "compare", plan_text(name));
      if (asked.status != BW_OK || Json::parse(asked.answer).at("best") != name) ++bad;
      if (shown(library(), "BW_BEST_ROUTE", {range(plan_named(name + std::to_string(i % 7)))}).text() !=
          name + std::to_string(i % 7))
        ++bad;
    }
    library().close(session);
  };
  std::thread first(work, "один"), second(work, "dos");
  first.join();
  second.join();
  EXPECT_EQ(bad, 0);
}

TEST(Threads, that_end_leave_nothing) {
  expect_no_leak(2000, [&](int) { std::thread([&] { dry_mass(std::string_view("much")); }).join(); });
}

// ---- Loading ---------------------------------------------------------------------------------------------

class Folder {
 public:
  explicit Folder(const std::wstring& name) : path_(std::filesystem::temp_directory_path() / name) {
    std::filesystem::create_directories(path_);
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

TEST(Loading, from_a_folder_of_any_name_again_and_again) {
  const Folder folder(L"золото 金 🥇");
  const std::filesystem::path copy = folder.path() / L"buttonworth.dll";
  std::filesystem::copy_file(BUTTONWORTH_DLL, copy, std::filesystem::copy_options::overwrite_existing);
  for (int i = 0; i < 5; ++i) {
    const Library copied(copy.wstring());
    Value version, path;
    copied.version_and_path(&version, &path);
    EXPECT_EQ(version.text(), BUTTONWORTH_TEST_VERSION);
    EXPECT_EQ(path.text(), cells::utf8(copy.wstring()));
    EXPECT_EQ(shown(copied, "BW_PATH", {}).text(), path.text());
    EXPECT_TRUE(shown(copied, "BW_BEST_ROUTE", {range(plan_named("как есть"))}).text() == "как есть");
    std::thread([&] { shown(copied, "BW_DRY_MASS", {100.0, 2.0}); }).join();
  }
}

}  // namespace
}  // namespace excel
