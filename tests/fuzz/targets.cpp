#include "target.hpp"

namespace fuzz {

const std::vector<Target>& targets() {
  static const std::vector<Target> list = [] {
    std::vector<Target> made;
    add_request_targets(made);
    add_plan_targets(made);
    add_month_targets(made);
    add_name_targets(made);
    return made;
  }();
  return list;
}

const Target* target_named(std::string_view name) {
  for (const Target& one : targets())
    if (name == one.name) return &one;
  return nullptr;
}

}  // namespace fuzz
