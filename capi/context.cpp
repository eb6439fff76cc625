#include "document/json_text.hpp"
#include "guard.hpp"
#include "status.hpp"

using namespace buttonworth;

namespace buttonworth {
namespace {

std::string error_list(const std::vector<Complaint>& complaints) {
  JsonText list(256 * complaints.size());
  list.open('[');
  for (const Complaint& one : complaints) {
    const auto status = static_cast<bw_status>(one.code);
    list.open('{').field("class", bw_status_class(status)).field("code", bw_status_name(status));
    list.key("status").bare(std::to_string(status));
    list.field("pointer", one.pointer).field("text", one.text).close('}');
  }
  list.close(']');
  return list.take();
}

// What needs no memory to be told.
constexpr std::string_view memory_list =
    R"([{"class":"memory","code":"memory","status":701,"pointer":"","text":"there is not enough memory for this"}])";
constexpr std::string_view internal_list =
    R"([{"class":"internal","code":"internal","status":801,"pointer":"","text":"a fault of the library: please report it"}])";

/// A limit of a context by its name, and the most it can be set to.
struct NamedLimit {
  const char* name;
  std::int64_t DocumentLimits::*wide;
  int NumberLimits::*narrow;
  std::int64_t most;
};
constexpr std::int64_t no_bound = INT64_MAX;
constexpr NamedLimit named_limits[] = {
    {"document bytes", &DocumentLimits::document_bytes, nullptr, no_bound},
    {"depth", &DocumentLimits::depth, nullptr, 512},
    {"list length", &DocumentLimits::list_length, nullptr, no_bound},
    {"name bytes", &DocumentLimits::name_bytes, nullptr, no_bound},
    {"errors", &DocumentLimits::errors, nullptr, no_bound},
    {"nodes", &DocumentLimits::nodes, nullptr, no_bound},
    {"route steps", &DocumentLimits::route_steps, nullptr, 64},
    {"analytes", &DocumentLimits::analytes, nullptr, 10'000},
    {"digits", nullptr, &NumberLimits::digits, NumberLimits::most_digits},
    {"exponent", nullptr, &NumberLimits::exponent, NumberLimits::most_exponent},
};

const NamedLimit& find_limit(const char* name) {
  require_pointer(name, "the name of the limit is NULL");
  for (const NamedLimit& one : named_limits)
    if (std::string_view(one.name) == name) return one;
  std::vector<std::string> names;
  for (const NamedLimit& one : named_limits) names.emplace_back(one.name);
  throw Error(Code::usage_name,
              "there is no limit named " + std::string(name).substr(0, 60) + nearest_text(name, names));
}

std::string range_text(const NamedLimit& limit) {
  const std::string end = limit.most == no_bound ? "or more" : "to " + std::to_string(limit.most);
  return "the limit " + std::string(limit.name) + " is 1 " + end;
}

}  // namespace

bw_status keep_error(bw_context& context, std::vector<Complaint> complaints) {
  for (Complaint& one : complaints) {
    if (!is_utf8(one.pointer)) one.pointer = readable(one.pointer);
    one.text = readable(one.text);
  }
  const Complaint& first = complaints.front();
  std::string text = first.pointer.empty() ? first.text : readable(first.pointer) + ": " + first.text;
  if (complaints.size() > 1) text += " (and " + std::to_string(complaints.size() - 1) + " more)";
  context.list = error_list(complaints);
  context.text = std::move(text);
  context.said = context.text.c_str();
  context.status = static_cast<bw_status>(first.code);
  context.log.write(LogLevel::warning, context.text);
  return context.status;
}

bw_status keep_static_error(bw_context& context, bw_status status, const char* text) noexcept {
  context.status = status;
  context.said = text;
  context.list.clear();
  return status;
}

void clear_error(bw_context& context) noexcept {
  context.status = BW_OK;
  context.said = "";
  context.list.clear();
}

}  // namespace buttonworth

bw_status bw_context_create(bw_context** out) noexcept {
  if (out == nullptr) return BW_USAGE_NULL;
  *out = new (std::nothrow) bw_context;
  return *out != nullptr ? BW_OK : BW_MEMORY;
}

void bw_context_destroy(bw_context** context) noexcept { destroy(context); }

const char* bw_error_text(const bw_context* context) noexcept {
  return context != nullptr ? context->said : "the context is NULL: make one with bw_context_create";
}

bw_status bw_error_status(const bw_context* context) noexcept {
  return context != nullptr ? context->status : BW_USAGE_NULL;
}

const char* bw_error_list(const bw_context* context, size_t* size) noexcept {
  std::string_view text = "[]";
  if (context != nullptr && !context->list.empty()) text = context->list;
  else if (bw_error_status(context) == BW_MEMORY) text = memory_list;
  else if (bw_error_status(context) == BW_INTERNAL) text = internal_list;
  if (size != nullptr) *size = text.size();
  return text.data();
}

void bw_cancel(bw_context* context) noexcept {
  if (context != nullptr && context->busy.load()) context->cancel.store(true);
}

bw_status bw_set_limit(bw_context* context, const char* name, int64_t value) noexcept {
  return guarded(context, [&] {
    const NamedLimit& limit = find_limit(name);
    if (value < 1 || value > limit.most) throw Error(Code::usage_size, range_text(limit));
    if (limit.wide != nullptr) context->limits.*limit.wide = value;
    else context->limits.numbers.*limit.narrow = static_cast<int>(value);
  });
}

bw_status bw_get_limit(bw_context* context, const char* name, int64_t* out) noexcept {
  if (out != nullptr) *out = 0;
  return guarded(context, [&] {
    require_pointer(out, "the place for the limit is NULL");
    const NamedLimit& limit = find_limit(name);
    *out = limit.wide != nullptr ? context->limits.*limit.wide : context->limits.numbers.*limit.narrow;
  });
}

bw_status bw_set_log(bw_context* context, bw_log_callback callback, void* user, int32_t level) noexcept {
  return guarded(context, [&] {
    require(level >= 0 && level <= static_cast<int32_t>(LogLevel::error), Code::usage_name,
            "log levels are 0 trace, 1 debug, 2 info, 3 warning, 4 error");
    context->log.send_to(callback, user, static_cast<LogLevel>(level));
  });
}

bw_status bw_set_progress(bw_context* context, bw_progress_callback callback, void* user) noexcept {
  return guarded(context, [&] {
    context->progress = callback;
    context->progress_user = user;
  });
}
