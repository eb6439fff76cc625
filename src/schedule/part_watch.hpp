// A part of long work, told to the host as the share of the whole that it is.
#pragma once

#include <algorithm>

#include "quantity/watch.hpp"
#include "schedule/clock.hpp"

namespace buttonworth {

class PartWatch : public Watch {
 public:
  static constexpr std::int64_t all = 1000;

  /// Of the whole from one share to another.
  PartWatch(const Watch& whole, double from, double to) : whole_(whole), from_(from), to_(to) {}

  bool cancelled() const override { return whole_.cancelled(); }
  void progress(std::int64_t done, std::int64_t total) const override {
    if (total <= 0) return;
    const double share = from_ + (to_ - from_) * static_cast<double>(done) / static_cast<double>(total);
    whole_.progress(static_cast<std::int64_t>(share * all), all);
  }

 private:
  const Watch& whole_;
  double from_, to_;
};

/// Work of which nobody knows how long it takes, only when it ends at the latest: told by the clock.
class ClockWatch : public Watch {
 public:
  /// What is left of the whole from this share on, over so many seconds.
  ClockWatch(const Watch& whole, double from, double seconds) : whole_(whole), from_(from), clock_(seconds) {}

  bool cancelled() const override { return whole_.cancelled(); }
  void progress(std::int64_t /*done*/, std::int64_t /*total*/) const override {
    const double share = std::min(0.99, from_ + (1 - from_) * clock_.passed() / clock_.seconds());
    whole_.progress(static_cast<std::int64_t>(share * PartWatch::all), PartWatch::all);
  }

 private:
  const Watch& whole_;
  double from_;
  Clock clock_;
};

}  // namespace buttonworth
