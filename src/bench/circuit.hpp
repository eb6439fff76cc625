// A circuit's masses and assays made to agree: weighted least squares over streams and nodes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/figure.hpp"
#include "material/caution.hpp"
#include "material/stages.hpp"
#include "quantity/error.hpp"
#include "quantity/watch.hpp"

namespace buttonworth {

/// What is known of a stream: a figure with an sd is measured, one of sd 0 holds exactly, none is to be
/// found.
struct MeasuredStream {
  std::string name;
  std::optional<Figure> mass;                 ///< dry, kg, 0 or more
  std::vector<std::optional<Figure>> grades;  ///< shares of 1, one for each analyte of the circuit
};

struct Circuit {
  std::vector<std::string> analytes;  ///< each assayed in some stream
  std::vector<MeasuredStream> streams;
  std::vector<WorkStage> nodes;                 ///< every stream stands on one at least
  std::vector<std::optional<Figure>> minerals;  ///< grade of the pure mineral, one for each analyte
};

/// What can be balanced at once: streams × (1 + analytes). The algebra grows with the cube of it.
inline constexpr std::size_t most_balanced_figures = 600;

struct BalancedAnalyte {
  std::optional<Figure> grade;                  ///< none in a stream of 0 kg
  std::optional<Figure> recovery;               ///< of what enters from outside; none where nothing does
  std::optional<Figure> separation_efficiency;  ///< of streams that only come out, where there is a mineral
};
struct BalancedStream {
  Figure mass;                  ///< kg
  std::optional<Figure> share;  ///< of the mass that enters from outside
  std::vector<BalancedAnalyte> analytes;
};

/// What balancing made of a measured figure: `analyte` is none for the mass.
struct Adjustment {
  std::size_t stream = 0;
  std::optional<std::size_t> analyte;
  double measured = 0, balanced = 0;
  std::optional<double> z;  ///< (measured − balanced) ÷ √(variance taken out of it); none where nothing was
};

struct Balance {
  std::vector<BalancedStream> streams;
  std::vector<Adjustment> changes;  ///< of figures with an sd, streams in order, the mass first
  double chi_squared = 0;
  std::size_t degrees = 0;              ///< equations more than unknowns
  std::optional<double> p;              ///< chance of as large a chi_squared or a larger one
  std::optional<std::size_t> at_fault;  ///< of `changes`
  std::vector<Caution> cautions;
};

/// An Error (balance), and what it is about: the streams, one node, or one analyte's mineral.
struct CircuitError : Error {
  enum class About { streams, node, mineral };
  explicit CircuitError(std::string text, About about = About::streams, std::size_t number = 0)
      : Error(Code::balance, std::move(text)), about(about), number(number) {}
  About about;
  std::size_t number;
};

/// Moves what is measured, and finds what is missing, so that at every node Σ in = Σ out of dry mass and of
/// every analyte, no figure is below 0 and no grade above 1, and Σ ((balanced − measured) ÷ sd)² is least.
/// Uncertainties are those of the linearised problem at the solution; a figure held at a limit counts as
/// known. Errors (CircuitError): figures that cannot be found, by name; exact figures that contradict each
/// other; a feed outside the products that it splits into; a balance that does not settle. (limit): too many
/// figures. Source: the bilinear reconciliation of S. Narasimhan and C. Jordache, Data Reconciliation and
/// Gross Error Detection (2000), cited from memory; here in masses and contents, in which the balances are
/// linear.
Balance balanced(const Circuit& circuit, const Watch& watch = {});

}  // namespace buttonworth
