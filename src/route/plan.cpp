#include "route/plan.hpp"

namespace buttonworth {

std::vector<std::string> output_names(const Step& step) {
  struct Names {
    std::vector<std::string> operator()(const Table&) const {
      return {"concentrate", "middlings", "tailings"};
    }
    std::vector<std::string> operator()(const Split& split) const {
      std::vector<std::string> names;
      for (const SplitOutput& output : split.outputs) names.push_back(output.name);
      return names;
    }
    std::vector<std::string> operator()(const Dry&) const { return {"dried"}; }
    std::vector<std::string> operator()(const Melt&) const { return {"bar", "slag"}; }
  };
  return std::visit(Names{}, step.kind);
}

}  // namespace buttonworth
