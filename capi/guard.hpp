// The guard: no exception leaves the library, one thread at a time uses a context, and what went
// wrong is kept for bw_error_text. The only try blocks of the C layer stand here.
#pragma once

#include <exception>
#include <new>
#include <utility>

#include "handles.hpp"
#include "quantity/watch.hpp"

namespace buttonworth {

/// Everything that is wrong with a document, thrown as one.
struct Complaints {
  std::vector<Complaint> list;
};
inline void throw_if_any(std::vector<Complaint> complaints) {
  if (!complaints.empty()) throw Complaints{std::move(complaints)};
}

inline void require(bool right, Code code, const char* text) {
  if (!right) throw Error(code, text);
}
inline void require_pointer(const void* pointer, const char* text) {
  require(pointer != nullptr, Code::usage_null, text);
}

/// Keeps the complaints as the context's last error and gives the status of the first.
bw_status keep_error(bw_context& context, std::vector<Complaint> complaints);
/// Keeps an error without allocating.
bw_status keep_static_error(bw_context& context, bw_status status, const char* text) noexcept;
void clear_error(bw_context& context) noexcept;

/// The turn of one call at a context, which reckons our way.
class Turn {
 public:
  explicit Turn(bw_context& context) noexcept : context_(context), mine_(!context.busy.exchange(true)) {
    if (!mine_) return;
    context_.cancel.store(false);
    context_.arithmetic.put_aside();
  }
  ~Turn() {
    if (!mine_) return;
    context_.arithmetic.give_back();
    context_.busy.store(false);
  }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;
  bool mine() const noexcept { return mine_; }

 private:
  bw_context& context_;
  bool mine_;
};

/// Runs the body of a call. Argument checks belong inside the body.
template <class Body>
bw_status guarded(bw_context* context, Body&& body) noexcept {
  if (context == nullptr) return BW_USAGE_NULL;
  const Turn turn(*context);
  if (!turn.mine()) return BW_BUSY;
  clear_error(*context);
  try {
    try {
      body();
      return BW_OK;
    } catch (const Complaints& complaints) {
      return keep_error(*context, complaints.list);
    } catch (const Error& error) {
      return keep_error(*context, {error.complaint()});
    }
  } catch (const std::bad_alloc&) {
    return keep_static_error(*context, BW_MEMORY, "there is not enough memory for this");
  } catch (...) {
    return keep_static_error(*context, BW_INTERNAL, "a fault of the library: please report it");
  }
}

/// The host's progress display and bw_cancel, as the core sees them.
class HostWatch : public Watch {
 public:
  explicit HostWatch(bw_context& context) : context_(context) {}
  bool cancelled() const override { return context_.cancel.load(std::memory_order_relaxed); }
  void progress(std::int64_t done, std::int64_t total) const override {
    if (context_.progress == nullptr) return;
    context_.arithmetic.lend([&] { context_.progress(context_.progress_user, done, total); });
  }

 private:
  bw_context& context_;
};

/// Text with a length; NULL is an empty text where the length is 0.
inline std::string_view text_of(const char* text, std::size_t size, const char* what) {
  require(text != nullptr || size == 0, Code::usage_null, what);
  return {text != nullptr ? text : "", size};
}

inline bw_answer* new_answer(std::string json) { return new bw_answer(std::move(json)); }
inline bw_answer* new_answer(const Json& document) { return new bw_answer(document.dump()); }

/// A call on a request of its own: `answer(request, context)` makes the answer's text of the request as read.
template <class Answer>
bw_status answered(bw_context* context, const char* json, size_t size, bw_answer** out,
                   Answer answer) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the answer is NULL");
    require_pointer(json, "the request's text is NULL");
    *out = new_answer(answer(read_json({json, size}, context->limits), *context));
  });
}

template <class Handle>
void destroy(Handle** handle) noexcept {
  if (handle == nullptr) return;
  delete *handle;
  *handle = nullptr;
}

}  // namespace buttonworth
