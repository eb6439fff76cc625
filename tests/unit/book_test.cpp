// Money put to what is owed, Student's pairs, and tables in pieces.

#include <gtest/gtest.h>

#include <cmath>

#include "book/owed.hpp"
#include "book/paired.hpp"
#include "document/csv_text.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

// ---- Pairs -----------------------------------------------------------------------------------

TEST(Paired, student_1908) {
  // Student, The probable error of a mean, Biometrika 1908: hours of sleep, one drug less the other (R's data
  // set sleep). t, p and the interval as R prints them for these data.
  const PairedDifference found = paired({0, 0.8, 1.0, 1.2, 1.3, 1.3, 1.4, 1.8, 2.4, 4.6});
  EXPECT_NEAR(found.mean, 1.58, 1e-14);
  ASSERT_TRUE(found.spread);
  EXPECT_NEAR(found.spread->t, 4.0621277, 5e-8);
  EXPECT_NEAR(found.spread->p, 0.00283289, 5e-9);
  EXPECT_NEAR(found.spread->low, 0.7001142, 5e-8);
  EXPECT_NEAR(found.spread->high, 2.4598858, 5e-8);
  EXPECT_EQ(found.outliers, std::vector<std::size_t>{9});
}

TEST(Paired, nist_numacc4) {
  // NIST, Statistical Reference Datasets, NumAcc4: mean 10000000.2 and sd 0.1, certified; the one-pass
  // formula gives no digit of the sd.
  std::vector<double> values{10000000.2};
  for (int i = 0; i < 500; ++i) values.push_back(10000000.1), values.push_back(10000000.3);
  const PairedDifference found = paired(values);
  EXPECT_DOUBLE_EQ(found.mean, 10000000.2);
  EXPECT_NEAR(found.sd, 0.1, 1e-9);  // the values themselves are good to 1e-9
}

TEST(Paired, the_same_pairs_have_no_spread) {
  const PairedDifference found = paired({std::log(1.1), std::log(2.2 / 2), std::log(11.0 / 10)});
  EXPECT_EQ(found.pairs, 3U);
  EXPECT_FALSE(found.spread);
  EXPECT_TRUE(found.outliers.empty());
}

TEST(Paired, none_and_one) {
  EXPECT_EQ(paired({}).pairs, 0U);
  EXPECT_EQ(paired({0.5}).mean, 0.5);
  EXPECT_FALSE(paired({0.5}).spread);
}

TEST(Paired, outliers_want_five_pairs) {
  EXPECT_TRUE(paired({0, 0.01, -0.01, 9}).outliers.empty());
  EXPECT_EQ(paired({0, 0.01, -0.01, 0.005, 9}).outliers, std::vector<std::size_t>{4});
}

// ---- Money -----------------------------------------------------------------------------------

Day day(unsigned d) { return Day(std::chrono::year(2026) / 3 / d); }

OwedItem item(const char* delivery, std::optional<Day> due, const char* amount,
              OwedFor what = OwedFor::balance) {
  return {delivery, what, {}, due, Decimal(amount)};
}
std::vector<std::string> amounts(const Owed& owed) {
  std::vector<std::string> texts;
  for (const OwedItem& one : owed.outstanding()) texts.push_back(one.delivery + ' ' + to_text(one.amount));
  return texts;
}
using Texts = std::vector<std::string>;
const std::unordered_set<std::string> known{"a", "b", "c"};

TEST(Owed, money_that_names_none_goes_to_the_oldest) {
  Owed owed({item("a", std::nullopt, "5"), item("b", day(9), "10"), item("c", day(4), "7")}, known);
  owed.receive({day(1), 12, "", ""});
  EXPECT_EQ(amounts(owed), (Texts{"b 5", "a 5"}));
  owed.receive({day(2), 12, "", ""});
  EXPECT_EQ(amounts(owed), (Texts{" -2"}));  // unallocated
  EXPECT_EQ(owed.received()[static_cast<std::size_t>(OwedFor::unallocated)], 2);
}

TEST(Owed, money_goes_to_items_of_its_sign) {
  Owed owed({item("a", day(1), "-3"), item("b", day(2), "10")}, known);
  owed.receive({day(1), 4, "", ""});
  EXPECT_EQ(amounts(owed), (Texts{"a -3", "b 6"}));
  owed.receive({day(1), -2, "", ""});
  EXPECT_EQ(amounts(owed), (Texts{"a -1", "b 6"}));
}

