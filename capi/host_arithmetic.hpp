// How the host's thread reckons, put aside while ours runs: the same document gives the same bytes
// everywhere.
#pragma once

#if defined(__GNUC__) && defined(__x86_64__)
#include <cstdint>
#else
#include <cfenv>
#endif

namespace buttonworth {

/// Rounding to nearest, 64-bit significands in long double, nothing trapped, nothing flushed to zero: what
/// the library was made for. The host's setting comes back with its flags, so that no exception of ours waits
/// for it. Threads that are made meanwhile begin with ours.
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
  // Word by word, and only where something differs: the whole environment takes longer than a single figure.
  static constexpr std::uint16_t own_control = 0x037F, raised = 0x80FF;
  static constexpr std::uint32_t own_vectors = 0x1F80;
  struct Environment {
    std::uint32_t control, status, rest[5];
  };
  void raise_flags() const noexcept;

  std::uint16_t control_ = own_control, status_ = 0;
  std::uint32_t vectors_ = own_vectors;
};

inline void HostArithmetic::put_aside() noexcept {
  asm volatile("fnstcw %0" : "=m"(control_) : : "memory");
  asm volatile("fnstsw %0" : "=m"(status_) : : "memory");
  asm volatile("stmxcsr %0" : "=m"(vectors_) : : "memory");
  if (control_ != own_control) asm volatile("fnclex\n\tfldcw %0" : : "m"(own_control) : "memory");
  asm volatile("ldmxcsr %0" : : "m"(own_vectors) : "memory");
}

inline void HostArithmetic::give_back() const noexcept {
  std::uint16_t now = 0;
  asm volatile("fnstsw %0" : "=m"(now) : : "memory");
  const bool other_flags = ((now ^ status_) & raised) != 0;
  if (other_flags) asm volatile("fnclex" : : : "memory");  // before anything is trapped again
  if (control_ != own_control) asm volatile("fldcw %0" : : "m"(control_) : "memory");
  if (other_flags && (status_ & raised) != 0) raise_flags();
  asm volatile("ldmxcsr %0" : : "m"(vectors_) : "memory");
}

inline void HostArithmetic::raise_flags() const noexcept {
  Environment environment;
  asm volatile("fnstenv %0" : "=m"(environment) : : "memory");
  environment.status |= status_ & raised;
  asm volatile("fldenv %0" : : "m"(environment) : "memory");
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
