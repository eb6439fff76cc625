#include "document/book_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

/// A month being read: the document gives deliveries, the core settles and books them.
struct bw_month {
  bw_month(const Value& request, const bw_context& context) : reading(request, context.limits) {
    throw_if_any(std::move(reading.complaints()));
    book.emplace(reading.heading());
    text.emplace(reading.wishes(), reading.metals(), reading.currency());
    reading.give_to(
        [this](std::size_t buyer, const Delivery& delivery) { enter(buyer, delivery); },
        [this](std::size_t buyer, MoneyReceived money) { book->receive(buyer, std::move(money)); });
  }

  void enter(std::size_t buyer, const Delivery& delivery) {
    if (!book->takes(delivery)) return;
    const Statement statement = settle(delivery, false);
    book->enter(buyer, statement);
    text->add(statement);
  }

  /// Reads on; whatever goes wrong, the month is over.
  template <class Read>
  void read(Read&& read) {
    require(!over, Code::usage_over, "this month was closed, or met an error: open it anew");
    over = true;
    read();
    throw_if_any(std::move(reading.complaints()));
    over = false;
  }
  std::string close() {
    read([this] { reading.finish(); });
    over = true;
    return book_text(book->close(), reading, *text);
  }

  MonthReading reading;
  std::optional<MonthBook> book;
  std::optional<DeliveriesText> text;
  bool over = false;
};

namespace {

std::unique_ptr<bw_month> open_month(bw_context& context, const Value& request) {
  auto month = std::make_unique<bw_month>(request, context);
  month->read([&] { month->reading.read_entries(request, HostWatch(context)); });
  return month;
}

TableKind table_of(std::string_view name) {
  if (name == "deliveries") return TableKind::deliveries;
  require(name == "received", Code::usage_name, "there is no such table of a month: deliveries or received");
  return TableKind::received;
}

}  // namespace

bw_status bw_book(bw_context* context, const char* json, size_t size, bw_answer** out) noexcept {
  return answered(context, json, size, out, [](const Value& request, bw_context& context) {
    return open_month(context, request)->close();
  });
}

bw_status bw_month_open(bw_context* context, const char* json, size_t size, bw_month** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the month is NULL");
    require_pointer(json, "the request's text is NULL");
    *out = open_month(*context, read_json({json, size}, context->limits)).release();
  });
}

bw_status bw_month_take(bw_context* context, bw_month* month, const char* table, const char* csv,
                        size_t size) noexcept {
  return guarded(context, [&] {
    require_pointer(month, "the month is NULL");
    require_pointer(table, "the table's name is NULL");
    const TableKind chosen = table_of(table);
    const std::string_view piece = text_of(csv, size, "the table's text is NULL");
    month->read([&] { month->reading.take(chosen, piece, HostWatch(*context)); });
  });
}

bw_status bw_month_close(bw_context* context, bw_month* month, bw_answer** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(month, "the month is NULL");
    *out = new_answer(month->close());
  });
}

void bw_month_destroy(bw_month** month) noexcept { destroy(month); }
