#include "document/bench_figures.hpp"

#include <cmath>

#include "document/schema_parts.hpp"

namespace buttonworth {

double value_of(const Reader& reader, Quantity quantity) { return to_double(reader.worth(quantity)); }

namespace {

double stated_sd(const StatedQuantity& stated) {
  return stated.spread == nullptr ? 0 : std::sqrt(to_double(variance(*stated.spread)));
}

}  // namespace

Figure figure_of(const Reader& reader, Quantity quantity) {
  const StatedQuantity& stated = reader.quantities[quantity];
  const double value = value_of(reader, quantity), sd = stated_sd(stated);
  if (stated.currency_rate < 0) return {value, sd};
  const StatedQuantity& rate = reader.quantities.at(static_cast<std::size_t>(stated.currency_rate));
  return {value, std::hypot(sd * to_double(rate.mean), to_double(stated.mean) * stated_sd(rate))};
}

Figure figure_of(const Reader& reader, const std::optional<Quantity>& quantity) {
  return quantity ? figure_of(reader, *quantity) : Figure{};
}

std::string bench_text(double value, AnswerUnit unit) {
  return to_text(value / unit.size, Digits{8, 24, 0}) + unit.text;
}
std::string bench_sd_text(double sd, AnswerUnit unit) {
  return to_text(sd / unit.size, Digits{4, 24, 0}) + unit.text;
}

void write_figure(JsonText& out, const Figure& figure, AnswerUnit unit) {
  if (!(without_noise(figure).sd > 0)) {
    out.string(bench_text(figure.value, unit));
    return;
  }
  out.open('{').field("value", bench_text(figure.value, unit));
  out.field("sd", bench_sd_text(figure.sd, unit)).close('}');
}
void write_figure(JsonText& out, std::string_view name, const Figure& figure, AnswerUnit unit) {
  write_figure(out.key(name), figure, unit);
}
void write_value(JsonText& out, std::string_view name, double value, AnswerUnit unit) {
  out.field(name, bench_text(value, unit));
}

void write_cautions(JsonText& out, const std::vector<Caution>& cautions) {
  out.key("cautions").open('[');
  for (const Caution& one : cautions) out.open('{').field("at", one.at).field("what", one.what).close('}');
  out.close(']');
}

namespace schema_parts {

Json value_in(AnswerUnit unit) {
  std::string text;
  for (const char* c = unit.text; *c != '\0'; ++c)
    text += *c == '/' ? std::string("\\/") : std::string(1, *c);
  return text_with(text);
}
Json figure_in(AnswerUnit unit) {
  return {{"oneOf", {value_in(unit), object_of({{"value", value_in(unit)}, {"sd", value_in(unit)}})}}};
}
Json cautions() {
  const Json text{{"type", "string"}};
  return list(object_of({{"at", text}, {"what", text}}));
}

}  // namespace schema_parts
}  // namespace buttonworth
