#include "material/mineral.hpp"

#include <algorithm>
#include <array>
#include <iterator>

#include "material/formula.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

struct Named {
  std::string_view name, formula;
};

constexpr Named minerals[] = {
    {"magnetite", "Fe3O4"},
    {"hematite", "Fe2O3"},
    {"goethite", "FeO(OH)"},
    {"ilmenite", "FeTiO3"},
    {"chromite", "FeCr2O4"},
    {"rutile", "TiO2"},
    {"cassiterite", "SnO2"},
    {"scheelite", "CaWO4"},
    {"wolframite", "FeWO4"},
    {"zircon", "ZrSiO4"},
    {"monazite", "CePO4"},
    {"quartz", "SiO2"},
    {"almandine", "Fe3Al2(SiO4)3"},
    {"grossular", "Ca3Al2(SiO4)3"},
    {"fayalite", "Fe2SiO4"},
    {"forsterite", "Mg2SiO4"},
    {"enstatite", "MgSiO3"},
    {"diopside", "CaMgSi2O6"},
    {"hornblende", "Ca2Mg4Al2Si7O22(OH)2"},
    {"epidote", "Ca2Al2FeSi3O12(OH)"},
    {"biotite", "K2Fe3Mg3Al2Si6O20(OH)4"},
    {"muscovite", "KAl3Si3O10(OH)2"},
    {"kaolinite", "Al2Si2O5(OH)4"},
    {"orthoclase", "KAlSi3O8"},
    {"albite", "NaAlSi3O8"},
    {"anorthite", "CaAl2Si2O8"},
    {"tourmaline", "NaFe3Al6Si6O18(BO3)3(OH)4"},
    {"staurolite", "Fe2Al9Si4O23(OH)"},
    {"kyanite", "Al2SiO5"},
    {"sphene", "CaTiSiO5"},
    {"calcite", "CaCO3"},
    {"dolomite", "CaMg(CO3)2"},
    {"siderite", "FeCO3"},
    {"apatite", "Ca5(PO4)3F"},
    {"fluorite", "CaF2"},
    {"barite", "BaSO4"},
    {"gypsum", "CaSO4(H2O)2"},
    {"pyrite", "FeS2"},
    {"marcasite", "FeS2"},
    {"pyrrhotite", "Fe7S8"},
    {"arsenopyrite", "FeAsS"},
    {"galena", "PbS"},
    {"sphalerite", "ZnS"},
    {"chalcopyrite", "CuFeS2"},
    {"chalcocite", "Cu2S"},
    {"covellite", "CuS"},
    {"bornite", "Cu5FeS4"},
    {"stibnite", "Sb2S3"},
    {"molybdenite", "MoS2"},
    {"cinnabar", "HgS"},
    {"cerussite", "PbCO3"},
    {"steel", "Fe"},
    {"lead shot", "Pb"},
    // As others call them.
    {"silica", "SiO2"},
    {"haematite", "Fe2O3"},
    {"titanite", "CaTiSiO5"},
    {"fluorspar", "CaF2"},
    {"barytes", "BaSO4"},
    {"zinc blende", "ZnS"},
};

struct Reagent {
  std::string_view name, formula;
  const char* stays;  // in the slag, of 1
};

// Na2O of Na2CO3, K2O of 2 KNO3, Na2O of 2 NaNO3, Na2B4O7 of its decahydrate: a test works the
// shares out again from the formulas. The decahydrate's is the format's, of boron 10.811; with the
// weight held here it is 0.527616.
constexpr Reagent reagents[] = {
    {"borax", "Na2B4O7", "1"},
    {"borax decahydrate", "Na2B4O7(H2O)10", "0.527621"},
    {"soda ash", "Na2CO3", "0.584774"},
    {"silica", "SiO2", "1"},
    {"potassium nitrate", "KNO3", "0.465841"},
    {"sodium nitrate", "NaNO3", "0.364608"},
    {"fluorspar", "CaF2", "1"},
};

