// Terms of sale and levies as they stand in a document.
#pragma once

#include "document/form.hpp"
#include "sale/settle.hpp"

namespace buttonworth {

const Form<Terms>& terms_form();
const Form<Levy>& levy_form();

/// Gives each metal paid, and each participation, its own price or the market's; a complaint where there is
/// neither. `at` is the place of the terms.
void give_prices(const MarketPrices& prices, Terms& terms, const Place& at, Reader& reader);

/// Analytes a buyer limits or refuses on.
std::vector<Analyte> limited(const Terms& terms);
/// Those, and all that he pays or penalises.
std::vector<Analyte> analytes_of(const Terms& terms);

/// {ANALYTE: quantity}.
Form<std::vector<AnalyteQuantity>> analyte_quantities(Form<Quantity> form);

/// A complaint at `place`/assays where the assays pass 100 % together.
void require_within_whole(const std::vector<AnalyteQuantity>& assays, const Place& place, Reader& reader);

/// Reads with factors of its own in force, and puts the outer ones back.
template <class T>
Form<T> with_own_factors(Form<T> form) {
  return {[form](const Value& value, const Place& place, Reader& reader, T& out) {
            const MassFactors outer = reader.factors;
            form.read(value, place, reader, out);
            reader.factors = outer;
          },
          form.schema};
}
inline void put_in_force(Reader& reader, const StatedFactors& stated) {
  reader.factors = fixed_factors(reader.factors, stated);
}

}  // namespace buttonworth
