// Forms: how a thing stands in a document. One table of fields makes both the reader and the schema.
//
// A Form<T> reads a T and describes it. Forms are built from smaller ones: a quantity of some
// dimension, a choice of words, a list, an object of fields. Reading never stops at the first
// fault: each is told to the Reader with its place, and what follows is read on.
#pragma once

#include <concepts>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "document/json_tree.hpp"
#include "document/value.hpp"
#include "quantity/scenario.hpp"

namespace buttonworth {

/// What reading needs to know besides the value: where complaints go, units, analytes.
class Reader {
 public:
  explicit Reader(const DocumentLimits& limits) : limits(limits) {}

  const DocumentLimits& limits;
  std::vector<Complaint> complaints;
  QuantityTable quantities;
  std::vector<std::string> analytes;
  std::string currency;
  std::vector<std::pair<std::string, Quantity>> exchange;  ///< value of one in the plan's currency
  bool keeps_places = false;              ///< whether each quantity is to know where it stands
  MassFactors factors = exact_factors();  ///< in force where the reader is

  void complain(Code code, const Place& place, std::string text);
  /// A complaint of another's. Beyond the limit they are only counted.
  void take(Complaint complaint);
  /// How many complaints there were, with those beyond the limit.
  std::size_t told() const { return told_; }
  /// The analyte's number; a new name gets the next one.
  std::uint32_t analyte(const std::string& name);
  /// The quantity that stands for a field left out, read once: index 0 until then.
  Quantity& known_default(const void* field);

  /// How far the tables are filled: what was read since is forgotten when they are wound back.
  struct Mark {
    std::size_t quantities = 0, defaults = 0;
  };
  Mark mark() const { return {quantities.size(), defaults_.size()}; }
  void wind_back(const Mark& mark);

  /// A quantity's mean, money in the currency that it is stated in.
  const Decimal& mean(Quantity quantity) const { return quantities[quantity].mean; }
  /// A quantity's mean in the document's own currency.
  Decimal worth(Quantity quantity) const;
  /// Whether both could be read, and the first is above the second.
  bool exceeds(Quantity first, Quantity second) const;

 private:
  std::vector<std::pair<const void*, Quantity>> defaults_;
  std::size_t told_ = 0;
};

/// Definitions that a schema refers to by name.
struct SchemaBook {
  Json definitions = Json::object();
};

/// A function that whoever keeps it shares: forms are made of forms many deep, and to copy what each
/// holds took longer than a hundred readings.
template <class Signature>
class Shared;
template <class R, class... A>
class Shared<R(A...)> {
 public:
  Shared() = default;
  Shared(std::nullptr_t) {}
  template <class F>
  requires(!std::same_as<std::decay_t<F>, Shared> && std::is_invocable_r_v<R, F&, A...>) Shared(F function)
      : function_(std::make_shared<const std::function<R(A...)>>(std::move(function))) {}

  R operator()(A... arguments) const { return (*function_)(std::forward<A>(arguments)...); }
  explicit operator bool() const { return function_ != nullptr; }

