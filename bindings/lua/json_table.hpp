// JSON, errors and single figures as Lua has them.
#pragma once

#include <lua.hpp>

#include "caller.hpp"

/// decode(text, in_order, list_type): the table of a JSON text. A JSON null is the light userdata of
/// address 0. A table made of an object gets a metatable that holds its names in their order and
/// in_order as its __pairs; one made of a list gets list_type as its metatable.
int decode_json(lua_State* L);

/// formula(name, ...): one figure, with as little on the way as may be.
int formula(lua_State* L);

/// Pushes the error that a failure raises: a table with class, code, status, pointer, text, errors.
void push_failure(lua_State* L, const caller::Failure& failure);
