#include "document/draw_options.hpp"

#include <algorithm>
#include <bit>
#include <numeric>

namespace buttonworth {

Form<DrawMethod> method_form() {
  return choice<DrawMethod>({{"sobol", DrawMethod::sobol}, {"philox", DrawMethod::philox}});
}

/// [pointer, pointer, correlation].
Form<DrawOptionsDraft::Correlated> correlated_form() {
  using Entry = DrawOptionsDraft::Correlated;
  const Form<std::string> pointer = text_form();
  const Form<Quantity> number = quantity(Dimension::number, Allowed::any);
  return {[=](const Value& value, const Place& place, Reader& reader, Entry& out) {
            const char* const wanted = "a list: two pointers and their correlation, such as \"0.7\"";
            if (!require_kind(value, Value::Kind::list, place, reader, wanted)) return;
            if (value.items.size() != 3)
              return reader.complain(Code::type, place, std::string("wanted is ") + wanted);
            for (std::size_t i = 0; i < 2; ++i)
              pointer.read(value.items[i], Place(place, i), reader, out.of.emplace_back());
            number.read(value.items[2], Place(place, std::size_t{2}), reader, out.r);
            if (out.r.index != 0 && abs(reader.quantities[out.r].mean) >= 1)
              reader.complain(Code::range, Place(place, std::size_t{2}),
                              "a correlation lies above -1 and below 1; what is one thing stands in same");
          },
          [=](SchemaBook& book) {
            const Json text = pointer.schema(book);
            return Json{{"type", "array"},
                        {"items", Json::array({text, text, number.schema(book)})},
                        {"minItems", 3},
                        {"maxItems", 3}};
          }};
}

Form<DrawOptionsDraft::Averaged> averaged_form() {
  using Entry = DrawOptionsDraft::Averaged;
  return pair_of(&Entry::of, text_form(), &Entry::fixings, whole_number_form(1, 1000),
                 "a pointer to a price and the number of fixings it will be the average of");
}

Form<std::vector<std::vector<std::string>>> same_form() { return list_of(list_of(text_form(), 2)); }

DrawOptionsReader::DrawOptionsReader(const Plan& plan, Reader& reader) : plan_(plan), reader_(reader) {
  for (std::uint32_t i = 1; i < plan.quantities.size(); ++i) {
    const StatedQuantity& stated = plan.quantities.at(i);
    if (stated.place.empty()) continue;
    (Marginal::of(stated).certain() ? certain_ : inputs_).emplace_back(stated.place, Quantity{i});
  }
  std::sort(inputs_.begin(), inputs_.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
}

DrawNumbers DrawOptionsReader::numbers(const DrawOptionsDraft& draft) const {
  DrawNumbers numbers;
  numbers.draws = draft.draws.value_or(numbers.draws);
  numbers.seed = static_cast<std::uint64_t>(draft.seed.value_or(1));
  numbers.method = draft.method.value_or(numbers.method);
  const auto draws = static_cast<std::uint64_t>(numbers.draws);
  const Place root, place(root, "draws");
  if (numbers.method == DrawMethod::sobol && !std::has_single_bit(draws))
    reader_.complain(Code::range, place,
                     "draws by Sobol's points are a power of two, such as " +
                         std::to_string(std::bit_floor(draws)) + " or " +
                         std::to_string(std::bit_ceil(draws)));
  else if (draws % part_count != 0)
    reader_.complain(Code::range, place, "the number of draws is to be a multiple of 8");
  return numbers;
}

std::optional<Quantity> DrawOptionsReader::input(const std::string& pointer, const Place& place) const {
  if (pointer.empty()) return std::nullopt;  // told already: it could not be read
  for (const auto& [at, quantity] : inputs_)
    if (at == pointer) return quantity;
  const auto is_there = [&](const auto& one) { return one.first == pointer; };
  if (std::any_of(certain_.begin(), certain_.end(), is_there)) {
    reader_.complain(
        Code::range, place,
        "the plan states " + pointer + " for certain: state its spread there, or leave it out here");
    return std::nullopt;
  }
  std::vector<std::string> known;
  for (const auto& [at, quantity] : inputs_) known.push_back(at);
  reader_.complain(Code::name, place,
                   "the plan has no uncertain quantity at " + pointer + nearest_text(pointer, known));
  return std::nullopt;
}

DrawOptionsReader::ByPlace DrawOptionsReader::below(const std::string& pointer, const ByPlace& quantities) {
  ByPlace found;
  for (const auto& [at, quantity] : quantities)
    if (at == pointer) found.emplace_back("", quantity);
    else if (at.starts_with(pointer + "/")) found.emplace_back(at.substr(pointer.size()), quantity);
  return found;
}

/// One list a place below the first pointer.
std::vector<std::vector<Quantity>> DrawOptionsReader::same_lists(const std::vector<std::string>& pointers,
                                                                 const Place& place) const {
  std::vector<std::vector<Quantity>> lists;
  if (pointers.size() < 2) return lists;  // told already
  const auto first = below(pointers.front(), inputs_);
  if (first.empty()) {
    input(pointers.front(), Place(place, std::size_t{0}));
    return lists;
  }
  for (const auto& [at, quantity] : first) lists.push_back({quantity});
  for (std::size_t i = 1; i < pointers.size(); ++i) {
    const auto others = below(pointers[i], inputs_);
    const bool alike = std::equal(first.begin(), first.end(), others.begin(), others.end(),
                                  [](const auto& a, const auto& b) { return a.first == b.first; });
    if (!alike)
      reader_.complain(Code::name, Place(place, i),
                       "what is uncertain at " + pointers[i] + " does not stand at the same places as at " +
                           pointers.front() + ": name the quantities one by one");
    for (std::size_t k = 0; alike && k < lists.size(); ++k) lists[k].push_back(others[k].second);
  }
  return lists;
}

DrawTogether DrawOptionsReader::together(const DrawOptionsDraft& draft) const {
  DrawTogether together;
  take_same(draft, together);
  take_correlated(draft, together);
  take_averaged(draft, together);
  return together;
}

void DrawOptionsReader::require_once(const std::vector<std::vector<Quantity>>& lists, std::vector<bool>& had,
                                     const Place& place) const {
  for (const auto& list : lists)
    for (const Quantity& one : list) {
      if (had[one.index])
        reader_.complain(
            Code::repeated, place,
            plan_.quantities[one].place + " stands in same twice: put all that is one thing in one list");
      had[one.index] = true;
    }
}

void DrawOptionsReader::take_same(const DrawOptionsDraft& draft, DrawTogether& together) const {
  const Place root, same(root, "same");
  std::vector<bool> had(plan_.quantities.size());
  for (std::size_t i = 0; i < draft.same.size(); ++i) {
    const auto lists = same_lists(draft.same[i], Place(same, i));
    require_once(lists, had, Place(same, i));
    together.same.insert(together.same.end(), lists.begin(), lists.end());
  }
}

/// What only some of the pointers state goes by itself.
std::vector<std::vector<Quantity>> DrawOptionsReader::certain_lists(
    const std::vector<std::string>& pointers) const {
  std::vector<std::vector<Quantity>> lists;
  for (const auto& [at, quantity] : below(pointers.front(), certain_)) {
    std::vector<Quantity> list{quantity};
    for (std::size_t i = 1; i < pointers.size(); ++i)
      for (const auto& [place, other] : certain_)
        if (place == pointers[i] + at) list.push_back(other);
    if (list.size() == pointers.size()) lists.push_back(std::move(list));
  }
  return lists;
}

/// What moves by the same amount.
void DrawOptionsReader::require_alike(const std::vector<Quantity>& list, const Place& place) const {
  const StatedQuantity& first = plan_.quantities[list.front()];
  for (Quantity q : list) {
    const StatedQuantity& one = plan_.quantities[q];
    if (one.dimension == first.dimension && one.currency_rate == first.currency_rate) continue;
    reader_.complain(Code::conflict, place,
                     one.place + " is stated in " + one.unit + " and " + first.place + " in " + first.unit +
                         ": they cannot move by the same amount");
  }
}

std::vector<std::vector<Quantity>> DrawOptionsReader::moving_together(
    const std::vector<std::vector<std::string>>& same) const {
  const Place root, place(root, "same");
  std::vector<std::vector<Quantity>> all;
  std::vector<bool> had(plan_.quantities.size());
  for (std::size_t i = 0; i < same.size(); ++i) {
    if (same[i].size() < 2) continue;  // told already
    auto lists = certain_lists(same[i]);
    if (lists.empty() || !below(same[i].front(), inputs_).empty())
      for (auto& list : same_lists(same[i], Place(place, i))) lists.push_back(std::move(list));
    require_once(lists, had, Place(place, i));
    for (const auto& list : lists) require_alike(list, Place(place, i));
    all.insert(all.end(), lists.begin(), lists.end());
  }
  return all;
}

void DrawOptionsReader::take_correlated(const DrawOptionsDraft& draft, DrawTogether& together) const {
  const Place root, correlate(root, "correlate");
  // What is the same counts as the first of its list.
  std::vector<std::size_t> thing(plan_.quantities.size());
  std::iota(thing.begin(), thing.end(), std::size_t{0});
  for (const auto& list : together.same)
    for (const Quantity& one : list) thing[one.index] = list.front().index;
  std::vector<Correlation> pairs;
  for (std::size_t i = 0; i < draft.correlated.size(); ++i) {
    const auto& one = draft.correlated[i];
    const Place place(correlate, i);
    if (one.of.size() != 2) continue;
    const auto a = input(one.of[0], Place(place, std::size_t{0})),
               b = input(one.of[1], Place(place, std::size_t{1}));
    if (!a || !b) continue;
    const auto [low, high] = std::minmax({thing[a->index], thing[b->index]});
    const auto again = [low = low, high = high](const Correlation& had) {
      return had.a == low && had.b == high;
    };
    if (low == high)
      reader_.complain(Code::conflict, place, "these two are the same and go together in full");
    else if (std::any_of(pairs.begin(), pairs.end(), again))
      reader_.complain(Code::repeated, place,
                       "the correlation of these two stands twice: remove one of the two");
    else {
      const double r = to_double(reader_.quantities[one.r].mean);
      together.correlated.push_back({*a, *b, r});
      pairs.push_back({low, high, r});
    }
  }
  require_possible(pairs, correlate);
}

/// Told here, so that it is an error of the options with its place.
void DrawOptionsReader::require_possible(const std::vector<Correlation>& pairs, const Place& place) const {
  if (!reader_.complaints.empty()) return;
  try {
    Copula(plan_.quantities.size(), pairs);
  } catch (const Error& impossible) {
    reader_.complain(Code::range, place, impossible.what());
  }
}

void DrawOptionsReader::take_averaged(const DrawOptionsDraft& draft, DrawTogether& together) const {
  const Place root, averaged(root, "averaged");
  for (std::size_t i = 0; i < draft.averaged.size(); ++i) {
    const auto& one = draft.averaged[i];
    const Place place(averaged, i);
    const auto price = input(one.of, Place(place, std::size_t{0}));
    if (!price) continue;
    if (plan_.quantities[*price].dimension != Dimension::price)
      reader_.complain(Code::type, Place(place, std::size_t{0}), "only a price is an average of fixings");
    const auto again = [&](const auto& had) { return had.price.index == price->index; };
    if (std::any_of(together.averaged.begin(), together.averaged.end(), again))
      reader_.complain(Code::repeated, place, one.of + " stands in averaged twice: remove one of the two");
    together.averaged.push_back({*price, static_cast<int>(one.fixings)});
  }
}

void move_complaints(Reader& reader, std::vector<Complaint>& complaints) {
  for (Complaint& one : reader.complaints) complaints.push_back({Code::usage_options, one.pointer, one.text});
}

}  // namespace buttonworth
