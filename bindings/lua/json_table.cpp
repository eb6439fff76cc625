#include "json_table.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <string_view>

namespace {

using Json = nlohmann::json;

/// Builds tables on Lua's stack while the text is read. What is being built lies there: for an object
/// the table, the list of its names and, while its value is read, a name; for a list the table.
class TableBuilder : public nlohmann::json_sax<Json> {
 public:
  /// in_order and list_type: places on the stack, 0 for none.
  TableBuilder(lua_State* L, int in_order, int list_type)
      : L_(L), in_order_(in_order), list_type_(list_type) {}

  const std::string& fault() const { return fault_; }

  bool null() override {
    lua_pushlightuserdata(L_, nullptr);
    return put();
  }
  bool boolean(bool value) override {
    lua_pushboolean(L_, value ? 1 : 0);
    return put();
  }
  bool number_integer(Json::number_integer_t value) override {
    lua_pushinteger(L_, value);
    return put();
  }
  bool number_unsigned(Json::number_unsigned_t value) override {
    if (value <= static_cast<Json::number_unsigned_t>(LUA_MAXINTEGER))
      lua_pushinteger(L_, static_cast<lua_Integer>(value));
    else lua_pushnumber(L_, static_cast<lua_Number>(value));
    return put();
  }
  bool number_float(Json::number_float_t value, const std::string&) override {
    lua_pushnumber(L_, value);
    return put();
  }
  bool string(std::string& value) override {
    lua_pushlstring(L_, value.data(), value.size());
    return put();
  }
  bool binary(Json::binary_t&) override { return give_up("a JSON text holds no bytes"); }

  bool start_object(std::size_t) override {
    if (!enter(true)) return false;
    lua_newtable(L_);
    lua_newtable(L_);
    return true;
  }
  bool key(std::string& name) override {
    lua_pushlstring(L_, name.data(), name.size());
    lua_pushvalue(L_, -1);
    if (lua_rawget(L_, -4) != LUA_TNIL)
      return give_up("the name \"" + name + "\" stands twice in one object");
    lua_pop(L_, 1);
    lua_pushvalue(L_, -1);
    lua_rawseti(L_, -3, ++open_.back().count);
    return true;
  }
  bool end_object() override {
    open_.pop_back();
    finish_object();
    return put();
  }

  bool start_array(std::size_t) override {
    if (!enter(false)) return false;
    lua_newtable(L_);
    return true;
  }
  bool end_array() override {
    open_.pop_back();
    if (list_type_ != 0) {
      lua_pushvalue(L_, list_type_);
      lua_setmetatable(L_, -2);
    }
    return put();
  }

  bool parse_error(std::size_t position, const std::string&, const nlohmann::detail::exception&) override {
    return give_up("this is not JSON, from byte " + std::to_string(position) + " on");
  }

 private:
  struct Open {
    bool object;
    lua_Integer count;
  };
  static constexpr std::size_t deepest = 512;  // the most that a context's limit can be set to

  bool enter(bool object) {
    if (open_.size() == deepest || lua_checkstack(L_, 8) == 0)
      return give_up("the document is nested too deeply");
    open_.push_back({object, 0});
    return true;
  }

  /// Puts the value on top of the stack where it belongs; the outermost one stays.
  bool put() {
    if (open_.empty()) return true;
    if (open_.back().object) lua_rawset(L_, -4);
    else lua_rawseti(L_, -2, ++open_.back().count);
    return true;
  }

  /// Takes the list of names off the stack; it becomes the object's metatable.
  void finish_object() {
    if (in_order_ == 0) {
      lua_pop(L_, 1);
      return;
    }
    lua_pushvalue(L_, in_order_);
    lua_setfield(L_, -2, "__pairs");
    lua_setmetatable(L_, -2);
  }

  bool give_up(std::string fault) {
    fault_ = std::move(fault);
    return false;
  }

