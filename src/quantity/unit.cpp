#include "quantity/unit.hpp"

#include <algorithm>
#include <array>

namespace buttonworth {
namespace {

using Names = std::array<std::string_view, mass_unit_count>;
constexpr Names mass_names{"mg", "g", "kg", "t", "lb", "st", "lt", "ozt", "dwt", "gr"};

std::optional<MassUnit> mass_unit(std::string_view text) {
  auto found = std::find(mass_names.begin(), mass_names.end(), text);
  if (found == mass_names.end()) return std::nullopt;
  return static_cast<MassUnit>(found - mass_names.begin());
}

// A unit of fixed size, above ÷ below of the library's own. The names are exact: they are the
// format's, and nothing else is read.
struct Fixed {
  std::string_view name;
  Dimension dimension;
  std::int64_t above, below;
};
constexpr Fixed fixed_units[] = {
    {"%", Dimension::grade, 1, 100},         {"g/t", Dimension::grade, 1, 1000000},
    {"mg/kg", Dimension::grade, 1, 1000000}, {"ppm", Dimension::grade, 1, 1000000},
    {"kg/t", Dimension::grade, 1, 1000},     {"ppb", Dimension::grade, 1, 1000000000},
    {"fine", Dimension::grade, 1, 1000},     {"%", Dimension::share, 1, 100},
    {"fine", Dimension::share, 1, 1000},     {"d", Dimension::time, 1, 1},
    {"kg/h", Dimension::throughput, 1, 1},   {"t/h", Dimension::throughput, 1000, 1},
    {"kg/kg", Dimension::dose, 1, 1},        {"kWh", Dimension::energy, 1, 1},
    {"MJ", Dimension::energy, 10, 36},       {"kWh/L", Dimension::heat, 1, 1},
    {"kWh/m3", Dimension::heat, 1, 1000},    {"L", Dimension::volume, 1, 1},
    {"m3", Dimension::volume, 1000, 1},      {"kg/L", Dimension::density, 1, 1},
    {"t/m3", Dimension::density, 1, 1},      {"degC", Dimension::temperature, 1, 1},
    {"%/a", Dimension::annual, 1, 100},      {"", Dimension::number, 1, 1},
    {"um", Dimension::length, 1, 10000},     {"mm", Dimension::length, 1, 10},
    {"cm", Dimension::length, 1, 1},         {"m", Dimension::length, 100, 1},
    {"kt", Dimension::grade, 1, 24},         {"h", Dimension::time, 1, 24},
    {"min", Dimension::time, 1, 1440},       {"MJ/L", Dimension::heat, 10, 36},
    {"MJ/m3", Dimension::heat, 1, 3600},
};

struct MassGrade {
  std::string_view name;
  MassUnit above, below;
};
constexpr MassGrade mass_grades[] = {
    {"ozt/st", MassUnit::ozt, MassUnit::st},
    {"ozt/lt", MassUnit::ozt, MassUnit::lt},
    {"ozt/t", MassUnit::ozt, MassUnit::t},
    {"dwt/st", MassUnit::dwt, MassUnit::st},
};

// What money is paid for other than a mass: above ÷ below of one of the library's own.
constexpr Fixed per_units[] = {
    {"lot", Dimension::per_lot, 1, 1},      {"melt", Dimension::per_melt, 1, 1},
    {"h", Dimension::per_hour, 1, 1},       {"min", Dimension::per_hour, 60, 1},
    {"d", Dimension::per_hour, 1, 24},      {"kWh", Dimension::per_energy, 1, 1},
    {"MJ", Dimension::per_energy, 36, 10},  {"L", Dimension::per_volume, 1, 1},
    {"m3", Dimension::per_volume, 1, 1000},
};

struct Known {
  std::string_view name;
  Dimension dimension;
  Decimal factor;
};

template <std::size_t Count>
std::vector<Known> worked_out(const Fixed (&units)[Count]) {
  std::vector<Known> known;
  for (const Fixed& unit : units)
    known.push_back({unit.name, unit.dimension, Decimal(unit.above) / Decimal(unit.below)});
  return known;
}

const std::vector<Known>& known_units() {
  static const std::vector<Known> units = worked_out(fixed_units);
  return units;
}

const std::vector<Known>& known_per_units() {
  static const std::vector<Known> units = worked_out(per_units);
  return units;
}

std::string_view currency_of(std::string_view text) {
  auto capital = [](char c) { return c >= 'A' && c <= 'Z'; };
  if (text == "USc") return text;
  return text.size() == 3 && std::all_of(text.begin(), text.end(), capital) ? text : std::string_view{};
}

std::optional<Unit> money_unit(std::string_view text, const MassFactors& factors) {
  std::size_t slash = text.find('/');
  std::string_view code = currency_of(text.substr(0, slash));
  if (code.empty()) return std::nullopt;
  Decimal one = code == "USc" ? power_of_ten(-2) : Decimal(1);
  if (code == "USc") code = "USD";
  if (slash == std::string_view::npos) return Unit{Dimension::money, code, one};
  std::string_view per = text.substr(slash + 1);
  if (auto mass = mass_unit(per)) return Unit{Dimension::price, code, one * factors.per_kilogram(*mass)};
  for (const Known& unit : known_per_units())
    if (unit.name == per) return Unit{unit.dimension, code, one * unit.factor};
  return std::nullopt;
}

std::string join(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i)
    text += (i == 0 ? "" : i + 1 == words.size() ? " or " : ", ") + words[i];
  return text;
}

std::string escaped(std::string_view name) {
  std::string text;
  for (char c : name) text += c == '/' ? std::string("\\/") : std::string(1, c);
  return text;
}

/// Money for so much of something that is no mass.
bool is_per(Dimension dimension) {
  return dimension >= Dimension::per_lot && dimension <= Dimension::per_volume;
}

/// Of money for something, the names of what it is paid for.
std::vector<std::string_view> names_of(Dimension dimension) {
  std::vector<std::string_view> names;
  if (dimension == Dimension::mass) names.assign(mass_names.begin(), mass_names.end());
  for (const Fixed& unit : fixed_units)
    if (unit.dimension == dimension) names.push_back(unit.name);
  for (const Fixed& unit : per_units)
    if (unit.dimension == dimension) names.push_back(unit.name);
  if (dimension == Dimension::grade)
    for (const MassGrade& unit : mass_grades) names.push_back(unit.name);
  return names;
}

std::string example(Dimension dimension) {
  if (dimension == Dimension::money) return "a currency code such as USD";
  if (dimension == Dimension::price) return "money per mass such as USD/t, USD/ozt";
  if (dimension == Dimension::number) return "a number without a unit";
  std::string text;
  for (const std::string_view name : names_of(dimension))
    text += (text.empty() ? "" : ", ") + std::string(is_per(dimension) ? "USD/" : "") + std::string(name);
  return text;
}

std::string one_of(const std::vector<std::string_view>& names) {
  std::string text;
  for (const std::string_view name : names) text += (text.empty() ? "" : "|") + escaped(name);
  return text;
}

std::string money_pattern(Dimension dimension) {
  const std::string code = "([A-Z]{3}|USc)";
  if (dimension == Dimension::money) return code;
  const auto names = names_of(dimension == Dimension::price ? Dimension::mass : dimension);
  return code + "\\/(" + one_of(names) + ")";
}

}  // namespace

