// A month in pieces: the same book as at once, progress, cancelling, and what is over.

#include <algorithm>

#include "support.hpp"

namespace capi {
namespace {

using Month = Handle<bw_month, bw_month_destroy>;

const std::string heading = R"({"format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01",
  "to": "2026-03-31", "list": true, "csv": true, "buyers": {"smelter": {"prices": {"Au": "80 USD/g"},
  "terms": {"buys": "concentrate", "pay": {"Au": {"share": "95 %"}}, "final": "30 d",
            "charges": [{"what": "treatment", "rate": "400 USD/t"}]}}}})";

std::string table(int rows) {
  std::string text = "id,buyer,arrived,wet_mass (kg),moisture (%),Au (g/t)\r\n";
  for (int i = 0; i < rows; ++i)
    text += "\"K-" + std::to_string(i) + "\",smelter,2026-03-" + std::to_string(10 + i % 20) + "," +
            std::to_string(100 + i) + ",5,300\r\n";
  return text;
}
const std::string money = "date,buyer,amount (USD),delivery\n2026-03-30,smelter,1000,K-1\n";

bw_status open_month(bw_context* context, const std::string& text, Month& month) {
  return bw_month_open(context, text.data(), text.size(), month.out());
}
bw_status take(bw_context* context, bw_month* month, const char* name, std::string_view text) {
  return bw_month_take(context, month, name, text.data(), text.size());
}

std::string book_at_once(bw_context* context, int rows) {
  Json request = Json::parse(heading);
  request["deliveries"] = table(rows);
  request["received"] = money;
  const std::string text = request.dump();
  Answer answer;
  EXPECT_EQ(bw_book(context, text.data(), text.size(), answer.out()), BW_OK) << bw_error_text(context);
  return bw_answer_text(answer, nullptr);
}

TEST(Month, in_pieces_of_any_size_is_the_book_at_once) {
  Context context;
  const std::string wanted = book_at_once(context, 40), text = table(40);
  for (std::size_t piece : {std::size_t{1}, std::size_t{7}, std::size_t{64}, text.size()}) {
    Month month;
    ASSERT_EQ(open_month(context, heading, month), BW_OK);
    EXPECT_EQ(take(context, month, "received", money), BW_OK);  // the tables may come in any order
    for (std::size_t at = 0; at < text.size(); at += piece)
      ASSERT_EQ(take(context, month, "deliveries", std::string_view(text).substr(at, piece)), BW_OK);
    Answer answer;
    ASSERT_EQ(bw_month_close(context, month, answer.out()), BW_OK) << bw_error_text(context);
    EXPECT_EQ(bw_answer_text(answer, nullptr), wanted) << piece;
  }
  EXPECT_EQ(Json::parse(wanted)["total"]["deliveries"], "40");
}

TEST(Month, is_over_once_it_is_closed) {
  Context context;
  Month month;
  ASSERT_EQ(open_month(context, heading, month), BW_OK);
  Answer answer;
  EXPECT_EQ(bw_month_close(context, month, answer.out()), BW_OK);
  EXPECT_EQ(bw_month_close(context, month, answer.out()), BW_USAGE_OVER);
  EXPECT_EQ(answer, nullptr);
  EXPECT_EQ(take(context, month, "deliveries", "id"), BW_USAGE_OVER);
}

TEST(Month, is_over_after_an_error_and_tells_all_of_it) {
  Context context;
  Month month;
  ASSERT_EQ(open_month(context, heading, month), BW_OK);
  const std::string rows =
      "id,buyer,arrived,wet_mass,Au (g/t)\nK-1,smelter,2026-03-02,12,300\nK-2,smeltr,2026-03-02,1 kg,3\n";
  EXPECT_EQ(take(context, month, "deliveries", rows), BW_DOCUMENT_UNIT);
  ASSERT_EQ(errors(context).size(), 2U);
  EXPECT_EQ(errors(context)[0]["pointer"], "/deliveries/0/delivered/wet_mass");
  EXPECT_EQ(errors(context)[1]["pointer"], "/deliveries/1/buyer");
  Answer answer;
  EXPECT_EQ(bw_month_close(context, month, answer.out()), BW_USAGE_OVER);
}

TEST(Month, an_unknown_table_leaves_it_as_it_is) {
  Context context;
  Month month;
  ASSERT_EQ(open_month(context, heading, month), BW_OK);
  EXPECT_EQ(take(context, month, "delivery", "id"), BW_USAGE_NAME);
  EXPECT_EQ(take(context, month, "deliveries", table(1)), BW_OK);
}

