// Starts the benchmarks, or with an argument does what `run` beside it asks for.
#include <algorithm>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <iostream>
#include <sstream>

#include "chance.hpp"

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

std::vector<std::vector<double>> Host::draws(const std::string& text, const std::string& options,
                                             const std::vector<std::string>& names) {
  bw_plan* plan = nullptr;
  bw_answer* answer = nullptr;
  must(bw_plan_read(context_, text.data(), text.size(), &plan));
  must(bw_simulate(context_, plan, options.data(), options.size(), &answer));
  std::vector<std::vector<double>> columns;
  for (const std::string& name : names) {
    std::size_t size = 0;
    bw_answer_draws(context_, answer, name.c_str(), nullptr, 0, &size);
    std::vector<double>& column = columns.emplace_back(size);
    must(bw_answer_draws(context_, answer, name.c_str(), column.data(), column.size(), &size));
  }
  bw_answer_destroy(&answer);
  bw_plan_destroy(&plan);
  return columns;
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

namespace {

/// --settlement; --draws COUNT FILE; --errors; --memory COUNT.
bool did_as_asked(const std::string& what, const char* first, const char* second) {
  if (what == "--settlement") print_settlement();
  else if (what == "--draws") write_draws(second, std::atoll(first));
  else if (what == "--errors") print_errors();
  else if (what == "--memory") print_memory(std::atoll(first));
  else return false;
  return true;
}

}  // namespace
}  // namespace speed

int main(int count, char** arguments) {
  if (count > 1 &&
      speed::did_as_asked(arguments[1], count > 2 ? arguments[2] : "", count > 3 ? arguments[3] : ""))
    return 0;
  benchmark::Initialize(&count, arguments);
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
