#include "document/bench_document.hpp"

#include "bench/formulas.hpp"
#include "document/bench_figures.hpp"

namespace buttonworth {

const std::vector<const BenchRequest*>& bench_requests() {
  static const std::vector<const BenchRequest*> all{
      &sampling_request,   &screen_assay_request, &run_sheet_request, &balance_request,
      &table_test_request, &charge_request,       &bar_request,       &lot_size_request};
  return all;
}

const BenchRequest& bench_request_of(const Value& request) {
  std::string known;
  const Value* format = request.find("format");
  for (const BenchRequest* one : bench_requests()) {
    if (format != nullptr && format->text == one->format) return *one;
    known += (known.empty() ? "" : ", ") + std::string(one->format);
  }
  if (format == nullptr) throw Error(Code::missing_field, "the field format is missing: one of " + known);
  throw Error(Code::format,
              '"' + readable(format->text.substr(0, 60)) + "\" is no request to the bench: " + known,
              "/format");
}

std::string bench_answer(const Value& request, const DocumentLimits& limits, const Watch& watch,
                         std::vector<Complaint>& complaints) {
  const BenchRequest& kind = bench_request_of(request);
  Reader reader(limits);
  std::string answer = kind.answer(request, reader, watch);
  complaints = std::move(reader.complaints);
  return answer;
}

std::string formulas_text() {
  JsonText out;
  out.open('[');
  for (const NamedFormula& formula : named_formulas()) {
    out.open('{').field("name", formula.name).field("gives", formula.meaning).field("unit", formula.unit);
    out.key("arguments").open('[');
    for (const FormulaArgument& argument : formula.arguments) {
      out.open('{').field("name", argument.name).field("what", argument.meaning).field("unit", argument.unit);
      if (argument.otherwise) write_value(out, "otherwise", *argument.otherwise, answer_units::plain);
      out.close('}');
    }
    out.close(']').close('}');
  }
  return out.close(']').take();
}

}  // namespace buttonworth