template <class Row, std::size_t count>
const Row* found_in(const Row (&list)[count], std::string_view name) {
  const auto found =
      std::find_if(std::begin(list), std::end(list), [&](const Row& one) { return one.name == name; });
  return found == std::end(list) ? nullptr : found;
}
template <class Row, std::size_t count>
std::vector<std::string> names_in(const Row (&list)[count]) {
  std::vector<std::string> names;
  for (const Row& one : list) names.emplace_back(one.name);
  return names;
}

struct Becomes {
  std::string_view element, formula;
  Leaves leaves;
  bool base = false;
};

constexpr Becomes what_becomes[] = {
    {"Si", "SiO2", Leaves::slag},      {"Fe", "FeO", Leaves::slag, true},  {"Mn", "MnO", Leaves::slag, true},
    {"Ca", "CaO", Leaves::slag, true}, {"Mg", "MgO", Leaves::slag, true},  {"Na", "Na2O", Leaves::slag, true},
    {"K", "K2O", Leaves::slag, true},  {"Ba", "BaO", Leaves::slag, true},  {"Zn", "ZnO", Leaves::slag, true},
    {"Pb", "PbO", Leaves::slag, true}, {"Cu", "Cu2O", Leaves::slag, true}, {"Ni", "NiO", Leaves::slag, true},
    {"Co", "CoO", Leaves::slag, true}, {"Cd", "CdO", Leaves::slag, true},  {"Al", "Al2O3", Leaves::slag},
    {"B", "B2O3", Leaves::slag},       {"Ti", "TiO2", Leaves::slag},       {"Cr", "Cr2O3", Leaves::slag},
    {"Zr", "ZrO2", Leaves::slag},      {"Sn", "SnO2", Leaves::slag},       {"W", "WO3", Leaves::slag},
    {"P", "P2O5", Leaves::slag},       {"V", "V2O5", Leaves::slag},        {"Mo", "MoO3", Leaves::slag},
    {"Bi", "Bi2O3", Leaves::slag},     {"Sb", "Sb2O3", Leaves::slag},      {"Nb", "Nb2O5", Leaves::slag},
    {"Ta", "Ta2O5", Leaves::slag},     {"Y", "Y2O3", Leaves::slag},        {"La", "La2O3", Leaves::slag},
    {"Ce", "Ce2O3", Leaves::slag},     {"Th", "ThO2", Leaves::slag},       {"U", "UO2", Leaves::slag},
    {"Au", "Au", Leaves::bar},         {"Ag", "Ag", Leaves::bar},          {"Pt", "Pt", Leaves::bar},
    {"Pd", "Pd", Leaves::bar},         {"Rh", "Rh", Leaves::bar},          {"Ru", "Ru", Leaves::bar},
    {"Ir", "Ir", Leaves::bar},         {"Os", "Os", Leaves::bar},          {"S", "SO2", Leaves::gas},
    {"As", "As2O3", Leaves::gas},      {"Te", "TeO2", Leaves::gas},        {"Se", "SeO2", Leaves::gas},
    {"C", "CO2", Leaves::gas},         {"H", "H2O", Leaves::gas},          {"N", "N2", Leaves::gas},
    {"Cl", "Cl2", Leaves::gas},
};

Oxide worked_out(const Becomes& what) {
  const Amounts atoms = atoms_of(what.formula);
  const double count = amount_of(atoms, what.element);
  Oxide oxide{what.element, what.formula, what.leaves, what.base};
  oxide.oxygen = amount_of(atoms, "O") / count;
  oxide.mass = atomic_mass(what.element) + oxide.oxygen * atomic_mass("O");
  oxide.molecules = 1 / count;
  return oxide;
}

/// Metals that take up a halogen, the first one first.
struct Binds {
  std::string_view halogen, metal, formula;
  double halogens;  // to one of the metal
};
constexpr Binds halides[] = {
    {"F", "Ca", "CaF2", 2}, {"F", "Mg", "MgF2", 2}, {"F", "K", "KF", 1},
    {"F", "Na", "NaF", 1},  {"Cl", "K", "KCl", 1},  {"Cl", "Na", "NaCl", 1},
};

}  // namespace

std::string_view mineral_formula(std::string_view text) {
  if (const Named* const found = found_in(minerals, text)) return found->formula;
  return read_formula(text) ? text : std::string_view();
}

std::string_view reagent_formula(std::string_view text) {
  const Reagent* const found = found_in(reagents, text);
  return found != nullptr ? found->formula : mineral_formula(text);
}

