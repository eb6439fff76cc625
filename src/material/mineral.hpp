// Minerals and reagents by name, and what their elements become in a melt: stoichiometry, held once, here.
//
// Amounts in kmol, masses in kg, weights in kg/kmol.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "quantity/decimal.hpp"

namespace buttonworth {

/// The formula of a mineral or metal by its name ("pyrite" FeS2), the text itself where it is a formula;
/// empty where it is neither. Of series a member stands: ferberite for wolframite, schorl for tourmaline, the
/// middle of annite and phlogopite for biotite.
std::string_view mineral_formula(std::string_view text);

/// The same for a flux reagent ("soda ash" Na2CO3), or a mineral, or a formula.
std::string_view reagent_formula(std::string_view text);

/// What a flux reagent leaves in the slag of its own mass, by name: carbonates without their carbon
/// dioxide, nitrates as the oxide of their metal, hydrates without water. Nothing for others.
std::optional<Decimal> stays_in_slag(std::string_view reagent);

/// Whether a reagent is a nitrate: by its formula, or by a name that says so, in capitals or not.
bool is_nitrate(std::string_view reagent);

/// For an error that tells the nearest.
std::vector<std::string> mineral_names();
std::vector<std::string> reagent_names();

/// kmol of each element, oxygen among them.
using Amounts = std::map<std::string_view, double>;

/// In one kmol of a formula; throws an Error(name) where the text is none.
Amounts atoms_of(std::string_view formula);
/// kg/kmol of an element that a formula holds.
double atomic_mass(std::string_view element);
double mass_of(const Amounts& amounts);
inline double amount_of(const Amounts& amounts, std::string_view element) {
  const auto found = amounts.find(element);
  return found == amounts.end() ? 0 : found->second;
}

enum class Leaves { bar, slag, gas };

/// What an element becomes in an oxidising melt.
struct Oxide {
  std::string_view element;
  std::string_view formula;  ///< the element's own where it stays as it is
  Leaves leaves;
  bool base = false;     ///< takes up silica
  double oxygen = 0;     ///< atoms to one of the element
  double mass = 0;       ///< kg to one kmol of the element, its oxygen included
  double molecules = 0;  ///< kmol of the formula to one of the element
};

/// In the order in which a slag is written. Mercury is not among them: it does not go into a furnace.
const std::vector<Oxide>& oxides();
/// Null where an element has none.
const Oxide* oxide_of(std::string_view element);

/// Where a formula's sulphur goes.
enum class SulphurTo { dioxide, sulphate };

/// Whether a formula holds oxygen for all its sulphur as SO3 besides its other oxides: barite, gypsum.
bool is_sulphate(const Amounts& formula);

/// Oxygen that the oxides of a formula want over what it holds, kmol; negative where some is left (nitrates,
/// magnetite). Halides are looked at apart.
double oxygen_wanted(const Amounts& formula, SulphurTo sulphur);

/// A fluoride or a chloride, and its kmol.
struct Halide {
  std::string_view formula;
  double amount;
};

/// Takes halides out of the amounts: fluorine with calcium, magnesium, potassium and sodium, then chlorine
/// with potassium and sodium, in these orders, as far as there is any.
std::vector<Halide> bind_halides(Amounts& amounts);

/// What a formula leaves in the slag of its own mass where oxygen is not short, its sulphur gone as dioxide
/// but for a sulphate's, which stays as SO3: above 1 for metals.
double left_in_slag(std::string_view formula);

}  // namespace buttonworth
