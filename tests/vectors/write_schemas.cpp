// Writes the JSON Schemas that the library gives to files, for readers and editors of plans.
//   write_schemas FOLDER

#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>

#include "buttonworth.h"

namespace {

/// A schema as a file has it: two spaces, and an end of line at its end.
std::string schema_file(bw_context* context, const char* name) {
  bw_answer* answer = nullptr;
  if (bw_schema(context, name, &answer) != BW_OK) return {};
  const std::string text = nlohmann::ordered_json::parse(bw_answer_text(answer, nullptr)).dump(2) + '\n';
  bw_answer_destroy(&answer);
  return text;
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) {
    std::cerr << "usage: write_schemas FOLDER\n";
    return 2;
  }
  bw_context* context = nullptr;
  if (bw_context_create(&context) != BW_OK) return 1;
  bool written = true;
  for (const char* name : {"plan",
                           "comparison",
                           "options",
                           "delivery",
                           "statement",
                           "return",
                           "reconciliation",
                           "returns",
                           "reconciliations",
                           "month",
                           "book",
                           "dispute",
                           "contest",
                           "call",
                           "accounted",
                           "sampling",
                           "sampling-error",
                           "screen-assay",
                           "screened-grade",
                           "run-sheet",
                           "lot",
                           "balance",
                           "balanced",
                           "table-test",
                           "fitted-curve",
                           "charge",
                           "flux",
                           "bar",
                           "bar-check",
                           "lot-size",
                           "waiting",
                           "simulate-options",
                           "simulation",
                           "lot-values-options",
                           "lot-values",
                           "worth-options",
                           "worth",
                           "break-even-options",
                           "break-even",
                           "counter-offers-options",
                           "counter-offers",
                           "forgiving-cut-options",
                           "forgiving-cut",
                           "sensitivity-options",
                           "sensitivity",
                           "map-options",
                           "map",
                           "allocation",
                           "schedule"}) {
    const std::string text = schema_file(context, name);
    std::ofstream file(std::string(arguments[1]) + '/' + name + ".json", std::ios::binary);
    file << text;
    written = written && !text.empty() && file.flush();
  }
  bw_context_destroy(&context);
  if (!written) std::cerr << "the schemas could not be written to " << arguments[1] << '\n';
  return written ? 0 : 1;
}
