#include "material/ledger.hpp"

namespace buttonworth {

std::string line_text(const LineName& name) {
  switch (name.kind) {
    case LineKind::value: return *name.what + " value";
    case LineKind::refining: return *name.what + " refining";
    case LineKind::penalty: return *name.what + " penalty";
    case LineKind::participation: return *name.what + " participation";
    case LineKind::interest: return "interest on the " + *name.what;
    case LineKind::refund: return *name.what + " refund";
    case LineKind::credit: return *name.what + " credit";
    default: return *name.what;
  }
}

}  // namespace buttonworth
