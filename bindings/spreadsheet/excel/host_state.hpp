// The floating point of the host, put aside while ours runs.
#pragma once

#include <xmmintrin.h>

#include <cstdint>

namespace cells {

/// Rounding to nearest, 64-bit significands in long double, no exception trapped: what the library was made
/// for. Windows' own setting keeps 53 bits in long double. The host's is restored with its flags, so that no
/// exception of ours waits for it.
class HostState {
 public:
  HostState() : sse_(_mm_getcsr()) {
    asm volatile("fnstenv %0" : "=m"(x87_));
    const std::uint16_t control = 0x037F;
    asm volatile("fnclex\n\tfldcw %0" : : "m"(control));
    _mm_setcsr(0x1F80);
  }
  ~HostState() {
    asm volatile("fldenv %0" : : "m"(x87_));
    _mm_setcsr(sse_);
  }
  HostState(const HostState&) = delete;
  HostState& operator=(const HostState&) = delete;

 private:
  struct Environment {
    std::uint32_t words[7];
  };
  Environment x87_;
  unsigned sse_;
};

}  // namespace cells
