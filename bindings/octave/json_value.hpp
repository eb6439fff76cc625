// JSON text and values of Octave, and the error of a failure. An object is a scalar struct with its fields
// in their order, a list a cell row, a number a double, null an empty matrix: so that every document comes
// back as it went, which jsondecode, making matrices and arrays of structs of lists, does not promise.
#pragma once

#include <octave/oct.h>
#include <octave/ov-struct.h>

#include <string>

#include "caller.hpp"

/// The value of a JSON text; a Failure otherwise.
octave_value decode_json(const char* json, std::size_t size);

/// The JSON text of a value that stands at a pointer; a Failure names the place of what no document can hold.
std::string encode_json(const octave_value& value, const char* pointer, std::size_t size);

/// Throws Octave's error for a failure: the identifier is "buttonworth:" and the code, blanks being "_".
[[noreturn]] void raise_failure(const caller::Failure& failure);

/// The failure that was raised last: a struct with the fields of the first of its errors, but the text of the
/// whole, and the errors; an empty matrix before the first.
octave_value last_failure();
