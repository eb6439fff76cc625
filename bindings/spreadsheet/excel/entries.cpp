#include "entries.hpp"

#include <cmath>
#include <map>
#include <mutex>

#include "core.hpp"
#include "host_state.hpp"
#include "variants.hpp"
#include "wide.hpp"

namespace {

using cells::Fault;

// ---- Sessions --------------------------------------------------------------------------------------------

/// A mistake that shows before the C interface is asked.
struct Mistake {
  bw_status status;
  std::string text;
};

struct Session {
  cells::Context context;
  std::optional<Mistake> mistake;  ///< the last error, where it is not the context's
};

/// The sessions that are open, by their handles; a handle is used once.
class Sessions {
 public:
  std::intptr_t open() {
    bw_context* made = nullptr;
    if (bw_context_create(&made) != BW_OK) return 0;
    auto session = std::make_shared<Session>();
    session->context.reset(made);
    const std::lock_guard lock(mutex_);
    open_.emplace(++last_, std::move(session));
    return last_;
  }
  /// Those who still use it keep it until they are done.
  std::shared_ptr<Session> close(std::intptr_t handle) {
    const std::lock_guard lock(mutex_);
    const auto found = open_.find(handle);
    if (found == open_.end()) return nullptr;
    auto session = std::move(found->second);
    open_.erase(found);
    return session;
  }
  std::shared_ptr<Session> find(std::intptr_t handle) {
    const std::lock_guard lock(mutex_);
    const auto found = open_.find(handle);
    return found == open_.end() ? nullptr : found->second;
  }

 private:
  std::mutex mutex_;
  std::map<std::intptr_t, std::shared_ptr<Session>> open_;
  std::intptr_t last_ = 0;
};

Sessions& sessions() {
  static Sessions all;
  return all;
}

constexpr const char* no_session =
    "there is no such session: open one with buttonworth_open, and use it until it is closed";

std::string list_of(const Mistake& mistake) {
  const auto quoted = [](const char* text) { return cells::quoted(text); };
  return "[{\"class\": " + quoted(bw_status_class(mistake.status)) +
         ", \"code\": " + quoted(bw_status_name(mistake.status)) +
         ", \"status\": " + std::to_string(mistake.status) +
         ", \"pointer\": \"\", \"text\": " + cells::quoted(mistake.text) + "}]";
}

// ---- Calls -----------------------------------------------------------------------------------------------

/// Does a body that may throw and gives a status, with the host's floating point put aside.
template <class Body>
std::int32_t guarded(Body body) noexcept {
  const cells::HostState host;
  try {
    return body();
  } catch (const std::bad_alloc&) {
    return BW_MEMORY;
  } catch (...) {
    return BW_INTERNAL;
  }
}

/// The same for one that works in a session.
template <class Body>
std::int32_t in_session(std::intptr_t handle, Body body) noexcept {
  return guarded([&]() -> bw_status {
    const auto session = sessions().find(handle);
    if (session == nullptr) return BW_USAGE_OVER;
    session->mistake.reset();
    try {
      return body(*session);
    } catch (const Mistake& mistake) {
      session->mistake = mistake;
      return mistake.status;
    }
  });
}

bw_status ask(bw_context* context, const std::string& call, BSTR request, BSTR options, bw_answer** answer) {
  const cells::Job* job = cells::find_job(call);
  if (job == nullptr)
    throw Mistake{BW_USAGE_NAME,
                  "there is no call \"" + call + "\": compare, settle and simulate are some that there are"};
  const std::string chosen = cells::text_of(options);
  if (job->on_request != nullptr && !chosen.empty())
    throw Mistake{BW_USAGE_OPTIONS, call + " takes no options: leave them out"};
  return cells::run(*job, context, cells::text_of(request), chosen, answer);
}

std::vector<double> numbers_of(const VARIANT& arguments) {
  std::vector<double> numbers;
  const auto given = cells::elements(arguments);
  if (!given)
    throw Mistake{BW_USAGE_TYPE, "the arguments are to be an array of numbers: Array(0.5, 25, 0.05)"};
  for (const VARIANT& one : *given) {
    const cells::Cells value = cells::cells_of(one);
    const double* number = value.is_one() ? std::get_if<double>(&value.at(0, 0)) : nullptr;
    if (number == nullptr)
      throw Mistake{BW_USAGE_TYPE, "argument " + std::to_string(numbers.size() + 1) + " is no number"};
    numbers.push_back(*number);
  }
  return numbers;
}

void evaluate(const std::string& name, const VARIANT& arguments, VARIANT& result) {
  const auto given = cells::elements(arguments);
  const cells::Function* function = cells::find(name);
  if (function == nullptr) return cells::put_error(result, cells::error_code(2029));  // #NAME?
  if (!given) return cells::put_fault(result, Fault::argument);
  if (function->work != cells::work_explain)
    for (const VARIANT& one : *given)
      if (const auto code = cells::foreign_error(one)) return cells::put_error(result, *code);
  std::vector<cells::Cells> taken;
  for (const VARIANT& one : *given) taken.push_back(cells::cells_of(one));
  cells::put_cells(result, cells::evaluate(*function, std::move(taken)));
}

}  // namespace

