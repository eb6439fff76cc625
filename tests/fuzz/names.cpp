// Names and pointers, which the host gives beside documents.
#include <cmath>
#include <cstdlib>
#include <cstring>

#include "check.hpp"
#include "small_plan.hpp"
#include "target.hpp"

namespace fuzz {
namespace {

/// An answer that is made once and asked ever after.
class Asked {
 public:
  Asked() {
    Host host;
    bw_plan_read(host, small_plan.data(), small_plan.size(), &plan);
    bw_compare(host, plan, nullptr, 0, &compared);
    constexpr std::string_view options = R"({"draws": 256, "keep": true})";
    bw_simulate(host, plan, options.data(), options.size(), &drawn);
    expect(compared != nullptr && drawn != nullptr, "the small plan", bw_error_text(host));
  }
  ~Asked() {
    bw_plan_destroy(&plan);
    bw_answer_destroy(&compared);
    bw_answer_destroy(&drawn);
  }
  bw_plan* plan = nullptr;
  bw_answer *compared = nullptr, *drawn = nullptr;
};

using Text = bw_status (*)(bw_context*, const bw_answer*, const char*, char*, size_t, size_t*);

/// What is told of its size is what it takes, to the byte; a buffer too small stays an empty text.
void expect_fits(Host& host, const bw_answer* answer, const char* pointer, Text text) {
  std::size_t needed = 0, told = 0;
  const bw_status status = text(host, answer, pointer, nullptr, 0, &needed);
  host.check(status);
  expect((status == BW_OK) == (needed > 0), "a text of no size, or a size of no text", pointer);
  if (status != BW_OK) return;
  std::string buffer(needed + 1, '#');
  if (needed > 1) {
    const bw_status short_of = text(host, answer, pointer, buffer.data(), needed - 1, &told);
    expect(short_of == BW_USAGE_BUFFER && told == needed && buffer[0] == '\0', "one byte too few", pointer);
    host.check(short_of);
  }
  expect(text(host, answer, pointer, buffer.data(), needed, &told) == BW_OK, "enough room", pointer);
  expect(std::strlen(buffer.c_str()) + 1 <= needed && buffer[needed] == '#', "a text beyond its room",
         pointer);
}

template <std::size_t index>
bw_status name_at(bw_context* context, const bw_answer* answer, const char* pointer, char* buffer,
                  size_t capacity, size_t* needed) {
  return bw_answer_name(context, answer, pointer, index, buffer, capacity, needed);
}

void expect_counted(Host& host, const bw_answer* answer, const char* pointer) {
  std::size_t count = 0, needed = 0;
  const bw_status status = bw_answer_count(host, answer, pointer, &count);
  host.check(status);
  if (status != BW_OK) return;
  expect(bw_answer_name(host, answer, pointer, count, nullptr, 0, &needed) != BW_OK, "a name after the last",
         pointer);
}

void pointer(std::string_view input) {
  static const Asked asked;
  const std::string text{input};
  Host host;
  double number = 0, draws[8] = {};
  for (const bw_answer* answer : {asked.compared, asked.drawn}) {
    const bw_status status = bw_answer_number(host, answer, text.c_str(), &number);
    expect(status == BW_OK ? std::isfinite(number) : std::isnan(number), "a number at a pointer", text);
    host.check(status);
    expect_fits(host, answer, text.c_str(), bw_answer_string);
    expect_fits(host, answer, text.c_str(), name_at<0>);
    expect_fits(host, answer, text.c_str(), name_at<2>);
    expect_counted(host, answer, text.c_str());
    std::size_t size = 0;
    const bw_status drawn = bw_answer_draws(host, answer, text.c_str(), draws, 8, &size);
    expect(drawn == BW_USAGE_BUFFER ? size == 256 : drawn != BW_OK && size == 0, "draws", text);
    host.check(drawn);
  }
  examine(input, [&](bw_context* context, bw_answer** out) {  // the same pointer where columns are named
    const char* const pointers[] = {text.c_str()};
    const double* const columns[] = {&number};
    constexpr int64_t strides[] = {0};
    return bw_value_lots(context, asked.plan, nullptr, 0, pointers, columns, strides, 1, 2, nullptr, nullptr,
                         0, out);
  });
}

/// A name and, on the next line, a number.
void name(std::string_view input) {
  const std::size_t end = std::min(input.find('\n'), input.size());
  const std::string text{input.substr(0, end)}, rest{input.substr(end)};
  const auto value = static_cast<std::int64_t>(std::strtoll(rest.c_str(), nullptr, 10));
  examine(input, [&](bw_context* context, bw_answer** out) { return bw_schema(context, text.c_str(), out); });
  Host host;
  std::int64_t before = 0, after = 0;
  const bw_status read = bw_get_limit(host, text.c_str(), &before);
  host.check(read);
  const Host fresh;
  const bw_status set = bw_set_limit(fresh, text.c_str(), value);
  expect(read == BW_OK || set == read, "a limit that can be set and not read", text);
  if (read == BW_OK) {
    bw_get_limit(fresh, text.c_str(), &after);
    expect(after == (set == BW_OK ? value : before), "a limit read back", text);
  }
  const auto status = static_cast<bw_status>(value);
  expect(
      *bw_status_name(status) != '\0' && *bw_status_class(status) != '\0' && *bw_status_text(status) != '\0',
      "a status without a text", rest);
  double result = 0;
  const double ones[] = {1, 1, 1};
  host.check(bw_formula(host, text.c_str(), ones, 3, &result));
}

}  // namespace

void add_name_targets(std::vector<Target>& list) {
  list.insert(list.end(), {{"pointer", Target::Form::bytes, pointer}, {"name", Target::Form::bytes, name}});
}

}  // namespace fuzz
