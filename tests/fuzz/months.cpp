// A month's book: as one request, and with its tables cut anywhere.
#include <memory>

#include "check.hpp"
#include "target.hpp"
#include "tree.hpp"

namespace fuzz {
namespace {

/// A table of the month, and where it is cut.
struct Table {
  const char* name;
  std::string text;
  std::uint64_t cuts;  ///< 0: in one piece
};

struct MonthDeleter {
  void operator()(bw_month* month) const { bw_month_destroy(&month); }
};

bw_status take(bw_context* context, bw_month* month, const Table& table) {
  bw_status status = BW_OK;
  std::uint64_t cuts = table.cuts;
  for (std::size_t from = 0; status == BW_OK && from < table.text.size();) {
    const std::size_t size = cuts == 0 ? table.text.size() : 1 + cuts % 23 * (cuts % 3);
    cuts = cuts == 0 ? 0 : cuts * 6364136223846793005U + 1442695040888963407U;
    const std::string_view piece = std::string_view(table.text).substr(from, size);
    status = bw_month_take(context, month, table.name, piece.data(), piece.size());
    from += piece.size();
  }
  return status;
}

/// Opens a month, takes its tables and closes it, as one call.
bw_status keep(bw_context* context, std::string_view heading, const std::vector<Table>& tables,
               bw_answer** out) {
  bw_month* opened = nullptr;
  bw_status status = bw_month_open(context, heading.data(), heading.size(), &opened);
  expect((status == BW_OK) == (opened != nullptr), "a month with an error, or none without");
  const std::unique_ptr<bw_month, MonthDeleter> month(opened);
  for (const Table& table : tables)
    if (status == BW_OK) status = take(context, opened, table);
  if (status == BW_OK) return bw_month_close(context, opened, out);
  if (opened != nullptr) {
    Host other;
    expect(bw_month_close(other, opened, out) == BW_USAGE_OVER, "a month goes on after an error");
  }
  return status;
}

/// A request with its tables in it comes to what it does with them in pieces.
void book(std::string_view input) {
  const Result whole = examine(input, [&](bw_context* context, bw_answer** out) {
    return bw_book(context, input.data(), input.size(), out);
  });
  auto tree = read_tree(input);
  if (!tree || tree->kind != Tree::Kind::object) return;
  std::vector<Table> tables;
  for (const char* name : {"deliveries", "received"}) {
    const Tree* stated = tree->find(name);
    const auto text = stated != nullptr ? text_of(*stated) : std::nullopt;
    if (!text) continue;
    tables.push_back({name, *text, mark_of(input) | 1});
    tree->remove(name);
  }
  if (tables.empty()) return;
  const std::string heading = write_tree(*tree);
  Host host;
  const Result pieces =
      ask(host, [&](bw_context* context, bw_answer** out) { return keep(context, heading, tables, out); });
  if (whole.status == BW_OK && !tables.front().text.empty())
    expect_same(whole, pieces, "a month with its tables in pieces");
}

constexpr std::string_view heading = R"({
  "format": "buttonworth-month/1", "currency": "USD", "from": "2026-03-01", "to": "2026-03-31", "csv": true,
  "buyers": {
    "smelter": {"terms": {"buys": "concentrate", "pay": {"Au": {"share": "95 %"}},
                          "charges": [{"what": "treatment", "rate": "400 USD/t"}],
                          "advance": {"share": "80 %", "after": "7 d"}, "final": "30 d"},
                "prices": {"Au": "2000 USD/ozt"},
                "limits": {"wet_mass": {"limit_relative": "0.2 %"},
                           "assays": {"Au": {"limit": "1 ozt/t", "rule": "nearer"}}}},
    "refiner": {"terms": {"buys": "bar", "pay": {"Au": {}}, "charges": [{"what": "handling", "rate": "100 USD/lot"}]},
                "credits": ["Au"], "account": {"Au": {"opening": "10 ozt"}}}}})";

/// The bytes of a table alone, after one that says which and one that says where it is cut: in pieces as
/// whole.
void table(std::string_view input) {
  if (input.size() < 2) return;
  const Table whole{input[0] % 2 == 0 ? "deliveries" : "received", std::string(input.substr(2)), 0};
  const auto kept = [&](std::uint64_t cuts) {
    return examine(input, [&, cuts](bw_context* context, bw_answer** out) {
      return keep(context, heading, {{whole.name, whole.text, cuts}}, out);
    });
  };
  Result in_one = kept(0), in_pieces = kept(static_cast<unsigned char>(input[1]) + 1U);
  if (in_one.status != BW_OK)
    in_pieces.errors = in_one.errors;  // what comes after a piece in error is not read
  expect_same(in_one, in_pieces, "a table in pieces");
}

}  // namespace

void add_month_targets(std::vector<Target>& list) {
  list.insert(list.end(), {{"book", Target::Form::json, book}, {"table", Target::Form::bytes, table}});
}

}  // namespace fuzz
