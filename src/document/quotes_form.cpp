#include "document/quotes_form.hpp"

#include <algorithm>

#include "document/heading_form.hpp"
#include "quantity/date.hpp"

namespace buttonworth {
namespace {

struct QuotesDraft : MetalQuotes {
  bool days = false;
};

Quote quote_of(const std::string& date, const Value& number, const QuotesDraft& draft, const Place& at,
               Reader& reader, Quantity& read) {
  static const auto price = quantity(Dimension::price);
  if (!require_kind(number, Value::Kind::text, at, reader, "a number as text")) return {};
  const auto day = read_date(date);
  if (!day)
    reader.complain(Code::range, at, '"' + date + "\" is no date; write year-month-day, as 2026-03-02");
  Value with_unit = number;
  with_unit.text += ' ' + draft.unit;
  price.read(with_unit, at, reader, read);
  return {day ? Day(*day) : Day(), reader.quantities[read].mean};
}

/// A quote is a number alone; the unit stands once.
Form<bool> days_form() {
  return {[](const Value& value, const Place& place, Reader& reader, bool&) {
            require_kind(value, Value::Kind::object, place, reader, "an object from dates to prices");
          },
          [](SchemaBook&) {
            return Json{{"type", "object"},
                        {"minProperties", 1},
                        {"propertyNames", {{"pattern", "^([0-9]{4}-[0-9]{2}-[0-9]{2}|note)$"}}},
                        {"additionalProperties",
                         {{"type", "string"}, {"pattern", "^ *[0-9]+(\\.[0-9]+)?([eE][-+]?[0-9]+)? *$"}}}};
          }};
}

void read_quotes(const Value& value, const Place& place, Reader& reader, QuotesDraft& out) {
  const Value* days = value.find("days");
  if (days == nullptr || days->kind != Value::Kind::object || out.unit.empty()) return;  // told already
  const Place at(place, "days");
  each_member(*days, at, [&](const std::string& date, const Value& number, const Place& here) {
    Quantity read;
    out.quotes.push_back(quote_of(date, number, out, here, reader, read));
    if (!out.like && read.index != 0) out.like = read;
  });
  if (out.quotes.empty()) reader.complain(Code::range, at, "there is no quote: state one at least");
  std::sort(out.quotes.begin(), out.quotes.end(),
            [](const Quote& a, const Quote& b) { return a.day < b.day; });
}

Form<std::chrono::year_month> month_form() {
  return {[](const Value& value, const Place& place, Reader& reader, std::chrono::year_month& out) {
            if (!require_kind(value, Value::Kind::text, place, reader, "a month such as \"2026-04\"")) return;
            const auto month = read_month(value.text);
            if (month) out = *month;
            else
              reader.complain(Code::range, place, '"' + value.text + "\" is no month; write it as 2026-04");
          },
          [](SchemaBook&) {
            return Json{{"type", "string"}, {"pattern", "^[0-9]{4}-(0[1-9]|1[0-2])$"}};
          }};
}

void check_period(const Value&, const Place& place, Reader& reader, MetalPeriod& out) {
  const bool span = out.from || out.to;
  if (span + out.month.has_value() + out.months_after.has_value() != 1)
    reader.complain(Code::conflict, place, "a period is from and to, or a month, or months_after");
  else if (span && !(out.from && out.to))
    reader.complain(Code::missing_field, place, "from and to go together");
  else if (span && *out.to < *out.from)
    reader.complain(Code::range, Place(place, "to"), "the period ends before it begins");
}

template <class T>
void name_metal(Reader& reader, const std::string& name, T& out) {
  out.analyte = reader.analyte(name);
}

}  // namespace

Form<Day> day_form() {
  const auto date = date_form();
  return {[date](const Value& value, const Place& place, Reader& reader, Day& out) {
            std::string text;
            date.read(value, place, reader, text);
            if (const auto day = read_date(text)) out = Day(*day);
          },
          date.schema};
}

Form<std::vector<MetalQuotes>> quotes_form() {
  const auto draft = Fields<QuotesDraft>()
                         .need("unit", &QuotesDraft::unit, text_form())
                         .need("days", &QuotesDraft::days, days_form())
                         .check(read_quotes)
                         .form();
  const Form<MetalQuotes> one{
      [draft](const Value& value, const Place& place, Reader& reader, MetalQuotes& out) {
        QuotesDraft made;
        draft.read(value, place, reader, made);
        const Analyte analyte = out.analyte;
        out = std::move(made);
        out.analyte = analyte;
      },
      draft.schema};
  return map_of<MetalQuotes>(one, name_metal<MetalQuotes>, "an object from metals to their quotes");
}

Form<std::vector<MetalPeriod>> periods_form() {
  const auto one = Fields<MetalPeriod>()
                       .may("from", &MetalPeriod::from, day_form())
                       .may("to", &MetalPeriod::to, day_form())
                       .may("month", &MetalPeriod::month, month_form())
                       .may("months_after", &MetalPeriod::months_after, whole_number_form(0, 24))
                       .check(check_period)
                       .form();
  return map_of<MetalPeriod>(one, name_metal<MetalPeriod>, "an object from metals to periods");
}

}  // namespace buttonworth
