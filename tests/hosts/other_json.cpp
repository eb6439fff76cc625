// A host with a JSON library of the same name, that keeps its values another way (CMakeLists.txt alters a
// copy), and with allocations of its own; all of it is there for whoever looks symbols up. Both libraries
// throw and catch.
#include <cstdlib>
#include <new>
#include <nlohmann/json.hpp>

#include "print_answers.hpp"

namespace {

std::size_t allocated = 0, freed = 0;

void* counted(std::size_t size) {
  ++allocated;
  if (void* made = std::malloc(size != 0 ? size : 1)) return made;
  throw std::bad_alloc();
}
void uncounted(void* memory) {
  freed += memory != nullptr;
  std::free(memory);
}

/// Whether this host's own JSON library is the altered one, and works.
bool is_well() {
  static_assert(sizeof(nlohmann::json) == 5 * sizeof(void*), "the copy was not altered");
  const auto value = nlohmann::json::parse(R"({"a": [1, 2.5, "three"], "b": {"c": null}})");
  if (value.dump() != R"({"a":[1,2.5,"three"],"b":{"c":null}})") return false;
  try {
    return nlohmann::json::parse("{").empty();
  } catch (const nlohmann::json::parse_error& error) {
    return std::string(error.what()).find("[of this host.parse_error.101]") == 0;
  }
}

}  // namespace

void* operator new(std::size_t size) { return counted(size); }
void* operator new[](std::size_t size) { return counted(size); }
void operator delete(void* memory) noexcept { uncounted(memory); }
void operator delete[](void* memory) noexcept { uncounted(memory); }
void operator delete(void* memory, std::size_t) noexcept { uncounted(memory); }
void operator delete[](void* memory, std::size_t) noexcept { uncounted(memory); }

int main() {
  if (!is_well()) return 1;
  hosts::print_answers();
  return is_well() && allocated > 100'000 && freed > 100'000 ? 0 : 2;
}
