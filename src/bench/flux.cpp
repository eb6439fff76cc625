#include "bench/flux.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <utility>

#include "material/formula.hpp"
#include "quantity/edge.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

double molar_mass_of(std::string_view formula) { return mass_of(atoms_of(formula)); }
double oxygen_mass() { return atomic_mass("O"); }

/// What rounding leaves of a difference that is nothing, in kmol to a kg of charge.
constexpr double residue = 1e-15;

// ---- Where oxygen is short -------------------------------------------------------------------

/// Metals that take up sulphur into a matte, the first one first, as the sulphide that answers their oxide:
/// in the order of Fournet's series, cited from memory.
constexpr std::string_view metals_of_matte[] = {"Cu", "Ni", "Co", "Fe", "Pb", "Zn", "Cd", "Bi", "Sb"};

/// What goes without oxygen, the noblest first, roughly as the oxides' free energies at 1100 °C stand; into
/// the bar, or as a vapour.
struct GoesWithout {
  std::string_view element, vapour;
};
constexpr GoesWithout goes_without[] = {{"Te", "Te2"}, {"Se", "Se2"}, {"Cu", {}},  {"Cd", "Cd"},  {"Bi", {}},
                                        {"Pb", {}},    {"Ni", {}},    {"Co", {}},  {"As", "As4"}, {"Sb", {}},
                                        {"Sn", {}},    {"Fe", {}},    {"Zn", "Zn"}};

// ---- The melt --------------------------------------------------------------------------------

class Melt {
 public:
  explicit Melt(const FurnaceCharge& charge) : charge_(charge) {
    if (charge.oxidising) to_ = charge.oxidising->sulphur;
  }

  Melted run() {
    melted_.inert = charge_.mass;
    for (const ChargedMineral& one : charge_.minerals) {
      const double mass = charge_.mass * one.share;
      melted_.inert -= mass;
      ore_oxygen_ += take(one.formula, mass);
    }
    if (std::abs(melted_.inert) < 1e-13 * charge_.mass) melted_.inert = 0;
    for (const Reagent& one : charge_.flux) add(one);  // those of 0 too: they keep their places
    bind_halogens();
    if (charge_.oxidising) oxidise(*charge_.oxidising);
    share_oxygen();
    if (charge_.degree) reach(*charge_.degree);
    tell_degrees();
    write_products();
    return std::move(melted_);
  }

 private:
  // ---- What comes in

  /// Takes in a mass of a formula. Gives the oxygen it has left, kmol.
  double take(std::string_view formula, double mass) {
    const Amounts atoms = atoms_of(formula);
    if (mass > 0 && amount_of(atoms, "Hg") > 0)
      throw Error(Code::mercury,
                  "mercury does not go into a furnace: a retort and licensed handling come first");
    const double amount = mass / mass_of(atoms), wanted = amount * oxygen_wanted(atoms, to_);
    (is_sulphate(atoms) ? sulphate_ : sulphur_) += amount * amount_of(atoms, "S");
    for (const auto& [element, count] : atoms)
      if (element != "O" && element != "S") free_[element] += amount * count;
    wanted_ += std::max(wanted, 0.0);
    return std::max(-wanted, 0.0);
  }

  void add(const Reagent& reagent) {
    const double mass = charge_.mass * reagent.dose;
    given_ += take(reagent.formula, mass);
    melted_.flux.push_back(reagent);
    melted_.flux_mass += mass;
    const Amounts atoms = atoms_of(reagent.formula);
    soda_of_borax_ += mass / mass_of(atoms) * std::min(amount_of(atoms, "Na"), amount_of(atoms, "B") / 2);
  }
  void add_amount(const std::string& reagent, double kmol) {
    if (not_residue(kmol) <= 0) return;
    const std::string formula(reagent_formula(reagent));
    add({reagent, formula, kmol * molar_mass_of(formula) / charge_.mass});
  }

