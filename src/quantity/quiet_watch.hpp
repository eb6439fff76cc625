// Work within longer work.
#pragma once

#include "quantity/watch.hpp"

namespace buttonworth {

/// Asks the host whether to stop, and leaves the progress to the work it is a part of.
class QuietWatch : public Watch {
 public:
  explicit QuietWatch(const Watch& host) : host_(host) {}
  bool cancelled() const override { return host_.cancelled(); }

 private:
  const Watch& host_;
};

}  // namespace buttonworth
