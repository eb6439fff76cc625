// What must hold of every call, whatever it was given.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "buttonworth.h"

namespace fuzz {

/// Says what does not hold, with what was found, and stops the program.
void expect(bool right, std::string_view what, std::string_view found = "");

/// A number of the input's own, for choices that are to be the same whenever it is tried again.
std::uint64_t mark_of(std::string_view input);

/// A context that stops a long call after so many words of its progress.
class Host {
 public:
  Host();
  ~Host() { bw_context_destroy(&context_); }
  Host(const Host&) = delete;
  Host& operator=(const Host&) = delete;

  operator bw_context*() const { return context_; }
  /// Limits so low that most inputs meet one.
  void lower_limits(std::uint64_t mark);
  /// What the header says of a status and the last error; that no cancelling came unasked; and that the
  /// context works afterwards. The last error is forgotten.
  void check(bw_status status);

 private:
  bw_context* context_ = nullptr;
  int left_ = 3000;
};

struct Result {
  bw_status status = BW_OK;
  std::string text, errors;
  bool operator==(const Result&) const = default;
};

using Call = std::function<bw_status(bw_context*, bw_answer**)>;

/// How many calls were answered so far, to tell inputs that come through from inputs that are all refused.
std::int64_t answered();

/// One call, checked.
Result ask(Host& host, const Call& call);

/// The same, by a context of its own; once more for some inputs, which must come to the same, and under low
/// limits for some others.
Result examine(std::string_view input, const Call& call);

/// Two results of the same question, of which neither was stopped on the way.
void expect_same(const Result& a, const Result& b, std::string_view what);

/// JSON in UTF-8, as every text that goes out.
void expect_json(std::string_view text, std::string_view what);

}  // namespace fuzz