  /// A metal that goes with a halogen wants no oxygen.
  void bind_halogens() {
    const double before = oxygen_of_halogens();
    halides_ = bind_halides(free_);
    wanted_ = not_residue(wanted_ - (before - oxygen_of_halogens()));
    if (amount_of(free_, "F") > residue * charge_.mass)
      throw Error(
          Code::flux,
          "fluorine finds no calcium, magnesium, potassium or sodium to stay with and would leave as a "
          "poisonous gas: add soda ash to the flux");
    if (wanted_ < 0) given_ -= std::exchange(wanted_, 0.0);
    soda_of_borax_ = std::min(soda_of_borax_, amount_of(free_, "Na"));
  }
  double oxygen_of_halogens() const { return (amount_of(free_, "F") + amount_of(free_, "Cl")) / 2; }

  void oxidise(const Oxidising& how) {
    if (how.ore_oxygen) given_ += std::exchange(ore_oxygen_, 0.0);
    const double of_one = -oxygen_wanted(atoms_of(reagent_formula(how.nitrate)), to_);
    add_amount(how.nitrate, (wanted_ - given_) / of_one * (1 + how.excess));
  }

  // ---- Where the oxygen goes

  void share_oxygen() {
    melted_.oxygen_wanted = wanted_ * oxygen_mass();
    melted_.oxygen_given = given_ * oxygen_mass();
    lacking_ = not_residue(wanted_ - given_);
    const double surplus = std::max(-lacking_, 0.0);
    leave_sulphur();
    leave_metal();
    if (lacking_ > 0)
      throw Error(Code::flux,
                  "metal or carbon wants " + to_text(lacking_ * oxygen_mass(), Digits{4, 12, 0}) +
                      " kg of oxygen more than flux and oxides can give: oxidise it with nitrate");
    put(melted_.gas, "O2", (ore_oxygen_ + surplus) * oxygen_mass());
    if (to_ == SulphurTo::sulphate) sulphate_ += std::exchange(sulphur_, 0.0);
  }

  /// Sulphur that oxygen does not reach: in a matte it saves its own oxygen and its metal's, as a vapour its
  /// own. That is a dioxide's: a charge that is oxidised to sulphate lacks none.
  void leave_sulphur() {
    constexpr double own = 2;
    for (std::string_view metal : metals_of_matte) {
      const double sulphurs = oxide_of(metal)->oxygen;  // as many as oxygens, to one of the metal
      const double held = without_oxygen(own + 1, std::min(sulphur_, free_[metal] * sulphurs));
      melted_.matte += held * atomic_mass("S") + leave(metal, held / sulphurs);
      sulphur_ -= held;
    }
    const double vapour = without_oxygen(own, sulphur_);
    put(melted_.gas, "S2", vapour * atomic_mass("S"));
    sulphur_ -= vapour;
  }

  void leave_metal() {
    for (const auto& [element, vapour] : goes_without) {
      const double mass = leave(element, without_oxygen(oxide_of(element)->oxygen, free_[element]));
      if (vapour.empty()) put(melted_.bar, element, mass);
      else put(melted_.gas, vapour, mass);
    }
  }

  /// So many of these stay without oxygen, which each saves so much of.
  double without_oxygen(double saved, double there) {
    const double some = std::max(0.0, std::min(lacking_ / saved, there));
    lacking_ = not_residue(lacking_ - some * saved);
    return some;
  }
  double not_residue(double amount) const { return std::abs(amount) > residue * charge_.mass ? amount : 0; }
  /// Takes an element out of what is oxidised; its mass.
  double leave(std::string_view element, double amount) {
    free_[element] -= amount;
    return amount * atomic_mass(element);
  }

  // ---- Silica and bases

  double oxygen_of(std::initializer_list<std::string_view> elements) const {
    double oxygen = 0;
    for (std::string_view one : elements) oxygen += amount_of(free_, one) * oxide_of(one)->oxygen;
    return oxygen;
  }
  /// Of all bases, less as much as goes with sulphate.
  double oxygen_of_all_bases() const {
    double oxygen = -sulphate_;
    for (const Oxide& oxide : oxides())
      if (oxide.base) oxygen += amount_of(free_, oxide.element) * oxide.oxygen;
    return oxygen;
  }
  /// Soda of borax goes with its boric oxide.
  double oxygen_of_borax_soda() const { return soda_of_borax_ / 2; }
  double oxygen_of_bases() const { return oxygen_of_all_bases() - oxygen_of_borax_soda(); }
  double oxygen_of_silica() const { return oxygen_of({"Si"}); }

