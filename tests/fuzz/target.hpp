// What is fuzzed: one target for each entrance of text, tried with an input, which stops the program where
// something is not as the header promises.
#pragma once

#include <string_view>
#include <vector>

namespace fuzz {

struct Target {
  const char* name;
  enum class Form { bytes, json } form;  ///< what its inputs are changed as
  void (*run)(std::string_view input);
};

const std::vector<Target>& targets();
/// Null where there is none of that name.
const Target* target_named(std::string_view name);

// One file a matter; each adds its own to the list.
void add_request_targets(std::vector<Target>& list);
void add_plan_targets(std::vector<Target>& list);
void add_month_targets(std::vector<Target>& list);
void add_name_targets(std::vector<Target>& list);

}  // namespace fuzz
