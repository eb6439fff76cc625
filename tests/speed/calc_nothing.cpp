// The component of calc_nothing.json.
#include <com/sun/star/lang/XServiceInfo.hpp>
#include <com/sun/star/uno/XComponentContext.hpp>
#include <cppuhelper/implbase2.hxx>
#include <cppuhelper/supportsservice.hxx>

#include <nothing/XCells.hpp>

namespace css = com::sun::star;
using css::uno::Any;

namespace {

class Nothing : public cppu::WeakImplHelper2<nothing::XCells, css::lang::XServiceInfo> {
 public:
  Any SAL_CALL thing(const Any& a, const Any&, const Any&) override { return a; }

  rtl::OUString SAL_CALL getImplementationName() override { return "nothing.CellsImplementation"; }
  sal_Bool SAL_CALL supportsService(const rtl::OUString& name) override {
    return cppu::supportsService(this, name);
  }
  css::uno::Sequence<rtl::OUString> SAL_CALL getSupportedServiceNames() override {
    const rtl::OUString name("nothing.Cells");
    return {&name, 1};
  }
};

}  // namespace

extern "C" SAL_DLLPUBLIC_EXPORT css::uno::XInterface* nothing_Cells_get_implementation(
    css::uno::XComponentContext*, const css::uno::Sequence<Any>&) {
  return cppu::acquire(new Nothing);
}
