#include "log.hpp"

#include <spdlog/details/null_mutex.h>
#include <spdlog/sinks/base_sink.h>
#include <spdlog/spdlog.h>

namespace buttonworth {
namespace {

// One thread at a time uses a context, so the sink needs no lock.
class CallbackSink : public spdlog::sinks::base_sink<spdlog::details::null_mutex> {
 public:
  CallbackSink(bw_log_callback callback, void* user, HostArithmetic& arithmetic)
      : callback_(callback), user_(user), arithmetic_(arithmetic) {}

 protected:
  void sink_it_(const spdlog::details::log_msg& message) override {
    // A string's own text, zero and all: a record must not be lost for want of memory.
    const auto level = static_cast<int32_t>(message.level);
    arithmetic_.lend([&] { callback_(user_, level, message.payload.data(), message.payload.size()); });
  }
  void flush_() override {}  // never called: nothing is held back

 private:
  bw_log_callback callback_;
  void* user_;
  HostArithmetic& arithmetic_;
};

spdlog::level::level_enum spdlog_level(LogLevel level) {
  return static_cast<spdlog::level::level_enum>(level);  // the same numbers up to error
}

}  // namespace

void HostLog::send_to(bw_log_callback callback, void* user, LogLevel level) {
  if (callback == nullptr) return logger_.reset();
  auto logger = std::make_shared<spdlog::logger>(
      "buttonworth", std::make_shared<CallbackSink>(callback, user, arithmetic_));
  logger->set_level(spdlog_level(level));
  logger->set_error_handler([](const std::string&) {});  // its own would write to standard error
  logger_ = std::move(logger);
}

bool HostLog::wants(LogLevel level) const {
  return logger_ != nullptr && logger_->should_log(spdlog_level(level));
}

void HostLog::write(LogLevel level, const std::string& text) const {
  if (logger_ != nullptr) logger_->log(spdlog_level(level), spdlog::string_view_t(text.c_str(), text.size()));
}

}  // namespace buttonworth
