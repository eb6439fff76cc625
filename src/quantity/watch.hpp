// How long work is watched: it tells how far it is, and asks whether to stop.
#pragma once

#include <cstdint>

#include "quantity/error.hpp"

namespace buttonworth {

class Watch {
 public:
  virtual ~Watch() = default;
  virtual bool cancelled() const { return false; }
  virtual void progress(std::int64_t /*done*/, std::int64_t /*total*/) const {}

  /// Called often, in the middle of long work.
  void keep_going() const {
    if (cancelled()) throw Error(Code::cancelled, "cancelled: the host asked this call to stop");
  }
};

}  // namespace buttonworth