TEST(Owed, what_is_left_of_a_named_delivery_stays_with_it) {
  Owed owed({item("a", day(1), "3", OwedFor::advance), item("a", day(2), "4"), item("b", day(3), "1")},
            known);
  owed.receive({day(1), 8, "a", ""});
  EXPECT_EQ(amounts(owed), (Texts{"a -1", "b 1"}));
  EXPECT_EQ(owed.overpaid(), Texts{"a"});
  EXPECT_EQ(owed.received()[static_cast<std::size_t>(OwedFor::advance)], 3);
  EXPECT_EQ(owed.received()[static_cast<std::size_t>(OwedFor::balance)], 5);
  // It is below 0 now: money paid back without a name finds it, though the search had passed it.
  owed.receive({day(2), -1, "", ""});
  EXPECT_EQ(amounts(owed), Texts{"b 1"});
}

TEST(Owed, what_was_paid_back_is_no_longer_more_than_was_owed) {
  Owed owed({item("a", day(1), "3"), item("b", day(2), "4")}, known);
  owed.receive({day(1), 4, "a", ""});
  owed.receive({day(1), 1, "a", ""});
  EXPECT_EQ(owed.overpaid(), Texts{"a"});
  owed.receive({day(2), -2, "a", ""});
  owed.receive({day(3), -1, "b", ""});
  EXPECT_EQ(owed.overpaid(), Texts{});
  EXPECT_EQ(amounts(owed), Texts{"b 5"});
}

TEST(Owed, a_delivery_without_an_item_gets_one) {
  Owed owed({}, known);
  owed.receive({day(1), 8, "c", ""});
  EXPECT_EQ(amounts(owed), Texts{"c -8"});
}

TEST(Owed, a_delivery_that_is_not_there_is_an_error_at_its_place) {
  Owed owed({}, known);
  try {
    owed.receive({day(1), 8, "d", "/received/3/delivery"});
    ADD_FAILURE() << "no error";
  } catch (const Error& error) {
    EXPECT_EQ(error.complaint().pointer, "/received/3/delivery");
  }
}

// ---- Tables ----------------------------------------------------------------------------------

std::vector<CsvText::Row> rows_of(std::string_view text, std::size_t piece) {
  CsvText csv;
  std::vector<CsvText::Row> rows;
  const auto take = [&](const CsvText::Row& row) { rows.push_back(row); };
  for (std::size_t at = 0; at < text.size(); at += piece) csv.take(text.substr(at, piece), take);
  EXPECT_TRUE(csv.finish(take));
  return rows;
}

TEST(Csv, is_the_same_in_pieces_of_any_size) {
  const std::string_view text =
      "\xEF\xBB\xBFid,\"a \"\"quoted\"\" name\",x\r\n1,\"two\r\nlines, one cell\",\r\n\r\n,\"\",3";
  const std::vector<CsvText::Row> wanted{
      {"id", "a \"quoted\" name", "x"}, {"1", "two\r\nlines, one cell", ""}, {""}, {"", "", "3"}};
  for (std::size_t piece = 1; piece <= text.size(); ++piece) EXPECT_EQ(rows_of(text, piece), wanted) << piece;
}

TEST(Csv, the_header_tells_what_separates) {
  EXPECT_EQ(rows_of("a;b\n1,5;2\n", 3), (std::vector<CsvText::Row>{{"a", "b"}, {"1,5", "2"}}));
  EXPECT_EQ(rows_of("a\tb\n1;5\t2\n", 3), (std::vector<CsvText::Row>{{"a", "b"}, {"1;5", "2"}}));
  EXPECT_EQ(rows_of("\"a;b\",c\n1;5,2\n", 3), (std::vector<CsvText::Row>{{"a;b", "c"}, {"1;5", "2"}}));
}

TEST(Csv, tells_of_a_cell_that_is_not_closed) {
  CsvText csv;
  const auto ignore = [](const CsvText::Row&) {};
  csv.take("a,b\n1,\"2", ignore);
  EXPECT_FALSE(csv.finish(ignore));
}

}  // namespace
}  // namespace buttonworth
