// The objects behind the handles.
#pragma once

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "buttonworth.h"
#include "document/form.hpp"
#include "document/value.hpp"
#include "host_arithmetic.hpp"
#include "log.hpp"
#include "route/plan.hpp"

namespace buttonworth {

using VersionMark = std::array<char, 16>;

/// The version of whoever compiles this.
inline VersionMark version_mark() {
  VersionMark mark{};
  std::string_view(BUTTONWORTH_VERSION).copy(mark.data(), mark.size());
  return mark;
}

}  // namespace buttonworth

struct bw_context {
  /// Stands first for ever: a library beside this one asks by it whether it knows what follows.
  const buttonworth::VersionMark made_by = buttonworth::version_mark();

  buttonworth::DocumentLimits limits;
  buttonworth::HostArithmetic arithmetic;  // of the thread whose turn it is
  buttonworth::HostLog log{arithmetic};
  bw_progress_callback progress = nullptr;
  void* progress_user = nullptr;

  std::atomic<bool> busy{false};
  std::atomic<bool> cancel{false};

  // The last error. Kept so that nothing needs to be allocated when memory has run out.
  bw_status status = BW_OK;
  std::string text;
  std::string list;
  const char* said = "";  // text, or a sentence that needs no memory
};

struct bw_plan {
  std::shared_ptr<const buttonworth::Plan> plan;
  buttonworth::Value document;
  std::string text;
};

struct bw_answer {
  explicit bw_answer(std::string json) : text(std::move(json)) {}

  /// The text as a tree, read when first asked for: most hosts take the text whole.
  const buttonworth::Value& document() const {
    std::call_once(read_, [this] { tree_ = buttonworth::read_json(text, buttonworth::no_limits()); });
    return tree_;
  }

  const std::string text;
  /// Draws of a simulation that were to be kept, by the name of a route or an input's place.
  std::vector<std::pair<std::string, std::vector<double>>> draws;

 private:
  mutable std::once_flag read_;
  mutable buttonworth::Value tree_;
};
