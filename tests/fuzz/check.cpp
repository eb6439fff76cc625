#include "check.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <nlohmann/json.hpp>
#include <utility>

namespace fuzz {
namespace {

std::int64_t answers = 0;

bool is_one_line(std::string_view text) {
  return std::none_of(text.begin(), text.end(), [](unsigned char c) { return c < 0x20 || c == 0x7f; });
}

/// A sentence that can be shown to a person.
void expect_sentence(std::string_view text, std::string_view what) {
  expect(!text.empty(), std::string(what) + " is empty");
  expect(is_one_line(text), std::string(what) + " is not one line", text);
  std::string in_quotes{text};
  std::replace_if(
      in_quotes.begin(), in_quotes.end(), [](char c) { return c == '"' || c == '\\'; }, '\'');
  expect_json('"' + in_quotes + '"', what);
}

/// Faults of the caller that no text can bring about, and faults of the library.
bool may_come_of_text(bw_status status) {
  return std::strcmp(bw_status_name(status), "unknown") != 0 && status != BW_INTERNAL && status != BW_BUSY &&
         status != BW_MEMORY && status != BW_USAGE_NULL;
}

void expect_works(bw_context* context) {
  static constexpr std::string_view request = R"({"quantity": "1 lb", "to": "g"})";
  bw_answer* answer = nullptr;
  const bw_status status = bw_convert(context, request.data(), request.size(), &answer);
  expect(status == BW_OK, "the context works no more", bw_error_text(context));
  expect(std::string_view(bw_answer_text(answer, nullptr)) == "\"453.59237 g\"",
         "the context answers wrongly");
  bw_answer_destroy(&answer);
}

}  // namespace

void expect(bool right, std::string_view what, std::string_view found) {
  if (right) return;
  const std::string shown = std::string(what) + ": " + std::string(found.substr(0, 4000));
  std::fprintf(stderr, "does not hold: %s\n", shown.c_str());
  std::abort();
}

std::int64_t answered() { return answers; }

std::uint64_t mark_of(std::string_view input) {  // FNV-1a, with its high bits mixed into the low ones
  std::uint64_t mark = 14695981039346656037U;
  for (unsigned char c : input) mark = (mark ^ c) * 1099511628211U;
  return mark ^ (mark >> 32);
}

void expect_json(std::string_view text, std::string_view what) {
  expect(nlohmann::json::accept(text), std::string(what) + " is no JSON in UTF-8", text);
}

Host::Host() {
  expect(bw_context_create(&context_) == BW_OK, "no context");
  const auto count_down = [](void* user, std::int64_t done, std::int64_t total) {
    Host& host = *static_cast<Host*>(user);
    expect(total > 0 && done >= 0 && done <= total, "progress out of its range",
           std::to_string(done) + " of " + std::to_string(total));
    if (--host.left_ < 0) bw_cancel(host.context_);
  };
  bw_set_progress(context_, count_down, this);
}

void Host::lower_limits(std::uint64_t mark) {
  constexpr const char* names[] = {"document bytes", "depth",    "list length", "errors",      "name bytes",
                                   "digits",         "exponent", "nodes",       "route steps", "analytes"};
  for (const char* name : names) {
    const auto value = static_cast<std::int64_t>(1 + mark % 16);
    mark = mark / 16 + mark * 7919;
    if (mark % 3 != 0) continue;
    const bool is_large = std::string_view(name) == "document bytes" || std::string_view(name) == "nodes";
    bw_set_limit(context_, name, is_large ? value * 100 : value);
  }
}

void Host::check(bw_status status) {
  expect(bw_error_status(context_) == status, "the last error's status is another", bw_error_text(context_));
  std::size_t size = 0;
  const char* list = bw_error_list(context_, &size);
  expect(std::strlen(list) == size, "the list of errors is not as long as it says", list);
  if (status == BW_OK) {
    ++answers;
    expect(*bw_error_text(context_) == '\0', "a success with an error's text", bw_error_text(context_));
    expect(std::string_view(list) == "[]", "a success with errors", list);
    return;
  }
  expect(may_come_of_text(status), "a status that no text may bring about", bw_error_text(context_));
  expect_sentence(bw_error_text(context_), "an error's text");
  expect_json(list, "the list of errors");
  const auto errors = nlohmann::json::parse(list);
  expect(!errors.empty() && errors[0].at("status") == status, "the list begins with another error", list);
  if (status == BW_CANCELLED) expect(left_ < 0, "cancelled, and nobody asked");
  bw_set_limit(context_, "document bytes", 1 << 20);
  for (const char* name : {"depth", "list length", "digits", "exponent", "name bytes", "nodes"})
    bw_set_limit(context_, name, 30);
  expect_works(context_);
}

Result ask(Host& host, const Call& call) {
  bw_answer* answer = nullptr;
  Result result;
  result.status = call(host, &answer);
  expect((result.status == BW_OK) == (answer != nullptr), "an answer with an error, or none without");
  result.errors = bw_error_list(host, nullptr);
  if (answer != nullptr) {
    std::size_t size = 0;
    result.text = bw_answer_text(answer, &size);
    expect(result.text.size() == size, "an answer is not as long as it says", result.text);
    expect_json(result.text, "an answer");
  }
  host.check(result.status);
  bw_answer_destroy(&answer);
  return result;
}

void expect_same(const Result& a, const Result& b, std::string_view what) {
  if (a.status == BW_CANCELLED || b.status == BW_CANCELLED) return;
  expect(a.status == b.status, std::string(what) + ": statuses differ", a.errors + " and " + b.errors);
  expect(a == b, what, a.text + a.errors + "\nand\n" + b.text + b.errors);
}

Result examine(std::string_view input, const Call& call) {
  Host host;
  const Result first = ask(host, call);
  const std::uint64_t mark = mark_of(input);
  if (mark % 8 == 0) {
    Host other;
    expect_same(first, ask(other, call), "the same input, and another answer");
  } else if (mark % 8 == 1) {
    Host low;
    low.lower_limits(mark / 8);
    ask(low, call);
  }
  return first;
}

}  // namespace fuzz
