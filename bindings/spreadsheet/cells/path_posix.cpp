// Where the library lies, as Linux and its like tell it.
#include <dlfcn.h>

#include "core.hpp"

namespace cells {

std::string library_path() {
  Dl_info found{};
  if (dladdr(reinterpret_cast<const void*>(&library_path), &found) == 0 || found.dli_fname == nullptr)
    return "";
  return found.dli_fname;
}

}  // namespace cells
