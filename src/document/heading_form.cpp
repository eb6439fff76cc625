#include "document/heading_form.hpp"

#include <algorithm>
#include <charconv>

#include "document/schema_parts.hpp"
#include "quantity/date.hpp"

namespace buttonworth {

Form<std::string> format_form(const std::string& wanted) {
  return {[wanted](const Value& value, const Place& place, Reader& reader, std::string& out) {
            if (!require_kind(value, Value::Kind::text, place, reader, '"' + wanted + '"')) return;
            out = value.text;
            if (out != wanted)
              reader.complain(Code::format, place,
                              '"' + out + "\" is another format; wanted here is \"" + wanted + '"');
          },
          [wanted](SchemaBook&) {
            return Json{{"const", wanted}};
          }};
}

namespace {
bool is_currency(const std::string& code) {
  return code.size() == 3 &&
         std::all_of(code.begin(), code.end(), [](char c) { return c >= 'A' && c <= 'Z'; });
}
}  // namespace

Form<std::string> currency_form() {
  return {[](const Value& value, const Place& place, Reader& reader, std::string& out) {
            if (!require_kind(value, Value::Kind::text, place, reader, "a currency code such as \"USD\""))
              return;
            if (!is_currency(value.text))
              return reader.complain(Code::unit, place,
                                     '"' + value.text + "\" is no ISO 4217 code: three capitals such as USD");
            out = reader.currency = value.text;
          },
          [](SchemaBook&) { return schema_parts::currency(); }};
}

Form<std::vector<CurrencyWorth>> exchange_form() {
  const auto money = quantity(Dimension::money, Allowed::positive);
  const Form<CurrencyWorth> one{
      [money](const Value& value, const Place& place, Reader& reader, CurrencyWorth& out) {
        if (!is_currency(out.code))
          reader.complain(Code::unit, place, '"' + out.code + "\" is no ISO 4217 code");
        if (out.code == reader.currency)
          reader.complain(Code::conflict, place, out.code + " is the document's own currency");
        money.read(value, place, reader, out.worth);
        if (out.worth.index != 0) reader.exchange.emplace_back(out.code, out.worth);
      },
      money.schema};
  auto form = map_of<CurrencyWorth>(
      one, [](Reader&, const std::string& code, CurrencyWorth& out) { out.code = code; },
      "an object from currencies to what one is worth");
  const auto any_names = form.schema;
  form.schema = [any_names](SchemaBook& book) {
    Json schema = any_names(book);
    schema["propertyNames"] = {{"pattern", "^([A-Z]{3}|note)$"}};
    return schema;
  };
  return form;
}

Form<std::string> date_form() {
  return {[](const Value& value, const Place& place, Reader& reader, std::string& out) {
            if (!require_kind(value, Value::Kind::text, place, reader, "a date such as \"2026-03-02\""))
              return;
            out = value.text;
            if (!read_date(out))
              reader.complain(Code::range, place,
                              '"' + out + "\" is no date; write year-month-day, as 2026-03-02");
          },
          [](SchemaBook&) { return schema_parts::day(); }};
}

Form<std::int64_t> whole_number_form(std::int64_t least, std::int64_t most) {
  return {[=](const Value& value, const Place& place, Reader& reader, std::int64_t& out) {
            const bool text = value.kind == Value::Kind::text || value.kind == Value::Kind::number;
            const char* const end = value.text.data() + value.text.size();
            const auto read = std::from_chars(value.text.data(), end, out);
            if (text && read.ec == std::errc() && read.ptr == end && out >= least && out <= most) return;
            out = least;
            reader.complain(text ? Code::range : Code::type, place,
                            "wanted here is a whole number from " + std::to_string(least) + " to " +
                                std::to_string(most));
          },
          [=](SchemaBook&) {
            return Json{{"anyOf",
                         {{{"type", "integer"}, {"minimum", least}, {"maximum", most}},
                          {{"type", "string"}, {"pattern", least < 0 ? "^-?[0-9]+$" : "^[0-9]+$"}}}}};
          }};
}

Form<bool> boolean_form() {
  return {[](const Value& value, const Place& place, Reader& reader, bool& out) {
            if (require_kind(value, Value::Kind::boolean, place, reader, "true or false"))
              out = value.boolean;
          },
          [](SchemaBook&) {
            return Json{{"type", "boolean"}};
          }};
}

Json whole_schema(const char* title, const std::function<Json(SchemaBook&)>& body) {
  SchemaBook book;
  Json schema = schema_parts::titled(title);
  schema.update(body(book));
  schema["definitions"] = book.definitions;
  return schema;
}

}  // namespace buttonworth