void buttonworth_cells_evaluate(BSTR name, const VARIANT* arguments, VARIANT* result) noexcept {
  if (arguments == nullptr || result == nullptr) return;
  VariantClear(result);
  if (guarded([&] { return evaluate(cells::text_of(name), *arguments, *result), BW_OK; }) != BW_OK)
    cells::put_fault(*result, Fault::internal);
}

std::intptr_t buttonworth_open() noexcept {
  std::intptr_t handle = 0;
  guarded([&] { return handle = sessions().open(), BW_OK; });
  return handle;
}

std::int32_t buttonworth_close(std::intptr_t session) noexcept {
  return guarded([&] { return sessions().close(session) != nullptr ? BW_OK : BW_USAGE_OVER; });
}

std::int32_t buttonworth_ask(std::intptr_t session, BSTR call, BSTR request, BSTR options,
                             VARIANT* answer) noexcept {
  if (answer == nullptr) return BW_USAGE_NULL;
  VariantClear(answer);
  return in_session(session, [&](Session& open) {
    bw_answer* made = nullptr;
    const bw_status status = ask(open.context.get(), cells::text_of(call), request, options, &made);
    const cells::Answer held(made);
    std::size_t size = 0;
    if (const char* text = bw_answer_text(made, &size); status == BW_OK)
      cells::put_text(*answer, {text, size});
    return status;
  });
}

std::int32_t buttonworth_formula(std::intptr_t session, BSTR name, const VARIANT* arguments,
                                 double* result) noexcept {
  if (arguments == nullptr || result == nullptr) return BW_USAGE_NULL;
  *result = NAN;
  return in_session(session, [&](Session& open) {
    const std::vector<double> numbers = numbers_of(*arguments);
    return bw_formula(open.context.get(), cells::text_of(name).c_str(), numbers.data(), numbers.size(),
                      result);
  });
}

std::int32_t buttonworth_last_error(std::intptr_t session, VARIANT* text, VARIANT* list) noexcept {
  if (text == nullptr || list == nullptr) return BW_USAGE_NULL;
  VariantClear(text);
  VariantClear(list);
  return guarded([&] {
    const auto open = sessions().find(session);
    const std::optional<Mistake> mistake =
        open == nullptr ? std::optional<Mistake>({BW_USAGE_OVER, no_session}) : open->mistake;
    cells::put_text(*text, mistake ? mistake->text : bw_error_text(open->context.get()));
    cells::put_text(*list, mistake ? list_of(*mistake) : bw_error_list(open->context.get(), nullptr));
    return open != nullptr ? BW_OK : BW_USAGE_OVER;
  });
}

void buttonworth_version_and_path(VARIANT* version, VARIANT* path) noexcept {
  if (version == nullptr || path == nullptr) return;
  VariantClear(version);
  VariantClear(path);
  guarded([&] {
    cells::put_text(*version, std::string_view(bw_version()));
    cells::put_text(*path, cells::library_path());
    return BW_OK;
  });
}
