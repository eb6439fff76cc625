// The host's logger: records go to its callback and nowhere else.
#pragma once

#include <memory>
#include <string>

#include "buttonworth.h"
#include "host_arithmetic.hpp"

namespace spdlog {
class logger;
}

namespace buttonworth {

enum class LogLevel { trace, debug, info, warning, error };

class HostLog {
 public:
  explicit HostLog(HostArithmetic& arithmetic) : arithmetic_(arithmetic) {}
  /// Sends records of `level` and above to the callback; a null callback ends it. Where it throws, all stays.
  void send_to(bw_log_callback callback, void* user, LogLevel level);
  bool wants(LogLevel level) const;
  void write(LogLevel level, const std::string& text) const;

 private:
  HostArithmetic& arithmetic_;
  std::shared_ptr<spdlog::logger> logger_;
};

}  // namespace buttonworth