  /// Silica, or soda ash where there is silica to spare.
  void reach(double degree) {
    const double bases = not_residue(oxygen_of_bases()), silica = oxygen_of_silica();
    if (bases <= 0 && silica <= 0)
      throw Error(Code::flux,
                  "the slag has neither bases nor silica, and so no silicate degree: leave degree out");
    if (degree * bases > silica) return add_amount("silica", (degree * bases - silica) / 2);
    const double soda = silica / degree - bases;
    const double dose = soda * molar_mass_of("Na2CO3") / charge_.mass;
    if (dose > most_soda)
      throw Error(Code::flux, "soda ash cannot lower the degree to " + to_text(degree, Digits{4, 12, 0}) +
                                  ": it would take " + to_text(dose, Digits{3, 12, 0}) +
                                  " kg to one of charge; ask for a higher degree, or take out quartz first");
    add_amount("soda ash", soda);
  }

  void tell_degrees() {
    const double bases = not_residue(oxygen_of_bases()), all = not_residue(oxygen_of_all_bases());
    if (bases > 0) melted_.degree = oxygen_of_silica() / bases;
    if (all > 0) melted_.acid_degree = oxygen_of({"Si", "B", "Ti", "P"}) / all;
    const double holds_sulphate = oxygen_of({"Na", "K", "Ca", "Mg", "Ba"}) - oxygen_of_borax_soda();
    melted_.loose_sulphate = std::max(0.0, not_residue(sulphate_ - holds_sulphate)) * molar_mass_of("SO3");
  }

  // ---- What comes out

  void put(MeltParts& parts, std::string_view formula, double mass) const {
    if (mass > 10 * residue * charge_.mass) parts.push_back({formula, mass});
  }
  void write_products() {
    for (const Oxide& oxide : oxides()) {
      MeltParts& parts = oxide.leaves == Leaves::slag  ? melted_.slag
                         : oxide.leaves == Leaves::bar ? melted_.bar
                                                       : melted_.gas;
      put(parts, oxide.formula, amount_of(free_, oxide.element) * oxide.mass);
    }
    put(melted_.gas, "SO2", sulphur_ * molar_mass_of("SO2"));
    put(melted_.slag, "SO3", sulphate_ * molar_mass_of("SO3"));
    for (const Halide& one : halides_)
      put(melted_.slag, one.formula, one.amount * molar_mass_of(one.formula));
    for (const MeltPart& one : melted_.gas)
      melted_.gas_volume += one.mass / molar_mass_of(one.formula) * litres_of_a_kmol;
  }

  /// R T ÷ p at 1100 °C and 101.325 kPa. R = 8.31446261815324 J/(mol K), exact: SI Brochure, 9th ed.
  static constexpr double litres_of_a_kmol = 8.31446261815324e3 * 1373.15 / 101.325;

  const FurnaceCharge& charge_;
  SulphurTo to_ = SulphurTo::dioxide;
  Melted melted_;
  Amounts free_;  // of each element, to become its oxide; without oxygen and sulphur
  std::vector<Halide> halides_;
  double sulphur_ = 0, sulphate_ = 0;               // kmol to be oxidised; as SO3
  double wanted_ = 0, given_ = 0, ore_oxygen_ = 0;  // kmol of O
  double lacking_ = 0;                              // of it, what is not met yet
  double soda_of_borax_ = 0;                        // kmol of Na
};

bool holds(const Amounts& atoms, std::initializer_list<std::string_view> any) {
  return std::any_of(any.begin(), any.end(), [&](std::string_view one) { return amount_of(atoms, one) > 0; });
}

/// Soda, fluorine, lead.
bool eats_crucibles(const Amounts& atoms, bool in_flux) {
  if (holds(atoms, {"F", "Pb"})) return true;
  return in_flux && holds(atoms, {"C"}) && holds(atoms, {"Na", "K"});
}