  lua_State* L_;
  int in_order_;
  int list_type_;
  std::vector<Open> open_;
  std::string fault_;
};

/// Pushes the table of a text; what is wrong with the text otherwise.
std::string push_table(lua_State* L, std::string_view text, int in_order, int list_type) {
  // The parser would take it for the end.
  if (text.find('\0') != text.npos) return "a zero byte stands in the text; take it out";
  TableBuilder builder(L, in_order, list_type);
  Json::sax_parse(text, &builder);
  return builder.fault();
}

/// tostring(error): its text.
int error_to_text(lua_State* L) {
  lua_getfield(L, 1, "text");
  return 1;
}

void set_error_type(lua_State* L) {
  if (luaL_newmetatable(L, "buttonworth.error") != 0) {
    lua_pushcfunction(L, error_to_text);
    lua_setfield(L, -2, "__tostring");
  }
  lua_setmetatable(L, -2);
}

/// What a value is, as errors name it.
std::string kind_of(lua_State* L, int place) {
  return lua_islightuserdata(L, place) ? "null" : luaL_typename(L, place);
}

double figure_of_stack(lua_State* L) {
  std::array<double, 16> arguments{};  // more than any formula takes
  const auto count =
      std::min<std::size_t>(static_cast<std::size_t>(std::max(lua_gettop(L) - 1, 0)), arguments.size());
  for (std::size_t i = 0; i < count; ++i) {
    const int place = static_cast<int>(i) + 2;
    if (lua_type(L, place) != LUA_TNUMBER)
      caller::fail(BW_USAGE_TYPE,
                   "argument " + std::to_string(i + 1) + " is a number, not " + kind_of(L, place));
    arguments[i] = lua_tonumber(L, place);
  }
  if (lua_type(L, 1) != LUA_TSTRING)
    caller::fail(BW_USAGE_TYPE,
                 "a formula's name is a string, not " + (lua_isnone(L, 1) ? "nil" : kind_of(L, 1)));
  std::size_t size = 0;
  const char* name = lua_tolstring(L, 1, &size);
  return caller::figure({name, size}, arguments.data(), count);
}

/// formula without the jump that an error is: pushes the figure or the error; whether it went well.
bool figured(lua_State* L) {
  try {
    lua_pushnumber(L, figure_of_stack(L));
    return true;
  } catch (const caller::Failure& failure) {
    push_failure(L, failure);
  } catch (const std::exception& fault) {
    lua_pushstring(L, fault.what());
  }
  return false;
}

/// decode without the jump that an error is: pushes the table or the error; whether it went well.
bool decoded(lua_State* L, std::string_view text) {
  const int top = lua_gettop(L);
  try {
    const std::string fault = push_table(L, text, 2, 3);
    if (fault.empty()) return true;
    lua_settop(L, top);
    caller::fail(BW_DOCUMENT_JSON, fault);
  } catch (const caller::Failure& failure) {
    push_failure(L, failure);
  } catch (const std::exception& fault) {
    lua_pushstring(L, fault.what());
  }
  return false;
}

}  // namespace

int decode_json(lua_State* L) {
  std::size_t size = 0;
  const char* text = luaL_checklstring(L, 1, &size);
  lua_settop(L, 3);
  return decoded(L, {text, size}) ? 1 : lua_error(L);
}

int formula(lua_State* L) { return figured(L) ? 1 : lua_error(L); }

void push_failure(lua_State* L, const caller::Failure& failure) {
  luaL_checkstack(L, 16, nullptr);
  lua_newtable(L);
  push_table(L, failure.list, 0, 0);
  lua_rawgeti(L, -1, 1);
  for (const char* field : {"class", "code", "status", "pointer"}) {
    lua_getfield(L, -1, field);
    lua_setfield(L, -4, field);
  }
  lua_pop(L, 1);
  lua_setfield(L, -2, "errors");
  lua_pushlstring(L, failure.text.data(), failure.text.size());
  lua_setfield(L, -2, "text");
  set_error_type(L);
}
