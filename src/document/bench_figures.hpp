// How the bench's answers carry their figures, and how a request's quantities become them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/figure.hpp"
#include "document/form.hpp"
#include "document/json_text.hpp"
#include "material/caution.hpp"

namespace buttonworth {

/// A quantity's mean and standard uncertainty, in the library's own units; money in the document's currency.
Figure figure_of(const Reader& reader, Quantity quantity);
/// The same, 0 for certain where the document states none.
Figure figure_of(const Reader& reader, const std::optional<Quantity>& quantity);
double value_of(const Reader& reader, Quantity quantity);

/// A unit of an answer: what one of it is in the library's own, and its text, the space before it included.
struct AnswerUnit {
  double size;
  const char* text;
};
namespace answer_units {
inline constexpr AnswerUnit kilograms{1, " kg"}, grams{1e-3, " g"}, percent{1e-2, " %"},
    grams_per_tonne{1e-6, " g/t"}, fine{1e-3, " fine"}, days{1, " d"}, litres{1, " L"},
    kilograms_per_litre{1, " kg/L"}, dose{1, " kg/kg"}, plain{1, ""};
}  // namespace answer_units

/// Up to eight significant digits; of a standard uncertainty four.
std::string bench_text(double value, AnswerUnit unit);
std::string bench_sd_text(double sd, AnswerUnit unit);

/// A figure: a text where it is certain, else {"value", "sd"}.
void write_figure(JsonText& out, std::string_view name, const Figure& figure, AnswerUnit unit);
void write_value(JsonText& out, std::string_view name, double value, AnswerUnit unit);
/// The same as an entry of a list.
void write_figure(JsonText& out, const Figure& figure, AnswerUnit unit);

void write_cautions(JsonText& out, const std::vector<Caution>& cautions);

namespace schema_parts {
/// A text with this unit.
Json value_in(AnswerUnit unit);
/// What write_figure writes.
Json figure_in(AnswerUnit unit);
Json cautions();
}  // namespace schema_parts

}  // namespace buttonworth