/// Metal and carbon: they want oxygen, and not for sulphur, nor because a halogen holds their metal.
bool is_fuel(const Amounts& atoms) {
  const double halogens = (amount_of(atoms, "F") + amount_of(atoms, "Cl")) / 2;
  return !holds(atoms, {"S"}) && oxygen_wanted(atoms, SulphurTo::dioxide) > halogens;
}

/// Charge and flux as the cautions look at them.
struct SeenCharge {
  HotWork work{.heat = true, .melts = true};
  std::vector<Hazard> hazards;
  Stream<double> stream;
  bool fuel = false, hydrates = false, corrosive = false;

  void see(const std::string& formula, double mass, bool in_flux) {
    hazards.push_back(hazard_of(formula));
    stream.content.push_back(mass);
    if (!(mass > 0)) return;
    const Amounts atoms = atoms_of(formula);
    fuel |= is_fuel(atoms);
    hydrates |= formula.find("(H2O)") != formula.npos;
    const bool nitrate = in_flux && is_nitrate(formula);
    work.nitrate |= nitrate;
    corrosive |= nitrate || eats_crucibles(atoms, in_flux);
  }
  Dangers dangers() const {
    Dangers found = dangers_of(hazards, stream);
    found.metal |= fuel;
    return found;
  }
};

}  // namespace

double mass_of(const MeltParts& parts) {
  double mass = 0;
  for (const MeltPart& one : parts) mass += one.mass;
  return mass;
}

double Melted::base_metal() const {
  double mass = 0;
  for (const MeltPart& one : bar)
    if (oxide_of(one.formula)->leaves != Leaves::bar) mass += one.mass;
  return mass;
}

Melted melt_charge(const FurnaceCharge& charge) { return Melt(charge).run(); }

std::vector<Caution> melt_cautions(const FurnaceCharge& charge, const Melted& melted, bool mercury_tested) {
  static const std::string at = "charge";
  SeenCharge seen;
  seen.stream.dry = charge.mass;
  for (const ChargedMineral& one : charge.minerals) seen.see(one.formula, one.share * charge.mass, false);
  for (const Reagent& one : melted.flux) seen.see(one.formula, one.dose * charge.mass, true);
  std::vector<Caution> cautions = heat_cautions({&at, seen.work, seen.dangers()}, mercury_tested);

  FluxDangers found;
  found.gas = mass_of(melted.gas) / charge.mass;
  found.gas_litres = melted.gas_volume;
  found.matte = melted.matte;
  found.base_metal = melted.base_metal();
  found.loose_sulphate = melted.loose_sulphate;
  found.unnamed = melted.inert / charge.mass;
  found.hydrates = seen.hydrates;
  for (const MeltPart& one : melted.gas) found.chlorine |= one.formula == "Cl2";
  found.corrosive = seen.corrosive;
  for (Caution& one : flux_cautions(found)) cautions.push_back(std::move(one));
  return cautions;
}

double crucible_charges(double mass, double density, double volume, double fill) {
  return ceiling(mass / density / (volume * fill));
}

MetalInSlag metal_in_slag(double slag, double grade, double price, double recovery, double cost) {
  const double content = slag * grade;
  return {content, content * price, content * recovery * price - slag * cost};
}

// ---- Single figures --------------------------------------------------------------------------

double silica_for(double oxygen_of_bases, double silica, double degree) {
  return degree * oxygen_of_bases * molar_mass_of("SiO2") / (2 * oxygen_mass()) - silica;
}

double silica_dose(double iron_oxide, double lime, double soda, double silica, double degree) {
  const double oxygen = oxygen_mass() * (iron_oxide / molar_mass_of("FeO") + lime / molar_mass_of("CaO") +
                                         soda / molar_mass_of("Na2O"));
  return std::max(0.0, silica_for(oxygen, silica, degree));
}

double matte_from(double sulphur) { return sulphur * molar_mass_of("FeS") / atomic_mass("S"); }

}  // namespace buttonworth
