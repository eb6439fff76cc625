// The Lua module buttonworth_core: thin, for buttonworth.lua, which is what programs require.
%module buttonworth_core

%{
#include <cmath>
#include <exception>

#include "caller.hpp"
#include "json_table.hpp"

namespace {

/// Memory that Lua frees, also when an error jumps over its use.
double* scratch(lua_State* L, size_t count) {
  return static_cast<double*>(lua_newuserdatauv(L, (count + 1) * sizeof(double), 0));
}

/// The numbers of a list, or null where something else stands among them.
double* numbers_of(lua_State* L, int list, size_t count) {
  double* numbers = scratch(L, count);
  for (size_t i = 0; i < count; ++i) {
    const bool number = lua_rawgeti(L, list, (lua_Integer)i + 1) == LUA_TNUMBER;
    numbers[i] = lua_tonumber(L, -1);
    lua_pop(L, 1);
    if (!number) return nullptr;
  }
  return numbers;
}

}  // namespace
%}

// The error lies on the stack when the C++ exception is gone; only then does Lua jump.
%exception {
  try { $action }
  catch (const caller::Failure& failure) { push_failure(L, failure); SWIG_fail; }
  catch (const std::exception& fault) { lua_pushstring(L, fault.what()); SWIG_fail; }
}

%typemap(in, checkfn="lua_isstring") (const char* TEXT, size_t SIZE) {
  $1 = (char*)lua_tolstring(L, $input, &$2);
}

// A limit is a whole number; buttonworth.lua has seen to that.
%typemap(in, checkfn="lua_isinteger") int64_t { $1 = lua_tointeger(L, $input); }
%typemap(out) int64_t { lua_pushinteger(L, $1); SWIG_arg++; }

%typemap(in, checkfn="lua_istable") (const double* values, int64_t stride, size_t count) {
  $2 = 1;
  $3 = lua_rawlen(L, $input);
  $1 = numbers_of(L, $input, $3);
  if ($1 == nullptr) SWIG_fail_arg("$symname", $argnum, "a list of numbers");
}
// How many results there will be.
%typemap(in, checkfn="lua_isinteger") (double* out, int64_t out_stride, size_t out_count) {
  $2 = 1;
  $3 = (size_t)lua_tointeger(L, $input);
  $1 = scratch(L, $3);
}
%typemap(argout) (double* out, int64_t out_stride, size_t out_count) {
  lua_createtable(L, (int)$3, 0);
  for (size_t i = 0; i < $3; ++i) {
    lua_pushnumber(L, $1[i]);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
  SWIG_arg++;
}

%typemap(out) std::vector<double> {
  const std::vector<double>& numbers = $1;
  lua_createtable(L, (int)numbers.size(), 0);
  for (size_t i = 0; i < numbers.size(); ++i) {
    lua_pushnumber(L, numbers[i]);
    lua_rawseti(L, -2, (lua_Integer)i + 1);
  }
  SWIG_arg++;
}

%typemap(check) SWIGTYPE* self {
  if ($1 == nullptr) SWIG_fail_arg("$symname", $argnum, "a handle");
}

%native(decode) int decode_json(lua_State* L);
%native(formula) int formula(lua_State* L);

%include <std_string.i>
%include "common.i"
