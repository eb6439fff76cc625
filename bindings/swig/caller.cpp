#include "caller.hpp"

#ifndef _WIN32
#include <dlfcn.h>
#endif

#include <nlohmann/json.hpp>

namespace caller {
namespace {

std::string one_error(bw_status status, const std::string& text, const std::string& pointer) {
  const nlohmann::ordered_json error = {{"class", bw_status_class(status)},
                                        {"code", bw_status_name(status)},
                                        {"status", status},
                                        {"pointer", pointer},
                                        {"text", text}};
  return '[' + error.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + ']';
}

bw_context* new_context() {
  bw_context* made = nullptr;
  const bw_status status = bw_context_create(&made);
  if (status != BW_OK) fail(status);
  return made;
}

std::vector<const char*> pointers_to(const std::vector<std::string>& texts) {
  std::vector<const char*> pointers;
  pointers.reserve(texts.size());
  for (const std::string& text : texts) pointers.push_back(text.c_str());
  return pointers;
}

/// A call that works on a request of its own.
using RequestCall = bw_status(bw_context*, const char*, std::size_t, bw_answer**);

#ifdef _WIN32
RequestCall* found_allocate() { fail(BW_USAGE_NAME, "a month of lots cannot be decided on Windows yet"); }
#else
/// It stays for the process; a call that did not find it looks again, as it may have been installed since.
RequestCall* found_allocate() {
  static std::atomic<RequestCall*> kept{nullptr};
  if (RequestCall* const found = kept.load()) return found;
  const std::string name = "libbuttonworth_schedule.so." + std::to_string(bw_abi_version());
  void* const library = dlopen(name.c_str(), RTLD_NOW | RTLD_LOCAL);
  void* const symbol = library != nullptr ? dlsym(library, "bw_allocate") : nullptr;
  if (symbol == nullptr) {
    const char* const reason = dlerror();
    fail(BW_USAGE_NAME, "the library " + name + " is missing: it is built with -DBUTTONWORTH_SCHEDULE=ON and needs CBC (" +
                            (reason != nullptr ? reason : "no reason is given") + ')');
  }
  kept = reinterpret_cast<RequestCall*>(symbol);
  return kept;
}
#endif

}  // namespace

Failure failure(bw_status status, const std::string& text, const std::string& pointer) {
  const std::string said = text.empty() ? bw_status_text(status) : text;
  return {pointer.empty() ? said : pointer + ": " + said, one_error(status, said, pointer)};
}

void fail(bw_status status, const std::string& text, const std::string& pointer) {
  throw failure(status, text, pointer);
}

void refuse(const char* pointer, std::size_t pointer_size, const char* text, std::size_t text_size) {
  fail(BW_USAGE_TYPE, std::string(text, text_size), std::string(pointer, pointer_size));
}

std::string zero_ended(const char* text, std::size_t size) {
  std::string copy(text, size);
  if (copy.find('\0') != std::string::npos)
    fail(BW_USAGE_TYPE, "a zero byte stands in the text; take it out");
  return copy;
}

ContextHandle::ContextHandle() : handle_(new_context()) {}

void ContextHandle::cancel() { bw_cancel(handle_.peek().get()); }

void ContextHandle::fail_with_last_error(const bw_context& context, bw_status status) {
  // Without a turn of its own a call leaves the last error of another; without memory there is no list.
  if (status == BW_BUSY || bw_error_status(&context) != status) fail(status);
  const std::string list = bw_error_list(&context, nullptr);
  if (list == "[]") fail(status, bw_error_text(&context));
  throw Failure{bw_error_text(&context), list};
}

PlanHandle* read_rows(ContextHandle& context, const RowList& rows) {
  const std::vector<const char*> pointers = pointers_to(rows.pointers);
  const std::vector<const char*> values = pointers_to(rows.values);
  return make<PlanHandle, bw_plan>(context, [&](bw_context* open, bw_plan** out) {
    return bw_plan_read_rows(open, pointers.data(), values.data(), pointers.size(), out);
  });
}

AnswerHandle* ask_plan(PlanCall* call, ContextHandle& context, const PlanHandle& plan, const char* options,
                       std::size_t options_size) {
  const auto kept = plan.open();
  return make<AnswerHandle, bw_answer>(context, [&](bw_context* open, bw_answer** out) {
    return call(open, kept.get(), options, options_size, out);
  });
}

AnswerHandle* allocate(ContextHandle& context, const char* json, std::size_t json_size) {
  RequestCall* const call = found_allocate();
  return make<AnswerHandle, bw_answer>(context, [&](bw_context* open, bw_answer** out) {
    const bw_status status = call(open, json, json_size, out);
    if (status == BW_USAGE_TYPE)  // it left the context alone
      fail(BW_USAGE_NAME, std::string("libbuttonworth_schedule is not of version ") + bw_version() +
                              ", as libbuttonworth is: install both of one version");
    return status;
  });
}

std::size_t lot_routes(ContextHandle& context, const PlanHandle& plan, const char* options,
                       std::size_t options_size) {
  const auto kept = plan.open();
  std::size_t routes = 0;
  context.call([&](bw_context* open) {
    bw_answer* answer = nullptr;
    bw_status status = bw_value_lots(open, kept.get(), options, options_size, nullptr, nullptr, nullptr, 0, 0,
                                     nullptr, nullptr, 0, &answer);
    if (status == BW_OK) status = bw_answer_count(open, answer, "/routes", &routes);
    bw_answer_destroy(&answer);
    return status;
  });
  return routes;
}

AnswerHandle* value_lots(ContextHandle& context, const PlanHandle& plan, const char* options,
                         std::size_t options_size, const RowList& rows, Numbers<const double> columns,
                         Numbers<double> values, Numbers<double> sds) {
  const auto kept = plan.open();
  const std::vector<const char*> pointers = pointers_to(rows.pointers);
  const std::size_t lots = pointers.empty() ? 0 : columns.count / pointers.size();
  if (lots * pointers.size() != columns.count) fail(BW_USAGE_SIZE, "the columns are not of one length");
  const bool straight = values.stride == 1 && sds.stride == 1 && sds.count == values.count;
  if (!straight) fail(BW_USAGE_SIZE, "the places for the figures are not of one length");
  std::vector<const double*> numbers;
  for (std::size_t i = 0; i < pointers.size(); ++i)
    numbers.push_back(columns.first + static_cast<std::int64_t>(i * lots) * columns.stride);
  const std::vector<std::int64_t> strides(pointers.size(), columns.stride);
  return make<AnswerHandle, bw_answer>(context, [&](bw_context* open, bw_answer** out) {
    return bw_value_lots(open, kept.get(), options, options_size, pointers.data(), numbers.data(), strides.data(),
                         pointers.size(), lots, values.first, sds.first, values.count, out);
  });
}

std::vector<double> draws(ContextHandle& context, const AnswerHandle& answer, const std::string& name) {
  const auto kept = answer.open();
  std::vector<double> values;
  context.call([&](bw_context* open) {
    std::size_t size = 0;
    const bw_status status = bw_answer_draws(open, kept.get(), name.c_str(), nullptr, 0, &size);
    if (status != BW_OK) return status;
    values.resize(size);
    return bw_answer_draws(open, kept.get(), name.c_str(), values.data(), size, &size);
  });
  return values;
}

void convert_array(ContextHandle& context, const double* values, std::int64_t stride, std::size_t count,
                   const std::string& from, const std::string& to, double* out, std::int64_t out_stride,
                   std::size_t out_count) {
  if (count != out_count) fail(BW_USAGE_SIZE, "the place for the results is not as long as the values");
  context.call([&](bw_context* open) {
    return bw_convert_array(open, values, stride, count, from.c_str(), to.c_str(), out, out_stride);
  });
}

double figure(std::string_view name, const double* arguments, std::size_t count) {
  static thread_local ContextHandle context;
  const std::string ended = zero_ended(name.data(), name.size());
  double result = 0;
  context.call([&](bw_context* open) { return bw_formula(open, ended.c_str(), arguments, count, &result); });
  return result;
}

double formula(ContextHandle& context, const std::string& name, const double* values, std::int64_t stride,
               std::size_t count) {
  std::vector<double> arguments;
  for (std::size_t i = 0; i < count; ++i) arguments.push_back(values[static_cast<std::int64_t>(i) * stride]);
  double result = 0;
  context.call([&](bw_context* open) {
    return bw_formula(open, name.c_str(), arguments.data(), arguments.size(), &result);
  });
  return result;
}

void formula_array(ContextHandle& context, const std::string& name, const double* values, std::int64_t stride,
                   std::size_t count, double* out, std::int64_t out_stride, std::size_t out_count) {
  if (out_count == 0 ? count != 0 : count % out_count != 0)
    fail(BW_USAGE_SIZE, "the arguments are not as long as the place for the results");
  std::vector<const double*> arguments;
  for (std::size_t i = 0; i < count; i += out_count)
    arguments.push_back(values + static_cast<std::int64_t>(i) * stride);
  const std::vector<std::int64_t> strides(arguments.size(), stride);
  context.call([&](bw_context* open) {
    return bw_formula_array(open, name.c_str(), arguments.data(), strides.data(), arguments.size(), out_count,
                            out, out_stride);
  });
}

}  // namespace caller