 private:
  std::shared_ptr<const std::function<R(A...)>> function_;
};

template <class T>
struct Form {
  Shared<void(const Value&, const Place&, Reader&, T&)> read;
  Shared<Json(SchemaBook&)> schema;
};

/// Tells a wrong kind of value; true if it is right.
bool require_kind(const Value& value, Value::Kind kind, const Place& place, Reader& reader,
                  const std::string& wanted);

/// ", did you mean lot?" or ", the nearest here is …" for a name that is not among the known ones.
std::string nearest_text(const std::string& name, const std::vector<std::string>& known);

/// What is to be chosen from, as it is typed: "table", "split" or "dry", in quotes.
std::string quoted_choices(const std::vector<std::string>& words);

// ---- Simple forms ----------------------------------------------------------------------------

Form<std::string> text_form();

/// One of a few words, each standing for a value.
template <class E>
Form<E> choice(std::vector<std::pair<std::string, E>> words) {
  auto list = [words] {
    std::vector<std::string> names;
    for (const auto& [word, meaning] : words) names.push_back(word);
    return quoted_choices(names);
  };
  return {[words, list](const Value& value, const Place& place, Reader& reader, E& out) {
            if (value.kind != Value::Kind::text) {
              require_kind(value, Value::Kind::text, place, reader, list());
              return;
            }
            for (const auto& [word, meaning] : words)
              if (word == value.text) {
                out = meaning;
                return;
              }
            reader.complain(Code::range, place, '"' + value.text + "\" is none of " + list());
          },
          [words](SchemaBook&) {
            Json names = Json::array();
            for (const auto& [word, meaning] : words) names.push_back(word);
            return Json{{"enum", names}};
          }};
}

template <class T>
Form<std::vector<T>> list_of(Form<T> item, std::size_t least = 0) {
  return {[item, least](const Value& value, const Place& place, Reader& reader, std::vector<T>& out) {
            if (!require_kind(value, Value::Kind::list, place, reader, "a list")) return;
            if (value.items.size() < least)
              reader.complain(
                  Code::range, place,
                  "the list wants at least " + std::to_string(least) + (least == 1 ? " entry" : " entries"));
            for (std::size_t i = 0; i < value.items.size(); ++i)
              item.read(value.items[i], Place(place, i), reader, out.emplace_back());
          },
          [item, least](SchemaBook& book) {
            Json schema{{"type", "array"}, {"items", item.schema(book)}};
            if (least > 0) schema["minItems"] = least;
            return schema;
          }};
}

/// One thing, or a list of some.
template <class T>
Form<std::vector<T>> one_or_list(Form<T> one) {
  const auto list = list_of(one, 1);
  return {[one, list](const Value& value, const Place& place, Reader& reader, std::vector<T>& out) {
            if (value.kind == Value::Kind::list) list.read(value, place, reader, out);
            else one.read(value, place, reader, out.emplace_back());
          },
          [one, list](SchemaBook& book) {
            return Json{{"anyOf", {one.schema(book), list.schema(book)}}};
          }};
}

/// A list of exactly two, such as [pull, recovery].
template <class T, class A, class B>
Form<T> pair_of(A T::*first, Form<A> a, B T::*second, Form<B> b, const std::string& wanted) {
  return {[=](const Value& value, const Place& place, Reader& reader, T& out) {
            if (!require_kind(value, Value::Kind::list, place, reader, wanted)) return;
            if (value.items.size() != 2) {
              reader.complain(Code::type, place,
                              "a list of " + std::to_string(value.items.size()) +
                                  " entries stands here; wanted is " + wanted);
              return;
            }
            a.read(value.items[0], Place(place, std::size_t{0}), reader, out.*first);
            b.read(value.items[1], Place(place, std::size_t{1}), reader, out.*second);
          },
          [=](SchemaBook& book) {
            return Json{{"type", "array"},
                        {"items", Json::array({a.schema(book), b.schema(book)})},
                        {"minItems", 2},
                        {"maxItems", 2}};
          }};
}

/// Visits the members of an object, notes left out.
template <class F>
void each_member(const Value& object, const Place& place, F f) {
  for (std::size_t i = 0; i < object.names.size(); ++i)
    if (object.names[i] != "note") f(object.names[i], object.items[i], Place(place, object.names[i]));
}

/// An object from names to things, in order; `name` takes the name.
template <class T>
Form<std::vector<T>> map_of(Form<T> item, std::function<void(Reader&, const std::string&, T&)> name,
                            const std::string& wanted) {
  return {[=](const Value& value, const Place& place, Reader& reader, std::vector<T>& out) {
            if (!require_kind(value, Value::Kind::object, place, reader, wanted)) return;
            each_member(value, place, [&](const std::string& key, const Value& member, const Place& at) {
              T& one = out.emplace_back();
              if (key.empty()) reader.complain(Code::name, at, "an empty name: give it one");
              name(reader, key, one);
              item.read(member, at, reader, one);
            });
          },
          [=](SchemaBook& book) {
            return Json{{"type", "object"},
                        {"properties", {{"note", Json::object()}}},
                        {"propertyNames", {{"minLength", 1}}},
                        {"additionalProperties", item.schema(book)}};
          }};
}

/// A form that a schema names once and refers to, so that it may hold itself.
template <class T>
Form<T> defined(const std::string& name, Form<T> form) {
  return {form.read, [=](SchemaBook& book) {
            if (!book.definitions.contains(name)) {
              book.definitions[name] = nullptr;  // met again inside itself: only the reference
              book.definitions[name] = form.schema(book);
            }
            return Json{{"$ref", "#/definitions/" + name}};
          }};
}

// ---- Objects ---------------------------------------------------------------------------------

/// The fields of a T, in the order they are read.
template <class T>
class Fields {
 public:
  template <class M, class F>
  Fields& need(const std::string& name, M member, const F& form) {
    return add(name, true, member, form, nullptr);
  }
  template <class M, class F>
  Fields& may(const std::string& name, M member, const F& form) {
    return add(name, false, member, form, nullptr);
  }
  /// A field that stands for this text where it is left out.
  template <class M, class F>
  Fields& may(const std::string& name, M member, const F& form, const std::string& otherwise) {
    const auto token = std::make_shared<char>();  // tells this field from all others
    auto absent = [=](Reader& reader, T& out) {
      auto read_default = [&](auto& into) {
        Value value;
        value.kind = Value::Kind::text;
        value.text = otherwise;
        form.read(value, Place(), reader, into);
      };
      if constexpr (std::same_as<F, Form<Quantity>>) {
        Quantity& known = reader.known_default(token.get());
        if (known.index == 0) read_default(known);
        out.*member = known;
      } else {
        read_default(out.*member);
      }
    };
    return add(name, false, member, form, absent);
  }
  /// Members with other names than the fields': each read by its name into an entry of a vector.
  template <class V>
  Fields& others(std::vector<V> T::*member, const Form<V>& form,
                 std::function<void(Reader&, const std::string&, V&)> name) {
    other_ = [=](const std::string& key, const Value& value, const Place& at, Reader& reader, T& out) {
      V& one = (out.*member).emplace_back();
      name(reader, key, one);
      form.read(value, at, reader, one);
    };
    other_schema_ = form.schema;
    return *this;
  }
  /// A field that has an effect on the reading instead of a place in the T.
  template <class V>
  Fields& effect(const std::string& name, const Form<V>& form, std::function<void(Reader&, const V&)> apply) {
    auto read = [=](const Value& value, const Place& place, Reader& reader, T&) {
      V read_value;
      form.read(value, place, reader, read_value);
      apply(reader, read_value);
    };
    fields_.push_back({name, false, read, nullptr, form.schema});
    return *this;
  }
  /// What no single field can say; run after the fields, on the object as read.
  Fields& check(Shared<void(const Value&, const Place&, Reader&, T&)> check) {
    checks_.push_back(std::move(check));
    return *this;
  }
  /// Exactly one of these fields stands.
  Fields& one_of(std::vector<std::string> names) {
    Json ways = Json::array();
    for (const std::string& name : names) ways.push_back({{"required", {name}}});
    constraints_.push_back({{"oneOf", ways}});
    return check([names](const Value& value, const Place& place, Reader& reader, T&) {
      std::string list, found;
      int count = 0;
      for (const std::string& name : names) {
        list += (list.empty() ? "" : ", ") + name;
        if (value.find(name) == nullptr) continue;
        found += (count++ == 0 ? "" : " and ") + name;
      }
      if (count == 0) reader.complain(Code::missing_field, place, "one of " + list + " is wanted here");
      if (count > 1) reader.complain(Code::conflict, place, found + " exclude each other: keep one of them");
    });
  }
  /// These two fields never stand together.
  Fields& not_both(const std::string& a, const std::string& b) {
    constraints_.push_back({{"not", {{"required", {a, b}}}}});
    return check([=](const Value& value, const Place& place, Reader& reader, T&) {
      if (value.find(a) != nullptr && value.find(b) != nullptr)
        reader.complain(Code::conflict, place, a + " and " + b + " exclude each other: keep one of them");
    });
  }

