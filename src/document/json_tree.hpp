// JSON as a tree that is put together in code: what schemas are made of. A parser's tree may allocate while it is
// destroyed; this one does not, so that running out of memory ends no program.
#pragma once

#include <array>
#include <concepts>
#include <cstddef>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace buttonworth {

class JsonText;

class Json {
 public:
  Json() = default;
  Json(std::nullptr_t) {}
  Json(bool value) : kind_(Kind::bare), text_(value ? "true" : "false") {}
  Json(std::integral auto number) : kind_(Kind::bare), text_(std::to_string(number)) {}
  Json(std::string text) : kind_(Kind::text), text_(std::move(text)) {}
  Json(std::string_view text) : Json(std::string(text)) {}
  Json(const char* text) : Json(std::string(text)) {}
  /// A list of these.
  template <class T, std::size_t count>
  Json(const std::array<T, count>& values) : kind_(Kind::list), items_(values.begin(), values.end()) {}
  /// An object where every part is a name and a value, otherwise a list.
  Json(std::initializer_list<Json> parts);

  static Json object() { return Json(Kind::object); }
  static Json array(std::initializer_list<Json> parts = {});

  /// The member of that name; one that is not there yet becomes null.
  Json& operator[](std::string_view name);
  /// The member of that name, which must be there.
  const Json& operator[](std::string_view name) const;
  bool contains(std::string_view name) const { return find(name) != names_.size(); }
  const std::vector<std::string>& names() const { return names_; }
  void erase(std::string_view name);
  /// Takes over all members of another object.
  void update(const Json& other);

  void push_back(Json value);
  bool empty() const { return items_.empty(); }
  std::vector<Json>::const_iterator begin() const { return items_.begin(); }
  std::vector<Json>::const_iterator end() const { return items_.end(); }

  bool is(std::string_view text) const { return kind_ == Kind::text && text_ == text; }
  std::string dump() const;

 private:
  enum class Kind { null, bare, text, list, object };
  explicit Json(Kind kind) : kind_(kind) {}
  bool is_member() const { return kind_ == Kind::list && items_.size() == 2 && items_[0].kind_ == Kind::text; }
  std::size_t find(std::string_view name) const;
  void write(JsonText& out) const;

  Kind kind_ = Kind::null;
  std::string text_;         ///< of a text; of a number and a truth, as written
  std::vector<Json> items_;  ///< of a list; of an object, the values of `names_`
  std::vector<std::string> names_;
};

}  // namespace buttonworth