std::optional<Decimal> stays_in_slag(std::string_view reagent) {
  const Reagent* const found = found_in(reagents, reagent);
  return found != nullptr ? std::optional(Decimal(found->stays)) : std::nullopt;
}

bool is_nitrate(std::string_view reagent) {
  const std::string_view formula = reagent_formula(reagent);
  if (!formula.empty()) return formula.find("NO3") != formula.npos;
  std::string name(reagent);
  for (char& c : name)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  for (const char* word : {"nitrate", "nitre", "niter", "saltpet"})
    if (name.find(word) != name.npos) return true;
  return false;
}

std::vector<std::string> mineral_names() { return names_in(minerals); }
std::vector<std::string> reagent_names() { return names_in(reagents); }

Amounts atoms_of(std::string_view formula) {
  const auto atoms = read_formula(formula);
  if (!atoms) throw Error(Code::name, '"' + std::string(formula.substr(0, 60)) + "\" is no formula");
  Amounts amounts;
  for (const auto& [element, count] : *atoms) amounts[element] += count;
  return amounts;
}

double atomic_mass(std::string_view element) {
  static std::map<std::string_view, double> const masses = [] {
    std::map<std::string_view, double> made;
    for (const Becomes& one : what_becomes) made[one.element] = to_double(*atomic_weight(one.element));
    for (const char* other : {"O", "F", "Hg"}) made[other] = to_double(*atomic_weight(other));
    return made;
  }();
  return masses.at(element);
}

double mass_of(const Amounts& amounts) {
  double mass = 0;
  for (const auto& [element, amount] : amounts) mass += amount * atomic_mass(element);
  return mass;
}

const std::vector<Oxide>& oxides() {
  static const std::vector<Oxide> all = [] {
    std::vector<Oxide> made;
    for (const Becomes& one : what_becomes) made.push_back(worked_out(one));
    return made;
  }();
  return all;
}

const Oxide* oxide_of(std::string_view element) {
  const auto found = std::find_if(oxides().begin(), oxides().end(),
                                  [&](const Oxide& one) { return one.element == element; });
  return found == oxides().end() ? nullptr : &*found;
}

namespace {
/// kmol of oxygen in the oxides of all but the sulphur.
double oxygen_of_others(const Amounts& formula) {
  double oxygen = 0;
  for (const auto& [element, amount] : formula)
    if (const Oxide* oxide = element == "S" ? nullptr : oxide_of(element)) oxygen += amount * oxide->oxygen;
  return oxygen;
}
}  // namespace

bool is_sulphate(const Amounts& formula) {
  const double sulphur = amount_of(formula, "S");
  return sulphur > 0 && amount_of(formula, "O") >= oxygen_of_others(formula) + 3 * sulphur;
}

double oxygen_wanted(const Amounts& formula, SulphurTo sulphur) {
  const double to_sulphur = sulphur == SulphurTo::sulphate || is_sulphate(formula) ? 3 : 2;
  return oxygen_of_others(formula) + to_sulphur * amount_of(formula, "S") - amount_of(formula, "O");
}

std::vector<Halide> bind_halides(Amounts& amounts) {
  std::vector<Halide> bound;
  for (const Binds& one : halides) {
    const double bind =
        std::min(amount_of(amounts, one.metal), amount_of(amounts, one.halogen) / one.halogens);
    if (!(bind > 0)) continue;
    amounts[one.metal] -= bind;
    amounts[one.halogen] -= bind * one.halogens;
    bound.push_back({one.formula, bind});
  }
  return bound;
}

double left_in_slag(std::string_view formula) {
  Amounts atoms = atoms_of(formula);
  const double whole = mass_of(atoms);
  double left = is_sulphate(atoms) ? amount_of(atoms, "S") * mass_of(atoms_of("SO3")) : 0;
  for (const Halide& one : bind_halides(atoms)) left += one.amount * mass_of(atoms_of(one.formula));
  for (const Oxide& oxide : oxides())
    if (oxide.leaves == Leaves::slag) left += amount_of(atoms, oxide.element) * oxide.mass;
  return left / whole;
}

}  // namespace buttonworth
