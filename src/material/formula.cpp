#include "material/formula.hpp"

#include <algorithm>
#include <iterator>

namespace buttonworth {
namespace {

struct Element {
  std::string_view symbol;
  const char* weight;
};

constexpr Element elements[] = {
    {"Ag", "107.87"}, {"Al", "26.982"}, {"As", "74.922"}, {"Au", "196.97"}, {"B", "10.81"},
    {"Ba", "137.33"}, {"Bi", "208.98"}, {"C", "12.011"},  {"Ca", "40.078"}, {"Cd", "112.41"},
    {"Ce", "140.12"}, {"Cl", "35.45"},  {"Co", "58.933"}, {"Cr", "51.996"}, {"Cu", "63.546"},
    {"F", "18.998"},  {"Fe", "55.845"}, {"H", "1.008"},   {"Hg", "200.59"}, {"Ir", "192.22"},
    {"K", "39.098"},  {"La", "138.91"}, {"Mg", "24.305"}, {"Mn", "54.938"}, {"Mo", "95.95"},
    {"N", "14.007"},  {"Na", "22.990"}, {"Nb", "92.906"}, {"Ni", "58.693"}, {"O", "15.999"},
    {"Os", "190.23"}, {"P", "30.974"},  {"Pb", "207.2"},  {"Pd", "106.42"}, {"Pt", "195.08"},
    {"Rh", "102.91"}, {"Ru", "101.07"}, {"S", "32.06"},   {"Sb", "121.76"}, {"Se", "78.971"},
    {"Si", "28.085"}, {"Sn", "118.71"}, {"Ta", "180.95"}, {"Te", "127.60"}, {"Th", "232.04"},
    {"Ti", "47.867"}, {"U", "238.03"},  {"V", "50.942"},  {"W", "183.84"},  {"Y", "88.906"},
    {"Zn", "65.38"},  {"Zr", "91.224"},
};

const Element* find_element(std::string_view symbol) {
  auto found = std::find_if(std::begin(elements), std::end(elements),
                            [&](const Element& e) { return e.symbol == symbol; });
  return found == std::end(elements) ? nullptr : &*found;
}

bool capital(char c) { return c >= 'A' && c <= 'Z'; }
bool small(char c) { return c >= 'a' && c <= 'z'; }
bool digit(char c) { return c >= '0' && c <= '9'; }

constexpr int most_atoms = 10'000;

class FormulaReader {
 public:
  explicit FormulaReader(std::string_view text) : text_(text) {}

  std::optional<Atoms> whole() {
    Atoms atoms;
    if (!group(atoms, 0) || at_ != text_.size() || atoms.empty()) return std::nullopt;
    return atoms;
  }

 private:
  bool group(Atoms& atoms, int depth) {
    while (at_ < text_.size() && text_[at_] != ')')
      if (!(text_[at_] == '(' ? bracket(atoms, depth) : element(atoms))) return false;
    return true;
  }
  bool bracket(Atoms& atoms, int depth) {
    if (depth == 4) return false;
    ++at_;
    Atoms inner;
    if (!group(inner, depth + 1) || at_ == text_.size()) return false;
    ++at_;
    const int many = count();
    for (auto& [symbol, number] : inner) atoms.emplace_back(symbol, std::min(number * many, most_atoms));
    return many > 0;
  }
  bool element(Atoms& atoms) {
    if (!capital(text_[at_])) return false;
    std::size_t length = at_ + 1 < text_.size() && small(text_[at_ + 1]) ? 2 : 1;
    const Element* found = find_element(text_.substr(at_, length));
    if (found == nullptr) return false;
    at_ += length;
    atoms.emplace_back(found->symbol, count());
    return atoms.back().second > 0;
  }
  int count() {
    if (at_ == text_.size() || !digit(text_[at_])) return 1;
    int number = 0;
    while (at_ < text_.size() && digit(text_[at_]))
      number = std::min(number * 10 + (text_[at_++] - '0'), most_atoms);
    return number;
  }

  std::string_view text_;
  std::size_t at_ = 0;
};

}  // namespace

std::optional<Atoms> read_formula(std::string_view formula) { return FormulaReader(formula).whole(); }

std::optional<Decimal> atomic_weight(std::string_view element) {
  const Element* found = find_element(element);
  if (found == nullptr) return std::nullopt;
  return Decimal(found->weight);
}

std::optional<Decimal> molar_mass(std::string_view formula) {
  auto atoms = read_formula(formula);
  if (!atoms) return std::nullopt;
  Decimal sum = 0;
  for (const auto& [symbol, number] : *atoms) sum += *atomic_weight(symbol) * number;
  return sum;
}

Decimal element_share(std::string_view formula, std::string_view element) {
  auto atoms = read_formula(formula);
  if (!atoms) return 0;
  Decimal of_element = 0;
  for (const auto& [symbol, number] : *atoms)
    if (symbol == element) of_element += *atomic_weight(symbol) * number;
  return of_element == 0 ? Decimal(0) : Decimal(of_element / *molar_mass(formula));
}

}  // namespace buttonworth
