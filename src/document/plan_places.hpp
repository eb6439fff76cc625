// Quantities of a plan by the places where it states them: how options name them, set them and are answered.
#pragma once

#include "chance/break_even.hpp"
#include "document/form.hpp"
#include "document/json_text.hpp"
#include "material/caution.hpp"

namespace buttonworth {

/// One pointer, or a list of pointers.
Form<std::vector<std::string>> pointers_form();

/// Looks pointers up in a plan whose quantities know their places; what is wrong is told to the reader.
class PlanPlaces {
 public:
  PlanPlaces(const Plan& plan, Reader& reader);

  /// Quantities that are set to one value: stated in one unit, allowed the same range. Empty, and told, where
  /// one is not there or they do not go together.
  std::vector<Quantity> together(const std::vector<std::string>& pointers, const Place& place) const;

  /// A value for what this quantity measures, in the library's unit of the currency it is stated in. A unit
  /// written as the plan writes it counts as it does there.
  std::optional<Decimal> value(Quantity quantity, const std::string& text, const Place& place) const;

  /// Ends of what is looked at: as stated, or an uncertain quantity's 0.1 % and 99.9 % points, a certain
  /// one's half and double.
  struct EndsDraft {
    std::vector<std::string> of;
    std::optional<std::string> from, to;
  };
  std::optional<Along> along(const EndsDraft& draft, const Place& place) const;

 private:
  std::optional<Quantity> at(const std::string& pointer, const Place& place) const;
  bool give_ends(const EndsDraft& draft, const Place& place, Along& along) const;

  const Plan& plan_;
  Reader& reader_;
};

/// The value in the unit the quantity is stated in, to 12 digits.
std::string stated_text(const Plan& plan, Quantity quantity, const Decimal& value);
std::string stated_text(const Plan& plan, Quantity quantity, double value);
/// The same for a sentence, to 4 digits.
std::string spoken_text(const Plan& plan, Quantity quantity, double value);
/// The same to as many digits as it has.
std::string full_stated_text(const Plan& plan, Quantity quantity, const Decimal& value);

/// `of`: the places of these quantities, as a list.
void write_of(JsonText& out, const Plan& plan, const std::vector<Quantity>& quantities);
/// The same and `name`, what people call them.
void write_places(JsonText& out, const Plan& plan, const std::vector<Quantity>& quantities);

/// What people call a quantity of a plan: "Au price", "coast smelter: treatment", "week 1: Au assay".
std::string quantity_name(const Plan& plan, Quantity quantity);
/// The same of several that are set together. Where they are one thing stated in several places, the places
/// are left out: "Au curve, constant a".
std::string quantity_name(const Plan& plan, const std::vector<Quantity>& quantities);

/// A route, a step or a buyer in a sentence: "\"tabled at best\"".
std::string quoted(const std::string& name);
/// "78,061.25" of "78061.25".
std::string with_commas(std::string number);

/// Routes that could not be worked out, and values at which there is no plan. `at` says them in words.
std::vector<Caution> cautions_of(const Worths& worths,
                                 const std::function<std::string(const std::vector<double>&)>& at);

/// Money in a sentence: whole, or to the cent below 10, with commas.
std::string spoken_money(double amount, const std::string& currency);

/// An amount of money, or null.
void write_amount(JsonText& out, std::string_view name, const std::optional<double>& amount);
void write_amount(JsonText& out, std::string_view name, const std::optional<Decimal>& amount);
/// A name or null.
void write_name(JsonText& out, std::string_view name, const std::string* text);
/// A list of texts.
void write_texts(JsonText& out, std::string_view name, const std::vector<std::string>& texts);
inline void write_words(JsonText& out, const std::vector<std::string>& words) {
  write_texts(out, "words", words);
}

Form<BestCuts> best_cuts_form();

namespace schema_parts {
/// A number with the unit of some quantity, or none.
Json stated_value();
}  // namespace schema_parts

}  // namespace buttonworth
