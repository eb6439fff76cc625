// Where the library lies, as Windows tells it.
#include <windows.h>

#include "core.hpp"
#include "wide.hpp"

namespace cells {

std::string library_path() {
  HMODULE library = nullptr;
  constexpr DWORD by_address =
      GET_MODULE_HANDLE_EX_FLAG_FROM_ADDRESS | GET_MODULE_HANDLE_EX_FLAG_UNCHANGED_REFCOUNT;
  if (!GetModuleHandleExW(by_address, reinterpret_cast<LPCWSTR>(&library_path), &library)) return "";
  std::wstring path(32768, L'\0');  // no path is longer
  path.resize(GetModuleFileNameW(library, path.data(), static_cast<DWORD>(path.size())));
  return utf8(path);
}

}  // namespace cells
