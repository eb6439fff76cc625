// Time that work may take.
#pragma once

#include <chrono>

namespace buttonworth {

class Clock {
 public:
  explicit Clock(double seconds) : seconds_(seconds), began_(std::chrono::steady_clock::now()) {}

  double seconds() const { return seconds_; }
  double passed() const {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - began_).count();
  }
  double left() const { return seconds_ - passed(); }

 private:
  double seconds_;
  std::chrono::steady_clock::time_point began_;
};

}  // namespace buttonworth
