// What the module of VBA calls: the functions of the cells, and the C interface for programs.
//
// Texts go in as StrPtr gives them, a String's UTF-16 or 0 for none, and come out in Variants, which are
// cleared first. Handles are LongPtr: numbers that are checked, so that a wrong one is told and never
// followed. Statuses are those of buttonworth.h, 0 for a success. One thread at a time uses a session. No
// exception leaves an entry; the host's rounding, precision and masks of exceptions are put aside within and
// back afterwards.
#pragma once

#include <windows.h>

#include <oaidl.h>

#include <cstdint>

extern "C" {

/// What a cell shows: `name` is the function's, such as BW_MOISTURE; `arguments` an array of Variants, each a
/// value, a range's values as an array, or missing. `result` is a number, a text, a CVErr, or an array of
/// these in rows and columns from 1 on.
void buttonworth_cells_evaluate(BSTR name, const VARIANT* arguments, VARIANT* result) noexcept;

/// Opens a session, which keeps the last error; 0 if there is no memory.
std::intptr_t buttonworth_open() noexcept;
/// Closes it. Errors: BW_USAGE_OVER (no such session is open).
std::int32_t buttonworth_close(std::intptr_t session) noexcept;

/// The answer, JSON text, to a request, JSON text. `call` is the C function's name without its prefix:
/// compare, simulate, worth, break_even, counter_offers, forgiving_cut, sensitivity, map (of a plan, under
/// options), settle, reconcile, book, dispute, metal_call, bench, convert (of a request that takes no
/// options). Errors: BW_USAGE_OVER, BW_USAGE_NAME (no such call), BW_USAGE_OPTIONS, and those of the call.
std::int32_t buttonworth_ask(std::intptr_t session, BSTR call, BSTR request, BSTR options,
                             VARIANT* answer) noexcept;

/// One figure of plain numbers, as bw_formula works it out; `arguments` is an array of numbers.
/// Errors: BW_USAGE_OVER, BW_USAGE_TYPE (not numbers), and those of bw_formula; the result is then a NaN.
std::int32_t buttonworth_formula(std::intptr_t session, BSTR name, const VARIANT* arguments,
                                 double* result) noexcept;

/// The last error of a session in one line, and all that was wrong as a JSON list, as bw_error_list has it.
/// Errors: BW_USAGE_OVER, with texts that say so.
std::int32_t buttonworth_last_error(std::intptr_t session, VARIANT* text, VARIANT* list) noexcept;

/// The library's version, and the file it was loaded from.
void buttonworth_version_and_path(VARIANT* version, VARIANT* path) noexcept;
}
