// What flux a charge wants, and what its melt comes to: slag, matte, bar, gas.
//
// Masses in kg, shares of 1, doses in kg to one kg of charge. Every atom of charge and flux goes to one
// place.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "material/caution.hpp"
#include "material/mineral.hpp"

namespace buttonworth {

/// A mineral of a charge.
struct ChargedMineral {
  std::string formula;
  double share = 0;  ///< of the charge's mass
};

/// A reagent and its dose.
struct Reagent {
  std::string name;
  std::string formula;
  double dose = 0;
};

/// Oxidising with a nitrate.
struct Oxidising {
  std::string nitrate;  ///< "potassium nitrate" or "sodium nitrate"
  SulphurTo sulphur = SulphurTo::dioxide;
  double excess = 0;        ///< over what is wanted, a share
  bool ore_oxygen = false;  ///< what magnetite and the like give off is used first
};

/// What goes into a furnace.
struct FurnaceCharge {
  double mass = 0;
  std::vector<ChargedMineral> minerals;  ///< what they leave of the charge is inert
  std::vector<Reagent> flux;             ///< as it stands
  std::optional<Oxidising> oxidising;
  std::optional<double> degree;  ///< silicate degree to be reached
};

/// A part of a slag, a bar or a gas.
struct MeltPart {
  std::string_view formula;
  double mass = 0;
};
using MeltParts = std::vector<MeltPart>;
double mass_of(const MeltParts& parts);

/// A charge melted. No part of 0 is listed.
struct Melted {
  std::vector<Reagent> flux;  ///< as it stood, then nitrate, silica or soda ash where any is wanted
  double flux_mass = 0;
  double oxygen_wanted = 0, oxygen_given = 0;  ///< kg
  MeltParts slag;                              ///< its oxides and halides
  double inert = 0;                            ///< what no mineral names: in the slag too
  double matte = 0;
  MeltParts bar;  ///< metals
  MeltParts gas;
  double loose_sulphate = 0;                  ///< SO3 of the slag that no soda, potash or earth holds
  double gas_volume = 0;                      ///< L at 1100 °C and 101.325 kPa, an ideal gas
  std::optional<double> degree, acid_degree;  ///< none where the slag has no base

  double slag_mass() const { return mass_of(slag) + inert; }
  double base_metal() const;  ///< in the bar
};

/// Melts a charge with its flux, and finds the nitrate and the silica or soda ash that are asked for.
/// Throws an Error: flux where metal or carbon finds no oxygen anywhere, fluorine no metal, or the degree is
/// not to be reached; mercury where there is any.
Melted melt_charge(const FurnaceCharge& charge);

/// More soda ash than that, to one of charge, cannot be meant.
inline constexpr double most_soda = 5;

/// What of it can hurt people or mislead them.
std::vector<Caution> melt_cautions(const FurnaceCharge& charge, const Melted& melted, bool mercury_tested);

/// Whole crucibles: ⌈mass ÷ density ÷ (volume × fill)⌉, kg, kg/L, L.
double crucible_charges(double mass, double density, double volume, double fill);

/// A metal that the slag keeps.
struct MetalInSlag {
  double content = 0;            ///< kg = slag × grade
  double worth = 0;              ///< at its price
  double retreating_leaves = 0;  ///< content × recovery × price − slag × cost
};
MetalInSlag metal_in_slag(double slag, double grade, double price, double recovery, double cost);

// ---- Single figures --------------------------------------------------------------------------

/// The names of silicate degrees: oxygen of silica ÷ oxygen of bases. Source: Bugbee, A Textbook of Fire
/// Assaying.
struct SilicateDegree {
  std::string_view name;
  double degree;
};
inline constexpr SilicateDegree silicate_degrees[] = {{"subsilicate", 0.5},
                                                      {"singulosilicate", 1},
                                                      {"sesquisilicate", 1.5},
                                                      {"bisilicate", 2},
                                                      {"trisilicate", 3}};

/// Silica to add, kg, for bases that hold so much oxygen (kg) beside silica that is there (kg); below 0 what
/// there is to spare.
double silica_for(double oxygen_of_bases, double silica, double degree);

/// The same from the masses of the bases, never below 0.
double silica_dose(double iron_oxide, double lime, double soda, double silica, double degree);

/// Matte, as FeS, from so much sulphur.
double matte_from(double sulphur);

}  // namespace buttonworth
