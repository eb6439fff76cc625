// Excel's values to the cells' and back.
#pragma once

#include <windows.h>

#include <oleauto.h>

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cells.hpp"

namespace cells {

/// UTF-8 of a text that StrPtr gave.
std::string text_of(BSTR text);

/// The arguments of an array of Variants, one by one; nothing if it is no such array.
std::optional<std::vector<VARIANT>> elements(const VARIANT& arguments);

/// An argument: left out where it is missing. A text, a number, and an array of up to two dimensions of
/// these; TRUE is the text true, as documents have it.
Cells cells_of(const VARIANT& argument);

/// The code of CVErr's number, such as 2029, xlErrName.
constexpr SCODE error_code(unsigned long number) { return static_cast<SCODE>(0x800A0000UL + number); }

/// An error value that has no match among the cells' faults, such as #DIV/0!: Excel's own functions hand it
/// on.
std::optional<SCODE> foreign_error(const VARIANT& argument);

void put_error(VARIANT& out, SCODE code);
void put_text(VARIANT& out, std::string_view text);
void put_fault(VARIANT& out, Fault fault);
/// A single value, or an array in rows and columns.
void put_cells(VARIANT& out, const Cells& shown);

}  // namespace cells
