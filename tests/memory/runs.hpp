// A case called while memory runs out.
#pragma once

#include "allocations.hpp"
#include "cases.hpp"

namespace memory {

/// What a case comes to with all the memory it wants.
struct Good {
  std::string told;
  std::array<double, 6> results;
  long allocations;
};

struct Trial {
  bw_status status;
  bool refused;  ///< whether the call came to the allocation that was to fail
};

/// Calls once while allocations are refused; the results stay on the stage.
inline Trial call_refused(const Case& one, Stage& stage, allocations::Refusal refusal) {
  if (one.prepare) one.prepare(stage);
  stage.soil();
  allocations::refuse(refusal);
  const bw_status status = one.call(stage);
  allocations::allow();
  return {status, allocations::was_refused()};
}

/// Calls with all the memory it wants, and frees what it gave.
inline Good call_good(const Case& one, Stage& stage) {
  if (one.prepare) one.prepare(stage);
  stage.soil();
  allocations::refuse({-1, false});  // counts
  const bw_status status = one.call(stage);
  const long allocations = allocations::allow();
  EXPECT_EQ(status, one.expected) << bw_error_text(stage.context);
  Good good{stage.told(one.places), stage.results, allocations};
  stage.free_results();
  return good;
}

inline std::string in_words(allocations::Refusal refusal) {
  return "allocation " + std::to_string(refusal.first) + (refusal.lasting ? " and all after it" : " alone");
}

}  // namespace memory
