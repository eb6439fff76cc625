// Documents, errors and single figures as Python has them.
#pragma once

#define PY_SSIZE_T_CLEAN
#include <Python.h>

#include <string>

#include "caller.hpp"

/// An error of Python that is raised already; whoever catches it returns NULL.
struct Raised {};

/// Raises the error that buttonworth.errors makes of a failure. Texts may quote what is not UTF-8.
void raise_failure(const caller::Failure& failure);

/// The value of an answer's text: dicts in the text's order, lists, str, int, float, True, False, None.
PyObject* decode_answer(const char* text, std::size_t size);

/// The JSON text of a value, as bytes. Throws a Failure that says where what has no place in a document
/// stands; pointer is where the value itself does.
PyObject* encode_value(PyObject* value, const char* pointer, std::size_t pointer_size);

/// Adds formula(name, *arguments) to the module: one figure, with as little on the way as may be.
int add_formula(PyObject* module);
