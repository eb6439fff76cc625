// Starts the benchmarks, or prints the settlement's amounts with --settlement.
#include <algorithm>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <iostream>
#include <sstream>

#include "support.hpp"

namespace speed {

std::string file_text(const char* path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::shared_ptr<const buttonworth::Plan> plan_of(const std::string& text) {
  const buttonworth::DocumentLimits limits;
  auto reading = buttonworth::read_plan(buttonworth::read_json(text, limits), limits);
  if (reading.plan) return reading.plan;
  std::cerr << reading.complaints.front().pointer << ": " << reading.complaints.front().text << '\n';
  std::exit(1);
}

Host::Host() { must(bw_context_create(&context_)); }

void Host::must(bw_status status) const {
  if (status == BW_OK) return;
  std::cerr << bw_error_text(context_) << '\n';
  std::exit(1);
}

std::size_t Host::text_to_text(const std::string& text, const std::string& options) {
  bw_plan* plan = nullptr;
  bw_answer* answer = nullptr;
  must(bw_plan_read(context_, text.data(), text.size(), &plan));
  must(bw_compare(context_, plan, options.data(), options.size(), &answer));
  std::size_t size = 0;
  benchmark::DoNotOptimize(bw_answer_text(answer, &size));
  bw_answer_destroy(&answer);
  bw_plan_destroy(&plan);
  return size;
}

std::size_t Host::read_only(const std::string& text) {
  bw_plan* plan = nullptr;
  must(bw_plan_read(context_, text.data(), text.size(), &plan));
  std::size_t size = 0;
  benchmark::DoNotOptimize(bw_plan_text(plan, &size));
  bw_plan_destroy(&plan);
  return size;
}

std::size_t Host::settle(const std::string& delivery) {
  bw_answer* answer = nullptr;
  must(bw_settle(context_, delivery.data(), delivery.size(), &answer));
  std::size_t size = 0;
  benchmark::DoNotOptimize(bw_answer_text(answer, &size));
  bw_answer_destroy(&answer);
  return size;
}

std::size_t Host::bench(const std::string& request) {
  bw_answer* answer = nullptr;
  must(bw_bench(context_, request.data(), request.size(), &answer));
  std::size_t size = 0;
  benchmark::DoNotOptimize(bw_answer_text(answer, &size));
  bw_answer_destroy(&answer);
  return size;
}

void Host::recoveries(const std::vector<double>& feed, const std::vector<double>& concentrate,
                      const std::vector<double>& tailings, std::vector<double>& out) {
  const double* columns[] = {feed.data(), concentrate.data(), tailings.data()};
  const int64_t strides[] = {1, 1, 1};
  must(bw_formula_array(context_, "two_product_recovery", columns, strides, 3, out.size(), out.data(), 1));
}

std::size_t Host::book(const std::string& heading, const std::string& deliveries) {
  constexpr std::size_t piece = 65'536;
  bw_month* month = nullptr;
  bw_answer* answer = nullptr;
  must(bw_month_open(context_, heading.data(), heading.size(), &month));
  for (std::size_t at = 0; at < deliveries.size(); at += piece)
    must(bw_month_take(context_, month, "deliveries", deliveries.data() + at,
                       std::min(piece, deliveries.size() - at)));
  must(bw_month_close(context_, month, &answer));
  std::size_t size = 0;
  benchmark::DoNotOptimize(bw_answer_text(answer, &size));
  bw_answer_destroy(&answer);
  bw_month_destroy(&month);
  return size;
}

}  // namespace speed

int main(int count, char** arguments) {
  if (count > 1 && std::strcmp(arguments[1], "--settlement") == 0) {
    speed::print_settlement();
    return 0;
  }
  benchmark::Initialize(&count, arguments);
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
