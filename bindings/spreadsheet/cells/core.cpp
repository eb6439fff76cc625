#include "core.hpp"

#include <charconv>
#include <cmath>

namespace cells {

bw_context* context() {
  thread_local Context mine;
  if (mine == nullptr) {
    bw_context* made = nullptr;
    const bw_status status = bw_context_create(&made);
    if (status != BW_OK) throw Trouble{fault_of(status), bw_status_text(status)};
    mine.reset(made);
  }
  return mine.get();
}

Fault fault_of(bw_status status) {
  if (status == BW_USAGE_POINTER) return Fault::missing;
  switch (status / 100) {
    case 1:
    case 2:
    case 3: return Fault::argument;
    case 4: return Fault::no_solution;
    default: return Fault::internal;
  }
}

void check(bw_status status) {
  if (status != BW_OK) throw Trouble{fault_of(status), bw_error_text(context())};
}

const Job* find_job(std::string_view name) {
  static constexpr Job jobs[] = {{"compare", bw_compare, nullptr},
                                 {"simulate", bw_simulate, nullptr},
                                 {"worth", bw_worth, nullptr},
                                 {"break_even", bw_break_even, nullptr},
                                 {"counter_offers", bw_counter_offers, nullptr},
                                 {"forgiving_cut", bw_forgiving_cut, nullptr},
                                 {"sensitivity", bw_sensitivity, nullptr},
                                 {"map", bw_map, nullptr},
                                 {"settle", nullptr, bw_settle},
                                 {"reconcile", nullptr, bw_reconcile},
                                 {"book", nullptr, bw_book},
                                 {"dispute", nullptr, bw_dispute},
                                 {"metal_call", nullptr, bw_metal_call},
                                 {"bench", nullptr, bw_bench},
                                 {"convert", nullptr, bw_convert}};
  for (const Job& one : jobs)
    if (one.name == name) return &one;
  return nullptr;
}

bw_status run(const Job& job, bw_context* context, std::string_view request, std::string_view options,
              bw_answer** answer) {
  if (job.on_request != nullptr) return job.on_request(context, request.data(), request.size(), answer);
  bw_plan* read = nullptr;
  const bw_status status = bw_plan_read(context, request.data(), request.size(), &read);
  const Plan plan(read);
  if (status != BW_OK) return status;
  return job.on_plan(context, plan.get(), options.data(), options.size(), answer);
}

std::string decimal(double number) {
  if (!std::isfinite(number)) throw Trouble{Fault::argument, "a cell holds what is no number"};
  char text[400];
  const auto end = std::to_chars(text, text + sizeof text, number, std::chars_format::fixed).ptr;
  return {text, end};
}

std::string quoted(const std::string& text) {
  static const char digits[] = "0123456789abcdef";
  std::string json = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') (json += '\\') += c;
    else if (static_cast<unsigned char>(c) < 0x20) ((json += "\\u00") += digits[c >> 4]) += digits[c & 15];
    else json += c;
  }
  return json += '"';
}

}  // namespace cells
