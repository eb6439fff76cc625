// How the host's thread reckons, put aside while ours runs: the same document gives the same bytes everywhere.
#pragma once

#if defined(__GNUC__) && defined(__x86_64__)
#include <cstdint>
#else
#include <cfenv>
#endif

namespace buttonworth {

/// Rounding to nearest, 64-bit significands in long double, nothing trapped, nothing flushed to zero: what the
/// library was made for. The host's setting comes back with its flags, so that no exception of ours waits for it.
/// Threads that are made meanwhile begin with ours.
class HostArithmetic {
 public:
  void put_aside() noexcept;
  void give_back() const noexcept;

  /// Calls something of the host's, which reckons as the host does and may change that.
  template <class Callback>
  void lend(Callback&& callback) {
    give_back();
    callback();
    put_aside();
  }

#if defined(__GNUC__) && defined(__x86_64__)
 private:
  // Reading words one by one is six times quicker than the whole environment, which matters to a single figure.
  static constexpr std::uint16_t own_control = 0x037F, raised = 0x80FF;
  static constexpr std::uint32_t own_vectors = 0x1F80;
  struct Environment {
    std::uint32_t control, status, rest[5];
  };

  std::uint16_t control_ = own_control, status_ = 0;
  std::uint32_t vectors_ = own_vectors;
};

inline void HostArithmetic::put_aside() noexcept {
  asm volatile("fnstcw %0\n\tfnstsw %1\n\tstmxcsr %2"
               : "=m"(control_), "=m"(status_), "=m"(vectors_)
               :
               : "memory");
  asm volatile("fnclex\n\tldmxcsr %0" : : "m"(own_vectors) : "memory");
  if (control_ != own_control) asm volatile("fldcw %0" : : "m"(own_control) : "memory");
}

inline void HostArithmetic::give_back() const noexcept {
  asm volatile("fnclex" : : : "memory");
  if (control_ != own_control) asm volatile("fldcw %0" : : "m"(control_) : "memory");
  if ((status_ & raised) != 0) {
    Environment now;
    asm volatile("fnstenv %0" : "=m"(now) : : "memory");
    now.status |= status_ & raised;
    asm volatile("fldenv %0" : : "m"(now) : "memory");
  }
  asm volatile("ldmxcsr %0" : : "m"(vectors_) : "memory");
}
#else
 private:
  std::fenv_t host_ = {};
};

inline void HostArithmetic::put_aside() noexcept {
  std::fegetenv(&host_);
  std::fesetenv(FE_DFL_ENV);
}
inline void HostArithmetic::give_back() const noexcept { std::fesetenv(&host_); }
#endif

}  // namespace buttonworth
