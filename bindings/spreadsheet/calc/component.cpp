// The functions of the cells as a component of LibreOffice: Calc's values to Cells and back.
#include <com/sun/star/lang/XServiceInfo.hpp>
#include <com/sun/star/uno/XComponentContext.hpp>
#include <cppuhelper/implbase2.hxx>
#include <cppuhelper/supportsservice.hxx>

#include <buttonworth/XCells.hpp>
#include <cstdint>
#include <cstring>

#include "cells.hpp"

namespace css = com::sun::star;
using cells::Cell;
using cells::Cells;
using css::uno::Any;
using css::uno::Sequence;

namespace {

// ---- Into the cells --------------------------------------------------------------------------------------

std::string utf8(const rtl::OUString& text) {
  const rtl::OString bytes = rtl::OUStringToOString(text, RTL_TEXTENCODING_UTF8);
  return {bytes.getStr(), static_cast<std::size_t>(bytes.getLength())};
}

Cell cell_of(const Any& value) {
  if (double number = 0; value >>= number) return number;
  if (rtl::OUString text; value >>= text) return text.isEmpty() ? Cell() : Cell(utf8(text));
  if (bool yes = false; value >>= yes) return yes ? 1.0 : 0.0;
  return Cell();
}

Cells range_of(const Sequence<Sequence<Any>>& rows) {
  Cells range(static_cast<std::size_t>(rows.getLength()),
              rows.hasElements() ? static_cast<std::size_t>(rows[0].getLength()) : 0);
  std::size_t at = 0;
  for (sal_Int32 row = 0; row < rows.getLength(); ++row) {
    const Any* values = rows[row].getConstArray();
    for (std::size_t column = 0; column < range.columns; ++column)
      range.values[at++] = cell_of(values[column]);
  }
  return range;
}

/// An argument that was left out comes as an empty value.
Cells cells_of(const Any& value) {
  if (!value.hasValue()) return {};
  if (Sequence<Sequence<Any>> rows; value >>= rows) return range_of(rows);
  return Cells(cell_of(value));
}

// ---- Out of them -----------------------------------------------------------------------------------------

/// Calc's numbers of errors.
std::uint32_t error_number(cells::Fault fault) {
  switch (fault) {
    case cells::Fault::argument: return 502;     // Err:502
    case cells::Fault::no_solution: return 523;  // Err:523
    case cells::Fault::missing: return 0x7fff;   // #N/A
    case cells::Fault::internal: break;
  }
  return 519;  // #VALUE!
}

/// An error as Calc itself keeps it in a number: a quiet NaN with the error's number in its lower half. An
/// exception would say the same of a single cell, three times as slow, and nothing of one cell of an array.
double error_value(cells::Fault fault) {
  const std::uint64_t bits = (std::uint64_t{0x7ff80000} << 32) | error_number(fault);
  double value = 0;
  std::memcpy(&value, &bits, sizeof value);
  return value;
}

Any any_of(const Cell& cell) {
  if (const double* number = std::get_if<double>(&cell)) return Any(*number);
  if (const std::string* text = std::get_if<std::string>(&cell))
    return Any(rtl::OUString(text->data(), static_cast<sal_Int32>(text->size()), RTL_TEXTENCODING_UTF8));
  if (const cells::Fault* fault = std::get_if<cells::Fault>(&cell)) return Any(error_value(*fault));
  return Any(rtl::OUString());
}

Any any_of(const Cells& range) {
  if (range.is_one()) return any_of(range.at(0, 0));
  Sequence<Sequence<Any>> rows(static_cast<sal_Int32>(range.rows));
  auto* out = rows.getArray();
  for (std::size_t row = 0; row < range.rows; ++row) {
    out[row].realloc(static_cast<sal_Int32>(range.columns));
    Any* values = out[row].getArray();
    for (std::size_t column = 0; column < range.columns; ++column)
      values[column] = any_of(range.at(row, column));
  }
  return Any(rows);
}

// ---- The component ---------------------------------------------------------------------------------------

class Component : public cppu::WeakImplHelper2<buttonworth::XCells, css::lang::XServiceInfo> {
 public:
#include "methods.inc"

  rtl::OUString SAL_CALL getImplementationName() override { return "buttonworth.CellsImplementation"; }
  sal_Bool SAL_CALL supportsService(const rtl::OUString& name) override {
    return cppu::supportsService(this, name);
  }
  Sequence<rtl::OUString> SAL_CALL getSupportedServiceNames() override {
    const rtl::OUString name("buttonworth.Cells");
    return {&name, 1};
  }

 private:
  using Arguments = std::initializer_list<const Any*>;

  static Any work(std::size_t number, Arguments arguments, const Sequence<Any>* rest = nullptr) {
    const cells::Function& function = cells::functions()[number];
    if (cells::Numbers numbers; function.work == cells::work_formula && take(arguments, numbers)) {
      const auto result = cells::evaluate_numbers(function, numbers);
      const cells::Fault* fault = std::get_if<cells::Fault>(&result);
      return Any(fault != nullptr ? error_value(*fault) : std::get<double>(result));
    }
    std::vector<Cells> taken;
    for (const Any* one : arguments) taken.push_back(cells_of(*one));
    if (rest != nullptr)
      for (const Any& one : *rest) taken.push_back(cells_of(one));
    return any_of(cells::evaluate(function, std::move(taken)));
  }

  /// Whether all arguments are single numbers, or left out.
  static bool take(Arguments arguments, cells::Numbers& numbers) {
    std::size_t k = 0;
    for (const Any* one : arguments) {
      if (one->getValueTypeClass() == css::uno::TypeClass_DOUBLE)
        numbers.put(k, *static_cast<const double*>(one->getValue()));
      else if (one->hasValue()) return false;
      ++k;
    }
    return true;
  }
};

}  // namespace

extern "C" SAL_DLLPUBLIC_EXPORT css::uno::XInterface* buttonworth_Cells_get_implementation(
    css::uno::XComponentContext*, const Sequence<Any>&) {
  return cppu::acquire(new Component);
}
