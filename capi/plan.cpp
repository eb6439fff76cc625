#include "document/plan_document.hpp"
#include "guard.hpp"

using namespace buttonworth;

namespace {

/// A plan's handle, or everything that is wrong with the document. However the text came about, it keeps
/// to the context's limits.
bw_plan* new_plan(bw_context& context, std::string_view text) {
  Value document = read_json(text, context.limits);
  PlanReading reading = read_plan(document, context.limits);
  throw_if_any(std::move(reading.complaints));
  if (context.log.wants(LogLevel::info))
    context.log.write(LogLevel::info, "plan read: " + std::to_string(reading.plan->routes.size()) +
                                          " routes, " + std::to_string(reading.plan->steps.size()) +
                                          " steps, " + std::to_string(reading.plan->terms.size()) +
                                          " terms of sale");
  return new bw_plan{std::move(reading.plan), std::move(document), std::string(text)};
}

/// The document that rows state, as text.
std::string text_of_rows(const char* const* pointers, const char* const* values, size_t count,
                         const DocumentLimits& limits) {
  require(count == 0 || (pointers != nullptr && values != nullptr), Code::usage_null, "the rows are NULL");
  require(count <= static_cast<std::uint64_t>(limits.nodes), Code::limit, "more rows than the context allows");
  std::vector<std::pair<std::string_view, std::string_view>> rows;
  for (size_t i = 0; i < count; ++i) {
    require(pointers[i] != nullptr && values[i] != nullptr, Code::usage_null,
            "a row's pointer or value is NULL");
    rows.emplace_back(pointers[i], values[i]);
  }
  return write_json(from_rows(rows, limits));
}

/// What a value is replaced by: a list or an object as JSON, anything else as a cell.
Value replacement(std::string_view text, const DocumentLimits& limits) {
  require_utf8(text);
  const bool composed = !text.empty() && (text.front() == '[' || text.front() == '{');
  return composed ? read_json(text, limits) : cell_value(text);
}

}  // namespace

bw_status bw_plan_read(bw_context* context, const char* json, size_t size, bw_plan** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the plan is NULL");
    require_pointer(json, "the plan's text is NULL");
    *out = new_plan(*context, {json, size});
  });
}

bw_status bw_plan_read_rows(bw_context* context, const char* const* pointers, const char* const* values,
                            size_t count, bw_plan** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the plan is NULL");
    *out = new_plan(*context, text_of_rows(pointers, values, count, context->limits));
  });
}

bw_status bw_read_rows(bw_context* context, const char* const* pointers, const char* const* values,
                       size_t count, bw_answer** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the document is NULL");
    *out = new_answer(text_of_rows(pointers, values, count, context->limits));
  });
}

bw_status bw_plan_with(bw_context* context, const bw_plan* plan, const char* pointer, const char* value,
                       bw_plan** out) noexcept {
  if (out != nullptr) *out = nullptr;
  return guarded(context, [&] {
    require_pointer(out, "the place for the plan is NULL");
    require_pointer(plan, "the plan is NULL");
    require_pointer(pointer, "the pointer is NULL");
    require_pointer(value, "the value is NULL");
    Value document = plan->document;
    const Value* there = find_at(document, pointer);
    if (there == nullptr)
      throw Error(Code::usage_pointer, "the plan has nothing at this pointer to replace", pointer);
    *const_cast<Value*>(there) = replacement(value, context->limits);
    *out = new_plan(*context, write_json(document));
  });
}

const char* bw_plan_text(const bw_plan* plan, size_t* size) noexcept {
  if (size != nullptr) *size = plan != nullptr ? plan->text.size() : 0;
  return plan != nullptr ? plan->text.c_str() : nullptr;
}

void bw_plan_destroy(bw_plan** plan) noexcept { destroy(plan); }
