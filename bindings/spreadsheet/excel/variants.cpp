#include "variants.hpp"

#include <cmath>
#include <memory>
#include <new>

#include "wide.hpp"

namespace cells {
namespace {

// ---- Errors ----------------------------------------------------------------------------------------------

constexpr struct {
  Fault fault;
  SCODE code;
} errors[] = {{Fault::argument, error_code(2015)},     // #VALUE!
              {Fault::no_solution, error_code(2036)},  // #NUM!
              {Fault::missing, error_code(2042)},      // #N/A
              {Fault::internal, error_code(2000)}};    // #NULL!, which no other formula of ours can show

/// An argument left out, as VBA passes it or as CVErr writes it.
bool is_missing(const VARIANT& value) {
  return value.vt == VT_ERROR && (value.scode == DISP_E_PARAMNOTFOUND || value.scode == error_code(448));
}

std::optional<Fault> fault_of_code(SCODE code) {
  for (const auto& one : errors)
    if (code == one.code) return one.fault;
  return std::nullopt;
}

// ---- Into the cells --------------------------------------------------------------------------------------

/// A Variant that clears itself.
struct Held : VARIANT {
  Held() { VariantInit(this); }
  ~Held() { VariantClear(this); }
  Held(const Held&) = delete;
  Held& operator=(const Held&) = delete;
};

/// What a Variant refers to: arguments of VBA often come by reference.
const VARIANT& referred(const VARIANT& value, Held& held) {
  const VARIANT* one = &value;
  while (one->vt == (VT_VARIANT | VT_BYREF)) one = one->pvarVal;
  if ((one->vt & VT_BYREF) == 0 || (one->vt & VT_ARRAY) != 0) return *one;
  if (FAILED(VariantCopyInd(&held, const_cast<VARIANT*>(one)))) held.vt = VT_NULL;
  return held;
}

Cell number_of(const VARIANT& value) {
  Held number;
  if (FAILED(VariantChangeTypeEx(&number, const_cast<VARIANT*>(&value), LOCALE_INVARIANT, 0, VT_R8)))
    return Fault::argument;
  return number.dblVal;
}

Cell cell_of(const VARIANT& given) {
  Held held;
  const VARIANT& value = referred(given, held);
  switch (value.vt) {
    case VT_R8: return value.dblVal;
    case VT_EMPTY: return {};
    case VT_BSTR: {
      std::string text = text_of(value.bstrVal);
      return text.empty() ? Cell() : Cell(std::move(text));
    }
    case VT_BOOL: return std::string(value.boolVal != VARIANT_FALSE ? "true" : "false");
    case VT_ERROR:
      return is_missing(value) ? Cell() : Cell(fault_of_code(value.scode).value_or(Fault::argument));
    case VT_R4:
    case VT_CY:
    case VT_DATE:
    case VT_DECIMAL:
    case VT_I1:
    case VT_I2:
    case VT_I4:
    case VT_I8:
    case VT_INT:
    case VT_UI1:
    case VT_UI2:
    case VT_UI4:
    case VT_UI8:
    case VT_UINT: return number_of(value);
    default: return Fault::argument;  // an object, Null, and what else no cell holds
  }
}

SAFEARRAY* array_of(const VARIANT& value) {
  return (value.vt & VT_ARRAY) == 0 ? nullptr : (value.vt & VT_BYREF) != 0 ? *value.pparray : value.parray;
}

/// Keeps an array's elements in place while they are read or written.
class Access {
 public:
  explicit Access(SAFEARRAY* array) : array_(array) {
    if (FAILED(SafeArrayAccessData(array, &data_))) throw std::bad_alloc();
  }
  ~Access() { SafeArrayUnaccessData(array_); }
  Access(const Access&) = delete;
  Access& operator=(const Access&) = delete;

  template <class Element>
  Element* as() const {
    return static_cast<Element*>(data_);
  }
  /// An element as a Variant that borrows it.
  VARIANT element(std::size_t i, VARTYPE type, std::size_t size) const {
    VARIANT one;
    VariantInit(&one);
    if (type == VT_VARIANT) return as<VARIANT>()[i];
    one.vt = static_cast<VARTYPE>(type | VT_BYREF);
    one.byref = static_cast<char*>(data_) + i * size;
    return one;
  }