  Form<T> form(const std::string& wanted = "an object") const {
    const auto self = std::make_shared<const Fields>(*this);
    return {[self, wanted](const Value& value, const Place& place, Reader& reader, T& out) {
              if (require_kind(value, Value::Kind::object, place, reader, wanted))
                self->read(value, place, reader, out);
            },
            [self](SchemaBook& book) { return self->schema(book); }};
  }

  std::vector<std::string> names() const {
    std::vector<std::string> names;
    for (const Field& field : fields_) names.push_back(field.name);
    return names;
  }

  void read(const Value& value, const Place& place, Reader& reader, T& out) const {
    for (const Field& field : fields_) {
      if (const Value* member = value.find(field.name)) {
        field.read(*member, Place(place, field.name), reader, out);
      } else if (field.required) {
        reader.complain(Code::missing_field, place, "the field " + field.name + " is missing");
      } else if (field.absent) {
        field.absent(reader, out);
      }
    }
    each_member(value, place, [&](const std::string& key, const Value& member, const Place& at) {
      for (const Field& field : fields_)
        if (field.name == key) return;
      if (other_) other_(key, member, at, reader, out);
      else
        reader.complain(Code::unknown_field, at,
                        "there is no field " + key + " here" + nearest_text(key, names()));
    });
    for (const auto& check : checks_) check(value, place, reader, out);
  }

