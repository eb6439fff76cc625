#include "document/form.hpp"

#include <algorithm>

#include "quantity/edge.hpp"

namespace buttonworth {
namespace {

/// Letters to change, add, drop or swap to get from one name to the other (Damerau and Levenshtein,
/// restricted). Names longer than a field's are not compared.
std::size_t spelling_distance(const std::string& a, const std::string& b) {
  if (a.size() > 64 || b.size() > 64) return 64;
  std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
  for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i)
    for (std::size_t j = 1; j <= b.size(); ++j) {
      d[i][j] =
          std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (a[i - 1] != b[j - 1] ? 1U : 0U)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  return d[a.size()][b.size()];
}

}  // namespace

void Reader::complain(Code code, const Place& place, std::string text) {
  take({code, place.pointer(), std::move(text)});
}

void Reader::take(Complaint complaint) {
  ++told_;
  if (static_cast<std::int64_t>(complaints.size()) < limits.errors)
    complaints.push_back(std::move(complaint));
}

std::uint32_t Reader::analyte(const std::string& name) {
  auto found = std::find(analytes.begin(), analytes.end(), name);
  if (found == analytes.end()) {
    if (static_cast<std::int64_t>(analytes.size()) >= limits.analytes) {
      const bool told = !complaints.empty() && complaints.back().code == Code::limit;
      if (!told)
        complain(Code::limit, Place(),
                 "the document names more than " + std::to_string(limits.analytes) + " analytes");
      return 0;
    }
    found = analytes.insert(found, name);
  }
  return static_cast<std::uint32_t>(found - analytes.begin());
}

Quantity& Reader::known_default(const void* field) {
  for (auto& [known, quantity] : defaults_)
    if (known == field) return quantity;
  return defaults_.emplace_back(field, Quantity{}).second;
}

void Reader::wind_back(const Mark& mark) {
  quantities.keep(mark.quantities);
  defaults_.resize(mark.defaults);
}

Decimal Reader::worth(Quantity quantity) const {
  const StatedQuantity& stated = quantities[quantity];
  if (stated.currency_rate < 0) return stated.mean;
  return stated.mean * quantities.at(static_cast<std::size_t>(stated.currency_rate)).mean;
}

bool Reader::exceeds(Quantity first, Quantity second) const {
  return first.index != 0 && second.index != 0 && above(worth(first), worth(second));
}

bool require_kind(const Value& value, Value::Kind kind, const Place& place, Reader& reader,
                  const std::string& wanted) {
  if (value.kind == kind) return true;
  reader.complain(Code::type, place,
                  std::string(kind_text(value.kind)) + " stands here; wanted is " + wanted);
  return false;
}

std::string nearest_text(const std::string& name, const std::vector<std::string>& known) {
  const std::string* best = nullptr;
  std::size_t distance = name.size() / 2 + 2;
  for (const std::string& one : known) {
    const std::size_t d = spelling_distance(name, one);
    if (d >= distance) continue;
    distance = d;
    best = &one;
  }
  if (best != nullptr) return "; the nearest is " + *best;
  constexpr std::size_t enough = 300;
  std::string list;
  for (const std::string& one : known) {
    if (list.size() > enough) {
      list += ", …";
      break;
    }
    list += (list.empty() ? "\"" : ", \"") + one + '"';
  }
  return list.empty() ? std::string() : "; there is " + list;
}

std::string quoted_choices(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i)
    text += (i == 0 ? "" : i + 1 == words.size() ? " or " : ", ") + ('"' + words[i] + '"');
  return text;
}

Form<std::string> text_form() {
  return {[](const Value& value, const Place& place, Reader& reader, std::string& out) {
            if (!require_kind(value, Value::Kind::text, place, reader, "a text")) return;
            out = value.text;
            if (out.empty()) reader.complain(Code::range, place, "an empty text: write something");
          },
          [](SchemaBook&) {
            return Json{{"type", "string"}, {"minLength", 1}};
          }};
}

}  // namespace buttonworth