 private:
  SAFEARRAY* array_;
  void* data_ = nullptr;
};

/// The array's elements, which lie column after column. One dimension is a row.
Cells range_of(SAFEARRAY* array) {
  const UINT dimensions = array != nullptr ? SafeArrayGetDim(array) : 0;
  VARTYPE type = VT_EMPTY;
  if (dimensions < 1 || dimensions > 2 || FAILED(SafeArrayGetVartype(array, &type)))
    return Cells(Fault::argument);
  const std::size_t columns = array->rgsabound[0].cElements;  // the last dimension stands first
  const std::size_t rows = dimensions == 2 ? array->rgsabound[1].cElements : 1;
  if (rows == 0 || columns == 0) return Cells(Fault::missing);
  const Access access(array);
  Cells range(rows, columns);
  for (std::size_t column = 0; column < columns; ++column)
    for (std::size_t row = 0; row < rows; ++row)
      range.at(row, column) = cell_of(access.element(column * rows + row, type, SafeArrayGetElemsize(array)));
  return range;
}

// ---- Out of them -----------------------------------------------------------------------------------------

/// An empty cell of a result is an empty text: Excel shows 0 for a Variant that is Empty.
void put_cell(VARIANT& out, const Cell& cell) {
  if (const Fault* fault = std::get_if<Fault>(&cell)) return put_fault(out, *fault);
  const std::string* text = std::get_if<std::string>(&cell);
  const double* number = std::get_if<double>(&cell);
  if (number == nullptr) return put_text(out, text != nullptr ? *text : std::string_view());
  if (!std::isfinite(*number)) return put_fault(out, Fault::no_solution);
  out.vt = VT_R8;
  out.dblVal = *number;
}

struct DestroyArray {
  void operator()(SAFEARRAY* array) const { SafeArrayDestroy(array); }
};

}  // namespace

std::string text_of(BSTR text) { return utf8(std::wstring_view(text, SysStringLen(text))); }

std::optional<std::vector<VARIANT>> elements(const VARIANT& arguments) {
  Held held;
  SAFEARRAY* array = array_of(referred(arguments, held));
  VARTYPE type = VT_EMPTY;
  if (array == nullptr || SafeArrayGetDim(array) != 1 || FAILED(SafeArrayGetVartype(array, &type)))
    return std::nullopt;
  const Access access(array);
  std::vector<VARIANT> all;
  for (std::size_t i = 0; i < array->rgsabound[0].cElements; ++i)
    all.push_back(access.element(i, type, SafeArrayGetElemsize(array)));
  return all;
}

Cells cells_of(const VARIANT& argument) {
  Held held;
  const VARIANT& value = referred(argument, held);
  if (is_missing(value)) return {};
  if ((value.vt & VT_ARRAY) != 0) return range_of(array_of(value));
  return Cells(cell_of(value));
}

std::optional<SCODE> foreign_error(const VARIANT& argument) {
  Held held;
  const VARIANT& value = referred(argument, held);
  if (value.vt != VT_ERROR || is_missing(value) || fault_of_code(value.scode)) return std::nullopt;
  return value.scode;
}

void put_error(VARIANT& out, SCODE code) {
  out.vt = VT_ERROR;
  out.scode = code;
}

void put_text(VARIANT& out, std::string_view text) {
  const std::wstring wide = utf16<wchar_t>(text);
  BSTR made = SysAllocStringLen(wide.data(), static_cast<UINT>(wide.size()));
  if (made == nullptr) throw std::bad_alloc();
  out.vt = VT_BSTR;
  out.bstrVal = made;
}

void put_fault(VARIANT& out, Fault fault) {
  for (const auto& one : errors)
    if (one.fault == fault) put_error(out, one.code);
}

void put_cells(VARIANT& out, const Cells& shown) {
  if (shown.is_one()) return put_cell(out, shown.at(0, 0));
  SAFEARRAYBOUND bounds[] = {{static_cast<ULONG>(shown.rows), 1}, {static_cast<ULONG>(shown.columns), 1}};
  std::unique_ptr<SAFEARRAY, DestroyArray> array(SafeArrayCreate(VT_VARIANT, 2, bounds));
  if (array == nullptr) throw std::bad_alloc();
  {
    const Access access(array.get());
    for (std::size_t column = 0; column < shown.columns; ++column)
      for (std::size_t row = 0; row < shown.rows; ++row)
        put_cell(access.as<VARIANT>()[column * shown.rows + row], shown.at(row, column));
  }
  out.vt = VT_ARRAY | VT_VARIANT;
  out.parray = array.release();
}

}  // namespace cells
