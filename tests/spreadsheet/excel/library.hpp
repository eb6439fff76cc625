// buttonworth.dll as VBA has it: loaded by its full path, its functions found by name, texts as BSTR.
#pragma once

#include <windows.h>

#include <oleauto.h>

#include <initializer_list>
#include <stdexcept>
#include <string>
#include <vector>

#include "entries.hpp"
#include "wide.hpp"

namespace excel {

class Library {
 public:
  explicit Library(const std::wstring& path = BUTTONWORTH_DLL) {
    std::wstring full = path;
    for (wchar_t& c : full)
      if (c == L'/') c = L'\\';
    handle = LoadLibraryW(full.c_str());
    if (handle == nullptr) throw std::runtime_error("Windows' error " + std::to_string(GetLastError()));
    find(evaluate, "buttonworth_cells_evaluate");
    find(open, "buttonworth_open");
    find(close, "buttonworth_close");
    find(ask, "buttonworth_ask");
    find(formula, "buttonworth_formula");
    find(last_error, "buttonworth_last_error");
    find(version_and_path, "buttonworth_version_and_path");
  }
  ~Library() { FreeLibrary(handle); }
  Library(const Library&) = delete;
  Library& operator=(const Library&) = delete;

  HMODULE handle = nullptr;
  decltype(&buttonworth_cells_evaluate) evaluate = nullptr;
  decltype(&buttonworth_open) open = nullptr;
  decltype(&buttonworth_close) close = nullptr;
  decltype(&buttonworth_ask) ask = nullptr;
  decltype(&buttonworth_formula) formula = nullptr;
  decltype(&buttonworth_last_error) last_error = nullptr;
  decltype(&buttonworth_version_and_path) version_and_path = nullptr;

 private:
  template <class Function>
  void find(Function& function, const char* name) {
    function = reinterpret_cast<Function>(reinterpret_cast<void*>(GetProcAddress(handle, name)));
    if (function == nullptr) throw std::runtime_error(std::string("no entry ") + name);
  }
};

/// A String of VBA.
class Text {
 public:
  explicit Text(std::wstring_view text)
      : text_(SysAllocStringLen(text.data(), static_cast<UINT>(text.size()))) {}
  explicit Text(std::string_view text) : Text(std::wstring_view(cells::utf16<wchar_t>(text))) {}
  ~Text() { SysFreeString(text_); }
  Text(const Text&) = delete;
  Text& operator=(const Text&) = delete;
  BSTR pointer() const { return text_; }  ///< what StrPtr gives

 private:
  BSTR text_;
};

/// A Variant of VBA.
class Value : public VARIANT {
 public:
  Value() { VariantInit(this); }
  Value(double number) : Value() { vt = VT_R8, dblVal = number; }
  Value(std::string_view text) : Value(std::wstring_view(cells::utf16<wchar_t>(text))) {}
  Value(std::wstring_view text) : Value() {
    vt = VT_BSTR;
    bstrVal = SysAllocStringLen(text.data(), static_cast<UINT>(text.size()));
  }
  Value(const Value& other) : Value() { VariantCopy(this, const_cast<Value*>(&other)); }
  Value(Value&& other) noexcept : VARIANT(other) { VariantInit(&other); }
  Value& operator=(const Value&) = delete;
  ~Value() { VariantClear(this); }

  static Value error(SCODE code) {
    Value made;
    made.vt = VT_ERROR, made.scode = code;
    return made;
  }
  static Value missing() { return error(DISP_E_PARAMNOTFOUND); }

  std::string text() const {
    return vt == VT_BSTR ? cells::utf8(std::wstring_view(bstrVal, SysStringLen(bstrVal))) : "";
  }
  bool is_number() const { return vt == VT_R8; }
  bool is_error(unsigned long number) const {
    return vt == VT_ERROR && scode == static_cast<SCODE>(0x800A0000UL + number);
  }
};

/// What Array(…) of VBA makes.
inline Value list(std::vector<Value> values) {
  Value made;
  made.vt = VT_ARRAY | VT_VARIANT;
  made.parray = SafeArrayCreateVector(VT_VARIANT, 0, static_cast<ULONG>(values.size()));
  for (LONG i = 0; i < static_cast<LONG>(values.size()); ++i)
    SafeArrayPutElement(made.parray, &i, &values[static_cast<std::size_t>(i)]);
  return made;
}

/// What Value2 of a range of several cells gives, row by row.
inline Value range(std::size_t rows, std::size_t columns, const std::vector<Value>& cells) {
  SAFEARRAYBOUND bounds[] = {{static_cast<ULONG>(rows), 1}, {static_cast<ULONG>(columns), 1}};
  Value made;
  made.vt = VT_ARRAY | VT_VARIANT;
  made.parray = SafeArrayCreate(VT_VARIANT, 2, bounds);
  for (std::size_t i = 0; i < cells.size(); ++i) {
    LONG at[] = {static_cast<LONG>(i / columns) + 1, static_cast<LONG>(i % columns) + 1};
    SafeArrayPutElement(made.parray, at, const_cast<Value*>(&cells[i]));
  }
  return made;
}

/// The cell of a result, from 1 on.
inline Value cell(const Value& result, LONG row, LONG column) {
  Value found;
  LONG at[] = {row, column};
  if (result.vt == (VT_ARRAY | VT_VARIANT)) SafeArrayGetElement(result.parray, at, &found);
  else if (row == 1 && column == 1) return result;
  return found;
}

/// What a cell with a function shows.
inline Value shown(const Library& library, std::string_view function, std::vector<Value> arguments) {
  Value result;
  const Value given = list(std::move(arguments));
  library.evaluate(Text(function).pointer(), &given, &result);
  return result;
}

}  // namespace excel
