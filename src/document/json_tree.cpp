#include "document/json_tree.hpp"

#include <algorithm>
#include <cassert>

#include "document/json_text.hpp"

namespace buttonworth {

Json::Json(std::initializer_list<Json> parts) : kind_(Kind::list) {
  if (!std::all_of(parts.begin(), parts.end(), [](const Json& part) { return part.is_member(); })) {
    items_ = parts;
    return;
  }
  kind_ = Kind::object;
  for (const Json& part : parts) (*this)[part.items_[0].text_] = part.items_[1];
}

Json Json::array(std::initializer_list<Json> parts) {
  Json list(Kind::list);
  list.items_ = parts;
  return list;
}

std::size_t Json::find(std::string_view name) const {
  return static_cast<std::size_t>(std::find(names_.begin(), names_.end(), name) - names_.begin());
}

Json& Json::operator[](std::string_view name) {
  assert(kind_ == Kind::object || kind_ == Kind::null);
  kind_ = Kind::object;
  const std::size_t at = find(name);
  if (at < names_.size()) return items_[at];
  items_.reserve(items_.size() + 1);  // so that a name never stands without its value
  names_.emplace_back(name);
  return items_.emplace_back();
}

const Json& Json::operator[](std::string_view name) const {
  const std::size_t at = find(name);
  assert(at < names_.size());
  return items_[at];
}

void Json::erase(std::string_view name) {
  const std::size_t at = find(name);
  if (at == names_.size()) return;
  names_.erase(names_.begin() + static_cast<std::ptrdiff_t>(at));
  items_.erase(items_.begin() + static_cast<std::ptrdiff_t>(at));
}

void Json::update(const Json& other) {
  for (std::size_t i = 0; i < other.names_.size(); ++i) (*this)[other.names_[i]] = other.items_[i];
}

void Json::push_back(Json value) {
  assert(kind_ == Kind::list || kind_ == Kind::null);
  kind_ = Kind::list;
  items_.push_back(std::move(value));
}

void Json::write(JsonText& out) const {
  if (kind_ == Kind::null) out.null();
  if (kind_ == Kind::bare) out.bare(text_);
  if (kind_ == Kind::text) out.string(text_);
  if (kind_ != Kind::list && kind_ != Kind::object) return;
  out.open(kind_ == Kind::list ? '[' : '{');
  for (std::size_t i = 0; i < items_.size(); ++i) {
    if (kind_ == Kind::object) out.key(names_[i]);
    items_[i].write(out);
  }
  out.close(kind_ == Kind::list ? ']' : '}');
}

std::string Json::dump() const {
  JsonText out;
  write(out);
  return out.take();
}

}  // namespace buttonworth
