// What every document begins with: its format, the currency, what others are worth; and dates.
#pragma once

#include "document/form.hpp"

namespace buttonworth {

/// The name and number of the format, and no other.
Form<std::string> format_form(const std::string& wanted);

/// An ISO 4217 code; from here on the reader's own currency.
Form<std::string> currency_form();

struct CurrencyWorth {
  std::string code;
  Quantity worth;  ///< of one unit, in the document's currency
};
Form<std::vector<CurrencyWorth>> exchange_form();

/// A day as ISO 8601 writes it.
Form<std::string> date_form();

/// true or false.
Form<bool> boolean_form();

/// A whole number within bounds, as a number or, from a spreadsheet's cell, a text.
Form<std::int64_t> whole_number_form(std::int64_t least, std::int64_t most);

/// A document's schema with its title and the definitions that it refers to.
Json whole_schema(const char* title, const std::function<Json(SchemaBook&)>& body);

}  // namespace buttonworth
