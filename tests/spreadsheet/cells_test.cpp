// The functions of the cells without a host: answers kept once, threads, faults, ranges of any shape.

#include <gtest/gtest.h>

#include <cfenv>
#include <cmath>
#include <thread>

#include "answers.hpp"
#include "core.hpp"
#if defined(__x86_64__)
#include "host_state.hpp"
#endif
#include "wide.hpp"

namespace cells {
namespace {

const Function& function(std::string_view name) {
  for (const Function& one : functions())
    if (one.name == name) return one;
  throw std::out_of_range(std::string(name));
}

Cells column(std::initializer_list<Cell> values) {
  Cells made(values.size(), 1);
  made.values = values;
  return made;
}

using Rows = std::vector<std::pair<std::string, std::string>>;

const Rows plan_rows{{"/format", "buttonworth-plan/1"},
                     {"/currency", "USD"},
                     {"/prices/Au", "100 USD/g"},
                     {"/discount", "0 %/a"},
                     {"/lot/wet_mass", "1000 kg"},
                     {"/lot/assays/Au", "30 g/t"},
                     {"/terms/smelter/buys", "concentrate"},
                     {"/terms/smelter/pay/Au/share", "92 %"},
                     {"/routes/as it is/sell", "smelter"}};

Cells range(const Rows& rows) {
  Cells made(rows.size(), 2);
  for (std::size_t row = 0; row < rows.size(); ++row) {
    made.at(row, 0) = rows[row].first;
    made.at(row, 1) = rows[row].second;
  }
  return made;
}

Rows weighing(int kilograms) {
  Rows rows = plan_rows;
  rows[4].second = std::to_string(kilograms) + " kg";
  return rows;
}

double number(const Cells& one) { return std::get<double>(one.at(0, 0)); }
Fault fault(const Cells& one) { return std::get<Fault>(one.at(0, 0)); }

// ---- Answers
// -----------------------------------------------------------------------------------------------

TEST(Answers, of_equal_content_are_one) {
  Answers kept(8, 1 << 20);
  const auto first = kept.ask({"compare", "", range(plan_rows)});
  ASSERT_NE(first->answer, nullptr) << first->trouble.text;
  EXPECT_EQ(kept.ask({"compare", "", range(plan_rows)}), first);
  EXPECT_NE(kept.ask({"compare", "", range(weighing(1001))}), first);
  EXPECT_NE(kept.ask({"compare", "{\"how\": false}", range(plan_rows)}), first);
}

TEST(Answers, are_told_apart_by_where_their_texts_end) {
  Answers kept(8, 1 << 20);
  const auto one = kept.ask({"compare", "", range({{"/ab", "c"}})}),
             other = kept.ask({"compare", "", range({{"/a", "bc"}})});
  EXPECT_NE(one, other);
}

TEST(Answers, are_worked_out_once_for_all_threads) {
  Answers kept(8, 1 << 20);
  std::vector<std::shared_ptr<const Kept>> found(8);
  std::vector<std::thread> threads;
  for (auto& one : found)
    threads.emplace_back([&kept, &one] {
      for (int i = 0; i < 100; ++i) one = kept.ask({"compare", "", range(plan_rows)});
    });
  for (auto& thread : threads) thread.join();
  for (const auto& one : found) EXPECT_EQ(one, found[0]);
}

TEST(Answers, no_more_are_kept_than_stated) {
  Answers kept(2, 1 << 20);
  const auto first = kept.ask({"compare", "", range(weighing(1))});
  const auto second = kept.ask({"compare", "", range(weighing(2))});
  EXPECT_EQ(kept.ask({"compare", "", range(weighing(1))}), first);  // now the last asked
  kept.ask({"compare", "", range(weighing(3))});
  EXPECT_EQ(kept.ask({"compare", "", range(weighing(1))}), first);
  EXPECT_NE(kept.ask({"compare", "", range(weighing(2))}), second);
}

TEST(Answers, and_none_larger_together_but_the_last) {
  Answers kept(100, 1);
  const auto first = kept.ask({"compare", "", range(weighing(1))});
  EXPECT_EQ(kept.ask({"compare", "", range(weighing(1))}), first);
  kept.ask({"compare", "", range(weighing(2))});
  EXPECT_NE(kept.ask({"compare", "", range(weighing(1))}), first);
}

TEST(Answers, of_many_plans_by_many_threads_are_each_their_own) {
  std::vector<std::thread> threads;
  std::atomic<int> wrong = 0;
  for (int start = 0; start < 4; ++start)
    threads.emplace_back([start, &wrong] {
      for (int i = 0; i < 300; ++i) {
        const int kilograms = 1 + (start * 7 + i * 13) % 400;  // more than are kept
        const Cells net = evaluate(function("BW_FIGURE"),
                                   {range(weighing(kilograms)), Cells(std::string("/routes/as it is/net"))});
        if (std::abs(number(net) - kilograms * 0.03 * 0.92 * 100) > 1e-9) ++wrong;
      }
    });
  for (auto& thread : threads) thread.join();
  EXPECT_EQ(wrong, 0);
}

// ---- Cells
// -------------------------------------------------------------------------------------------------

TEST(Cells, every_function_answers_to_no_arguments_at_all) {
  for (const Function& one : functions()) {
    const Cells shown = evaluate(one, {});
    ASSERT_TRUE(shown.is_one()) << one.name;
    EXPECT_EQ(std::holds_alternative<Fault>(shown.at(0, 0)), !one.arguments.empty()) << one.name;
  }
}

TEST(Cells, one_argument_too_many_is_a_fault) {
  for (const Function& one : functions()) {
    if (!one.arguments.empty() && one.arguments.back().kind == Kind::rest) continue;
    std::string why;
    const std::vector<Cells> arguments(one.arguments.size() + 1, Cells(1.0));
    EXPECT_EQ(fault(evaluate(one, arguments, &why)), Fault::argument) << one.name;
    EXPECT_NE(why.find("takes"), why.npos) << one.name;
  }
}

/// What the core says may be left out may be left out of the cell, and nothing else.
TEST(Cells, arguments_that_may_be_left_out_are_the_cores) {
  for (const Function& one : functions()) {
    if (one.work != work_formula) continue;
    std::vector<Cells> arguments;
    for (const Argument& argument : one.arguments)
      arguments.push_back(argument.optional ? Cells() : Cells(argument.per * 0.5));
    std::string why;
    evaluate(one, arguments, &why);
    EXPECT_EQ(why.find("is wanted"), why.npos) << one.name << ": " << why;
    for (std::size_t k = 0; k < arguments.size(); ++k) {
      if (one.arguments[k].optional) continue;
      std::vector<Cells> fewer = arguments;
      fewer[k] = Cells();
      EXPECT_EQ(fault(evaluate(one, fewer)), Fault::missing) << one.name << ": " << one.arguments[k].name;
    }
  }
}

TEST(Cells, a_column_meets_a_row) {
  Cells row(1, 2);
  row.values = {Cell(0.1), Cell(0.2)};
  const Cells dry = evaluate(function("BW_DRY_MASS"), {column({100.0, 200.0, std::string("x")}), row});
  ASSERT_EQ(dry.rows, 3U);
  ASSERT_EQ(dry.columns, 2U);
  EXPECT_DOUBLE_EQ(std::get<double>(dry.at(1, 1)), 160);
  EXPECT_EQ(std::get<Fault>(dry.at(2, 0)), Fault::argument);
}

TEST(Cells, ranges_of_two_lengths_lack_the_rest) {
  const Cells dry = evaluate(function("BW_DRY_MASS"), {column({100.0, 200.0, 300.0}), column({0.1, 0.2})});
  ASSERT_EQ(dry.rows, 3U);
  EXPECT_DOUBLE_EQ(std::get<double>(dry.at(1, 0)), 160);
  EXPECT_EQ(std::get<Fault>(dry.at(2, 0)), Fault::missing);
}

/// What may be left out is not left out where its range ends before another's.
TEST(Cells, ranges_of_what_may_be_left_out_too) {
  std::size_t tried = 0;
  for (const Function& one : functions())
    for (std::size_t k = 0; one.work == work_formula && k < one.arguments.size(); ++k) {
      if (!one.arguments[k].optional) continue;
      std::vector<Cells> arguments;
      for (const Argument& argument : one.arguments)
        arguments.push_back(column({argument.per * 0.5, argument.per * 0.5, argument.per * 0.5}));
      arguments[k] = column({one.arguments[k].per * 0.5, one.arguments[k].per * 0.5});
      std::string why;
      EXPECT_EQ(std::get<Fault>(evaluate(one, arguments, &why).at(2, 0)), Fault::missing) << one.name;
      ++tried;
    }
  EXPECT_GT(tried, 0U);
}

TEST(Cells, a_blank_cell_leaves_out_what_may_be_left_out) {
  const Cells blank{Cell()};
  EXPECT_DOUBLE_EQ(
      number(evaluate(function("BW_PAYABLE"), {Cells(1000.0), Cells(50.0), Cells(0.9), blank, blank})), 45);
}

TEST(Cells, an_error_in_a_range_stays_what_it_is) {
  const Cells dry = evaluate(function("BW_DRY_MASS"), {column({Fault::no_solution, 100.0}), Cells(0.1)});
  EXPECT_EQ(std::get<Fault>(dry.at(0, 0)), Fault::no_solution);
  EXPECT_DOUBLE_EQ(std::get<double>(dry.at(1, 0)), 90);
}

TEST(Cells, the_first_reason_is_told) {
  std::string why;
  evaluate(function("BW_DRY_MASS"), {column({100.0, std::string("many"), std::string("few")}), Cells(0.1)},
           &why);
  EXPECT_NE(why.find("many"), why.npos) << why;
}

TEST(Cells, a_target_out_of_reach_has_no_solution) {
  Rows rows = plan_rows;
  rows.back() = {"/routes/tabled/step", "shaker"};
  for (const auto& [pointer, value] : Rows{{"/routes/tabled/concentrate/sell", "smelter"},
                                           {"/routes/tabled/tailings/keep", "true"},
                                           {"/steps/shaker/kind", "table"},
                                           {"/steps/shaker/curve/Au/0/0", "5 %"},
                                           {"/steps/shaker/curve/Au/0/1", "60 %"},
                                           {"/steps/shaker/cut/grade", "5000 g/t"}})
    rows.emplace_back(pointer, value);
  std::string why;
  const Cells shown = evaluate(function("BW_FIGURE"), {range(rows), Cells(std::string("/best"))}, &why);
  EXPECT_EQ(fault(shown), Fault::no_solution) << why;
}

TEST(Cells, a_document_wants_two_columns_or_three) {
  std::string why;
  EXPECT_EQ(fault(evaluate(function("BW_BEST_ROUTE"), {Cells(std::string("plan"))}, &why)), Fault::argument);
  EXPECT_NE(why.find("two columns"), why.npos) << why;
}

TEST(Cells, options_of_the_draws_stand_in_a_range) {
  Rows rows = plan_rows;
  rows[2].first += "/value";
  rows.emplace_back("/prices/Au/sd", "10 USD/g");
  const auto drawn = [&](const Rows& options, std::string& why) {
    return evaluate(function("BW_SIMULATE"), {range(rows), Cells(256.0), Cells(1.0), range(options)}, &why);
  };
  std::string why;
  const Cells plain = evaluate(function("BW_SIMULATE"), {range(rows), Cells(256.0)}, &why);
  ASSERT_GT(plain.columns, 4U) << why;
  EXPECT_EQ(drawn({{"", ""}, {"", ""}}, why).values, plain.values) << why;
  const Cells averaged = drawn({{"/averaged/0/0", "/prices/Au"}, {"/averaged/0/1", "21"}}, why);
  ASSERT_EQ(averaged.columns, plain.columns) << why;
  // The spread of an average of 21 fixings, as section 23 of the format has it.
  const double spread = std::sqrt(22 * 43 / (6.0 * 21 * 21));
  EXPECT_NEAR(std::get<double>(averaged.at(1, 4)) / std::get<double>(plain.at(1, 4)), spread, 1e-9);
  EXPECT_EQ(
      fault(drawn(
          {{"/correlate/0/0", "/prices/Au"}, {"/correlate/0/1", "/prices/Xx"}, {"/correlate/0/2", "0.5"}},
          why)),
      Fault::argument);
  EXPECT_NE(why.find("/prices/Xx"), why.npos) << why;
  why.clear();
  EXPECT_EQ(fault(drawn({{"/0", "/prices/Au"}}, why)), Fault::argument);
  EXPECT_NE(why.find("options"), why.npos) << why;
}

TEST(Cells, names_in_any_script_stay_themselves) {
  Rows rows = plan_rows;
  rows.back() = {"/routes/как есть/sell", "smelter"};
  EXPECT_EQ(std::get<std::string>(evaluate(function("BW_BEST_ROUTE"), {range(rows)}).at(0, 0)), "как есть");
  const Cells table = evaluate(function("BW_ROUTES"), {range(rows)});
  EXPECT_EQ(std::get<std::string>(table.at(1, 0)), "как есть");
  EXPECT_EQ(std::get<double>(table.at(1, 1)), 2760);
}

TEST(Cells, texts_are_quoted_for_options) {
  EXPECT_EQ(quoted("a\"b\\c\n"), "\"a\\\"b\\\\c\\u000a\"");
  std::string why;
  const Cells shown =
      evaluate(function("BW_BREAK_EVEN"), {range(plan_rows), Cells(std::string("/prices/\"Au"))}, &why);
  EXPECT_EQ(fault(shown), Fault::argument) << why;
}

// ---- Calls of the C interface
// --------------------------------------------------------------------------

TEST(Jobs, are_found_by_the_names_of_the_c_interface) {
  for (const char* name :
       {"compare", "simulate", "worth", "break_even", "counter_offers", "forgiving_cut", "sensitivity", "map",
        "settle", "reconcile", "book", "dispute", "metal_call", "bench", "convert"}) {
    const Job* job = find_job(name);
    ASSERT_NE(job, nullptr) << name;
    bw_answer* answer = nullptr;
    EXPECT_NE(run(*job, context(), "{\"no\": 1}", "", &answer), BW_OK) << name;
    EXPECT_EQ(answer, nullptr) << name;
  }
  EXPECT_EQ(find_job("bw_compare"), nullptr);
  EXPECT_EQ(find_job(""), nullptr);
}

TEST(Jobs, take_their_options) {
  const Answer plan = document_of(range(plan_rows), "plan");
  bw_answer* answer = nullptr;
  EXPECT_EQ(run(*find_job("compare"), context(), bw_answer_text(plan.get(), nullptr), "{\"no\": 1}", &answer),
            BW_USAGE_OPTIONS);
  ASSERT_EQ(
      run(*find_job("compare"), context(), bw_answer_text(plan.get(), nullptr), "{\"how\": false}", &answer),
      BW_OK);
  bw_answer_destroy(&answer);
}

// ---- Texts of hosts that keep UTF-16
// -------------------------------------------------------------------

/// By the tables of RFC 3629 and of the Unicode standard's section 3.9.
TEST(Wide, texts_go_there_and_back) {
  const std::u16string wide = u"z\u00DF\u044F\u20AC\U0001F947";
  const std::string narrow = "z\xC3\x9F\xD1\x8F\xE2\x82\xAC\xF0\x9F\xA5\x87";
  EXPECT_EQ(utf8(wide), narrow);
  EXPECT_EQ(utf16<char16_t>(narrow), wide);
  EXPECT_EQ(utf8(std::u16string(3, u'\0')), std::string(3, '\0'));
}

TEST(Wide, every_character_comes_back) {
  for (char32_t point = 0; point <= 0x10FFFF; ++point) {
    if (point >= 0xD800 && point <= 0xDFFF) continue;
    std::u16string wide;
    if (point < 0x10000) wide = static_cast<char16_t>(point);
    else
      wide = {static_cast<char16_t>(0xD800 + ((point - 0x10000) >> 10)),
              static_cast<char16_t>(0xDC00 + (point & 0x3FF))};
    ASSERT_EQ(utf16<char16_t>(utf8(wide)), wide) << std::hex << static_cast<unsigned>(point);
  }
}

TEST(Wide, half_a_pair_is_no_utf8_and_each_another) {
  const std::u16string high{u'a', 0xD83E}, low{u'a', 0xDD47}, turned{0xDD47, 0xD83E};
  EXPECT_EQ(utf8(high), "a\xED\xA0\xBE");
  EXPECT_EQ(utf8(low), "a\xED\xB5\x87");
  EXPECT_EQ(utf8(turned), "\xED\xB5\x87\xED\xA0\xBE");
  bw_answer* answer = nullptr;
  const std::string request = "{\"quantity\": \"" + utf8(high) + "\", \"to\": \"g\"}";
  EXPECT_EQ(run(*find_job("convert"), context(), request, "", &answer), BW_DOCUMENT_UTF8);
}

TEST(Wide, what_is_no_utf8_becomes_a_mark) {
  const auto marks = [](std::size_t count) { return std::u16string(count, 0xFFFD); };
  for (const std::string wrong : {"\xFF", "\x80", "\xC3", "\xC0\x80", "\xE2\x82", "\xE0\x80\xAF",
                                  "\xED\xA0\xBE", "\xF4\x90\x80\x80", "\xF8\x88\x80\x80\x80"})
    EXPECT_EQ(utf16<char16_t>("a" + wrong + "b"), u"a" + marks(wrong.size()) + u"b");
}

#if defined(__x86_64__)
// ---- The host's floating point
// -------------------------------------------------------------------------

TEST(HostState, is_put_aside_and_comes_back) {
  std::fesetround(FE_UPWARD);
  volatile double one = 1, three = 3;
  const double up = one / three;
  std::feclearexcept(FE_ALL_EXCEPT);
  {
    const HostState host;
    EXPECT_EQ(std::fegetround(), FE_TONEAREST);
    EXPECT_LT(one / three, up);
    EXPECT_NE(std::fetestexcept(FE_INEXACT), 0);
  }
  EXPECT_EQ(std::fegetround(), FE_UPWARD);
  EXPECT_EQ(std::fetestexcept(FE_ALL_EXCEPT), 0);
  EXPECT_EQ(one / three, up);
  std::fesetenv(FE_DFL_ENV);
}
#endif

}  // namespace
}  // namespace cells