  Json schema(SchemaBook& book) const {
    Json properties{{"note", Json::object()}};
    Json required = Json::array();
    for (const Field& field : fields_) {
      properties[field.name] = field.schema(book);
      if (field.required) required.push_back(field.name);
    }
    Json made{{"type", "object"}, {"properties", properties}};
    if (!required.empty()) made["required"] = required;
    made["additionalProperties"] = other_schema_ ? other_schema_(book) : Json(false);
    if (!constraints_.empty()) made["allOf"] = constraints_;
    return made;
  }

 private:
  struct Field {
    std::string name;
    bool required;
    Shared<void(const Value&, const Place&, Reader&, T&)> read;
    Shared<void(Reader&, T&)> absent;
    Shared<Json(SchemaBook&)> schema;
  };

  template <class M, class F>
  Fields& add(const std::string& name, bool required, M member, const F& form,
              Shared<void(Reader&, T&)> absent) {
    auto read = [=](const Value& value, const Place& place, Reader& reader, T& out) {
      read_into(form, value, place, reader, out.*member);
    };
    fields_.push_back({name, required, read, std::move(absent), form.schema});
    return *this;
  }
  template <class M>
  static void read_into(const Form<M>& form, const Value& value, const Place& place, Reader& reader, M& out) {
    form.read(value, place, reader, out);
  }
  template <class M>
  static void read_into(const Form<M>& form, const Value& value, const Place& place, Reader& reader,
                        std::optional<M>& out) {
    form.read(value, place, reader, out.emplace());
  }

  std::vector<Field> fields_;
  Shared<void(const std::string&, const Value&, const Place&, Reader&, T&)> other_;
  Shared<Json(SchemaBook&)> other_schema_;
  std::vector<Shared<void(const Value&, const Place&, Reader&, T&)>> checks_;
  Json constraints_ = Json::array();
};

// ---- Quantities ------------------------------------------------------------------------------

/// A quantity of one of these dimensions: a text, or an object for an uncertain one.
Form<Quantity> quantity(Dimensions dimensions, Allowed allowed = Allowed::not_negative,
                        Companion companion = Companion::none);

/// The mass factors a contract or a lot has fixed; they hold for what is read after them.
struct StatedFactors {
  std::optional<Decimal> grams_per_ounce, pounds_per_tonne, short_tons_per_tonne;
};
Form<StatedFactors> factors_form();
MassFactors fixed_factors(const MassFactors& outer, const StatedFactors& stated);

/// What stands in a text, but for the spaces at its ends, which mean nothing around a number.
std::string_view without_spaces(std::string_view text);

/// A plain decimal number in a text.
Form<Decimal> plain_number(Allowed allowed);

}  // namespace buttonworth