TEST(Month, a_table_stands_in_the_request_or_comes_in_pieces) {
  Context context;
  Month month;
  Json request = Json::parse(heading);
  request["deliveries"] = table(2);
  ASSERT_EQ(open_month(context, request.dump(), month), BW_OK);
  EXPECT_EQ(take(context, month, "received", money), BW_OK);
  EXPECT_EQ(take(context, month, "deliveries", table(1)), BW_DOCUMENT_CONFLICT);
  EXPECT_EQ(errors(context)[0]["pointer"], "/deliveries");
}

TEST(Month, a_header_in_another_encoding_is_told) {
  Context context;
  Month month;
  ASSERT_EQ(open_month(context, heading, month), BW_OK);
  EXPECT_EQ(take(context, month, "deliveries", "id,buyer,arrived,wet_mass (kg),assay X\xe9 (g/t)\n"),
            BW_DOCUMENT_UTF8);
}

TEST(Month, errors_are_no_more_than_the_limit) {
  Context context;
  ASSERT_EQ(bw_set_limit(context, "errors", 3), BW_OK);
  Month month;
  ASSERT_EQ(open_month(context, heading, month), BW_OK);
  std::string rows = "id,buyer,arrived,wet_mass,Au (g/t)\n";
  for (int i = 0; i < 50; ++i) rows += "K-" + std::to_string(i) + ",smelter,2026-03-02,12,300\n";
  EXPECT_EQ(take(context, month, "deliveries", rows), BW_DOCUMENT_UNIT);
  EXPECT_EQ(errors(context).size(), 3U);
}

TEST(Month, credits_that_are_no_metals_are_told_one_by_one) {
  Context context;
  Json request = Json::parse(heading);
  request["buyers"]["smelter"]["credits"] = Json::parse(R"([{"Au": {}}, 7, "Au", "Au"])");
  const std::string text = request.dump();
  Month month;
  EXPECT_EQ(open_month(context, text, month), BW_DOCUMENT_TYPE);
  ASSERT_EQ(errors(context).size(), 3U);
  for (int i = 0; i < 3; ++i)
    EXPECT_EQ(errors(context)[i].at("pointer"), "/buyers/smelter/credits/" + std::to_string(i < 2 ? i : 3));
  EXPECT_EQ(errors(context)[2].at("code"), "repeated");
}

struct Progress {
  bw_context* context = nullptr;
  std::vector<std::int64_t> done;
  std::int64_t total = 0;
  bool cancels = false;
};
void note(void* user, std::int64_t done, std::int64_t total) {
  auto& progress = *static_cast<Progress*>(user);
  progress.done.push_back(done);
  progress.total = total;
  if (progress.cancels && progress.done.size() == 3) bw_cancel(progress.context);
}

TEST(Month, tells_how_far_it_is) {
  Context context;
  Progress progress{context, {}, 0, false};
  ASSERT_EQ(bw_set_progress(context, note, &progress), BW_OK);
  Json request = Json::parse(heading);
  const std::string rows = table(2000);
  request["deliveries"] = rows;
  const std::string text = request.dump();
  Answer answer;
  ASSERT_EQ(bw_book(context, text.data(), text.size(), answer.out()), BW_OK);
  EXPECT_GE(progress.done.size(), 5U);
  EXPECT_TRUE(std::is_sorted(progress.done.begin(), progress.done.end()));
  EXPECT_EQ(progress.total, static_cast<std::int64_t>(rows.size()));
}

TEST(Month, is_cancelled_in_the_middle) {
  Context context;
  Progress progress{context, {}, 0, true};
  ASSERT_EQ(bw_set_progress(context, note, &progress), BW_OK);
  Month month;
  ASSERT_EQ(open_month(context, heading, month), BW_OK);
  EXPECT_EQ(take(context, month, "deliveries", table(20000)), BW_CANCELLED);
  EXPECT_EQ(progress.done.size(), 3U) << "it went on after it was cancelled";
  Answer answer;
  EXPECT_EQ(bw_month_close(context, month, answer.out()), BW_USAGE_OVER);
  EXPECT_EQ(bw_month_open(context, heading.data(), heading.size(), month.out()), BW_OK)
      << "the context is usable";
}

}  // namespace
}  // namespace capi