MassFactors::MassFactors() {
  set(MassUnit::mg, power_of_ten(-6));
  set(MassUnit::g, power_of_ten(-3));
  set(MassUnit::kg, 1);
  set(MassUnit::t, 1000);
  const Decimal pound("0.45359237");
  set(MassUnit::lb, pound);
  set(MassUnit::st, pound * 2000);
  set(MassUnit::lt, pound * 2240);
  const Decimal ounce("0.0311034768");
  set(MassUnit::ozt, ounce);
  set(MassUnit::dwt, ounce * Decimal("0.05"));
  set(MassUnit::gr, Decimal("0.00006479891"));
}

void MassFactors::set(MassUnit unit, const Decimal& kilograms) {
  kilograms_[static_cast<int>(unit)] = kilograms;
  per_kilogram_[static_cast<int>(unit)] = 1 / kilograms;
}

void MassFactors::fix_grams_per_ounce(const Decimal& grams) {
  const Decimal ounce = grams * power_of_ten(-3);
  set(MassUnit::ozt, ounce);
  set(MassUnit::dwt, ounce / 20);
  set(MassUnit::gr, ounce / 480);
}

void MassFactors::fix_pounds_per_tonne(const Decimal& pounds) {
  const Decimal pound = 1000 / pounds;
  set(MassUnit::lb, pound);
  set(MassUnit::lt, pound * 2240);
  if (!short_ton_fixed_) set(MassUnit::st, pound * 2000);
}

void MassFactors::fix_short_tons_per_tonne(const Decimal& tons) {
  set(MassUnit::st, 1000 / tons);
  short_ton_fixed_ = true;
}

const MassFactors& exact_factors() {
  static const MassFactors factors;
  return factors;
}

std::optional<Unit> find_unit(std::string_view text, Dimensions allowed, const MassFactors& factors) {
  if (auto mass = mass_unit(text)) return Unit{Dimension::mass, {}, factors.kilograms(*mass)};
  const Known* found = nullptr;
  for (const Known& unit : known_units())
    if (unit.name == text &&
        (found == nullptr || (allowed.holds(unit.dimension) && !allowed.holds(found->dimension))))
      found = &unit;
  if (found != nullptr) return Unit{found->dimension, {}, found->factor};
  for (const MassGrade& unit : mass_grades)
    if (unit.name == text)
      return Unit{Dimension::grade, {}, factors.kilograms(unit.above) * factors.per_kilogram(unit.below)};
  return money_unit(text, factors);
}

std::optional<std::string> unit_advice(std::string_view text) {
  std::size_t slash = text.find('/');
  for (std::string_view part :
       {text.substr(0, slash), slash == text.npos ? std::string_view{} : text.substr(slash + 1)}) {
    if (part == "oz" || part == "ounce" || part == "ounces")
      return "oz is ambiguous: write ozt (troy ounce, 31.1034768 g), or give the mass in g or lb";
    if (part == "tonne" || part == "tonnes") return "write t (1000 kg)";
    if (part == "ton" || part == "tons")
      return "ton is ambiguous: write t (1000 kg), st (short ton, 2000 lb) or lt (long ton, 2240 lb)";
  }
  if (text == "µm" || text == "μm" || text == "micron" || text == "microns") return "write um";
  if (text == "C" || text == "°C") return "write degC";
  if (text == "kgs" || text == "KG" || text == "Kg") return "write kg";
  return std::nullopt;
}

std::string unit_examples(Dimensions allowed) {
  std::vector<std::string> words;
  bool grade = allowed.holds(Dimension::grade);
  for (int i = 0; i <= static_cast<int>(Dimension::number); ++i) {
    const auto dimension = static_cast<Dimension>(i);
    if (allowed.holds(dimension) && !(grade && dimension == Dimension::share))
      words.emplace_back(example(dimension));
  }
  return join(words);
}

std::string unit_pattern(Dimension dimension) {
  if (dimension == Dimension::money || dimension == Dimension::price || is_per(dimension))
    return money_pattern(dimension);
  return "(" + one_of(names_of(dimension)) + ")";
}

}  // namespace buttonworth
