// The ledger of one route: money by line, day and place; metal by place.
//
// Two records take what the templates of process, sale and route report. A Tally keeps the sums
// and nothing else; it is what searches and sweeps use. A Ledger keeps every line besides.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "material/stream.hpp"
#include "quantity/error.hpp"
#include "quantity/figures.hpp"

namespace buttonworth {

enum class LineKind {
  value,
  refining,
  charge,
  penalty,
  participation,
  interest,
  levy,
  refund,
  credit,
  cost,
  reagent,
};

/// Who a line is about; the names belong to the plan and live as long as it.
struct LineName {
  LineKind kind;
  const std::string* at;    ///< step or terms; null for a return
  const std::string* what;  ///< metal, charge, cost, levy or reagent
};

/// Amounts are written to twelve places: what is smaller is nothing.
inline bool is_nothing(const Decimal& amount) {
  static const Decimal half_written("0.5e-12");
  return abs(amount) <= half_written;
}

/// What a line is called: the name its owner gave it, and what became of it: "Au value", "treatment".
std::string line_text(const LineName& name);

/// Sums of a route, for one scenario or a block of them.
template <class N>
struct Tally {
  static constexpr bool keeps_lines = false;

  N cash_sum = N(0);
  N credit_sum = N(0);
  N present_value = N(0);
  Mask<N> refused_mask = Mask<N>(false);
  Mask<N> impossible_mask = Mask<N>(false);
  Mask<N> live = Mask<N>(true);  ///< where there is any mass on the branch being walked

  N net() const { return N(cash_sum + credit_sum); }

  void cash(const N& amount, const N& /*day*/, const N& discount) { add(cash_sum, amount, discount); }
  void credit(const N& amount, const N& /*day*/, const N& discount) { add(credit_sum, amount, discount); }
  template <class Reason>
  void refuse(const Mask<N>& where, Reason&&) {
    refused_mask = either(refused_mask, both(where, live));
  }
  template <class Fault>
  void impossible(const Mask<N>& where, Fault&&) {
    impossible_mask = either(impossible_mask, both(where, live));
  }
  template <class How>
  void line(const LineName&, const N&, const N&, How&&) {}

 private:
  void add(N& sum, const N& amount, const N& discount) {
    const N counted = choose(live, amount, N(0));
    sum += counted;
    present_value += counted * discount;
  }
};

template <class N>
struct Line {
  LineName name;
  N amount;
  N day;
  std::string how;
};

template <class N>
struct Movement {  ///< cash on a day
  N day;
  N amount;
};

/// Where one route's analytes went, in kilograms.
template <class N>
struct MetalPlaces {
  Contents<N> fed, payable, unpaid, returned, kept;
  std::vector<std::pair<std::string, Contents<N>>> lost;

  explicit MetalPlaces(std::size_t analytes)
      : fed(analytes, N(0)),
        payable(analytes, N(0)),
        unpaid(analytes, N(0)),
        returned(analytes, N(0)),
        kept(analytes, N(0)) {}

  /// Losses of a step met more than once are summed.
  void lose(const std::string& step, const char* way, const Contents<N>& content) {
    std::string place = step + ' ' + way;
    for (auto& [name, sum] : lost)
      if (name == place) return add_to(sum, content);
    lost.emplace_back(std::move(place), content);
  }
};

template <class N>
struct Product {  ///< what was sold, as delivered
  const std::string* at;
  Stream<N> delivered;
};

template <class N>
struct Flux {
  const std::string* reagent;
  N mass;
};

template <class N>
struct Work {  ///< one pass through a step
  const std::string* at;
  N feed = N(0);
  N hours = N(0);
  std::optional<N> melts;     ///< of a melt
  std::optional<N> energy;    ///< kWh, of a dry step
  std::optional<N> fuel;      ///< L, of a dry step with a fuel
  std::vector<Flux<N>> flux;  ///< each reagent once

  void add_flux(const std::string& reagent, const N& mass) {
    for (Flux<N>& one : flux)
      if (*one.reagent == reagent) {
        one.mass += mass;
        return;
      }
    flux.push_back({&reagent, mass});
  }
};

template <class N>
struct CutMade {
  const std::string* at;
  N pull;
};

template <class N>
struct Ledger {
  static constexpr bool keeps_lines = true;

  Ledger(std::size_t analytes, const Figures<N>& figures, bool explain)
      : metal(analytes), figures(&figures), explain(explain) {}

  Tally<N> sums;
  std::vector<Line<N>> lines;
  std::vector<Movement<N>> movements;
  std::vector<std::string> refused;
  std::vector<std::string> conditional;
  std::vector<Product<N>> products;
  std::vector<Work<N>> work;
  std::vector<CutMade<N>> cuts;
  MetalPlaces<N> metal;
  const Figures<N>* figures;
  bool explain;  ///< whether lines say how they were worked out

  void cash(const N& amount, const N& day, const N& discount) {
    sums.cash(amount, day, discount);
    movements.push_back({day, amount});
  }
  void credit(const N& amount, const N& day, const N& discount) { sums.credit(amount, day, discount); }
  template <class Reason>
  void refuse(bool where, Reason&& reason) {
    if (where) refused.push_back(reason(*figures));
  }
  template <class Fault>
  void impossible(bool where, Fault&& fault) {
    if (where) throw fault(*figures);
  }
  template <class How>
  void line(const LineName& name, const N& amount, const N& day, How&& how) {
    lines.push_back({name, amount, day, explain ? how(*figures) : std::string{}});
  }
};

/// A line that is paid when it falls due: costs.
template <class N, class Record, class How>
inline void pay(Record& record, const LineName& name, const N& amount, const Stream<N>& when, How&& how) {
  record.line(name, amount, when.day, how);
  record.cash(amount, when.day, when.discount);
}

}  // namespace buttonworth
