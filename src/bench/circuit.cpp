#include "bench/circuit.hpp"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <utility>

#include "bench/circuit_search.hpp"
#include "bench/circuit_space.hpp"
#include "quantity/decimal.hpp"

namespace buttonworth {
namespace {

using Eigen::Index;

std::string in_percent(double share) { return to_text(share * 100, Digits{3, 6, 0}) + " %"; }

/// How the unknowns move for one standard deviation of each measured figure, and how much of a measured
/// figure its own value decides.
struct Linearised {
  Matrix root;  // a row an unknown, a column a free direction: covariance = root × rootᵀ
  std::vector<double> leverage;
};

/// A slope over a few of the unknowns.
using Slope = std::vector<std::pair<Index, double>>;

/// A sum over the streams that enter from outside, of the mass (part 0) or of an analyte.
struct Entering {
  double sum = 0;
  std::vector<Index> unknowns;
};

class Balancing {
 public:
  Balancing(const CircuitLayout& layout, CircuitPoint point)
      : circuit_(layout.circuit()),
        layout_(layout),
        ends_(circuit_.nodes, layout.streams()),
        at_(std::move(point)) {}

  Balance run() {
    find_adjustments();
    linearise();
    for (std::size_t part = 0; part <= layout_.analytes(); ++part) entering_.push_back(entering(part));
    for (std::size_t s = 0; s < layout_.streams(); ++s) out_.streams.push_back(stream(s));
    judge();
    caution();
    return std::move(out_);
  }

 private:
  double mass(std::size_t s) const { return at_.x[layout_.mass(s)]; }
  double content(std::size_t s, std::size_t a) const { return at_.x[layout_.content(s, a)]; }

  // ---- Measured figures ----------------------------------------------------------------------

  void find_adjustments() {
    for (std::size_t s = 0; s < layout_.streams(); ++s) {
      if (const auto& known = layout_.mass_of(s); is_measured(known))
        out_.changes.push_back({s, {}, known->value, mass(s), {}});
      if (at_.empty[s]) continue;
      for (std::size_t a = 0; a < layout_.analytes(); ++a)
        if (const auto& known = layout_.grade_of(s, a); is_measured(known))
          out_.changes.push_back({s, a, known->value, content(s, a) / mass(s), {}});
    }
  }
  double sd_of(const Adjustment& one) const {
    return one.analyte ? layout_.grade_of(one.stream, *one.analyte)->sd : layout_.mass_of(one.stream)->sd;
  }
  std::string name(const Adjustment& one) const {
    return one.analyte ? layout_.grade_name(one.stream, *one.analyte) : layout_.mass_name(one.stream);
  }

  // ---- Uncertainties -------------------------------------------------------------------------

  /// What neither holds exactly nor is held at a limit, along directions scaled to the figures' sizes.
  Matrix free_directions() const {
    CircuitEquations fixed = exact_equations(layout_, at_.empty);
    layout_.each_grade([&](std::size_t s, std::size_t a) {
      const Held how = held(layout_, at_, s, a);
      if (how == Held::at_nothing) fixed.add_value(layout_.content(s, a), 0);
      if (how == Held::at_all) fixed.add_grade(s, a, 1);
    });
    return unseen(fixed.scaled(at_.sizes).first, layout_.count(), rank_width);
  }

  /// Slopes of the measured figures, each over its sd.
  Matrix weighed_slopes() const {
    Matrix slopes = Matrix::Zero(static_cast<Index>(out_.changes.size()), layout_.count());
    for (std::size_t i = 0; i < out_.changes.size(); ++i) {
      const Adjustment& one = out_.changes[i];
      const Index row = static_cast<Index>(i), m = layout_.mass(one.stream);
      if (!one.analyte) {
        slopes(row, m) = at_.sizes[m] / sd_of(one);
        continue;
      }
      const Index c = layout_.content(one.stream, *one.analyte);
      const double per = 1 / (at_.x[m] * sd_of(one));
      slopes(row, c) = at_.sizes[c] * per;
      slopes(row, m) = -at_.x[c] / at_.x[m] * at_.sizes[m] * per;
    }
    return slopes;
  }

  void linearise() {
    const Matrix free = free_directions();
    const Index count = free.cols();
    linear_ = {Matrix::Zero(layout_.count(), count), std::vector<double>(out_.changes.size(), 0)};
    if (count == 0) return;
    const Matrix slopes = weighed_slopes() * free;
    const Eigen::HouseholderQR<Matrix> qr(slopes);
    const Matrix thin = qr.householderQ() * Matrix::Identity(slopes.rows(), count);
    const Matrix inverse =
        qr.matrixQR().topRows(count).triangularView<Eigen::Upper>().solve(Matrix::Identity(count, count));
    linear_.root = at_.sizes.asDiagonal() * (free * inverse);
    for (std::size_t i = 0; i < out_.changes.size(); ++i)
      linear_.leverage[i] = thin.row(static_cast<Index>(i)).squaredNorm();
  }

  /// A figure with this slope; `other_sd` is what it owes to what is not balanced.
  Figure figure(double value, const Slope& slope, double other_sd = 0) const {
    Vector moved = Vector::Zero(linear_.root.cols());
    double size = std::abs(value);
    for (const auto& [unknown, factor] : slope) {
      moved += factor * linear_.root.row(unknown).transpose();
      size = std::max(size, std::abs(factor) * at_.sizes[unknown]);
    }
    const double sd = std::hypot(moved.norm(), other_sd);
    return {value, sd > 1e-12 * size ? sd : 0};  // what rounding leaves of a certain figure is none
  }

  // ---- Streams -------------------------------------------------------------------------------

  Entering entering(std::size_t part) const {
    Entering in;
    for (std::size_t s = 0; s < layout_.streams(); ++s) {
      if (!ends_.only_in(s)) continue;
      in.unknowns.push_back(layout_.part(s, part));
      in.sum += at_.x[in.unknowns.back()];
    }
    return in;
  }
  /// An unknown's share of what enters; none where nothing does.
  std::optional<Figure> share(Index unknown, const Entering& in) const {
    if (!(in.sum > 0)) return std::nullopt;
    Slope slope{{unknown, 1 / in.sum}};
    for (Index other : in.unknowns) slope.emplace_back(other, -at_.x[unknown] / (in.sum * in.sum));
    return figure(at_.x[unknown] / in.sum, slope);
  }

  BalancedStream stream(std::size_t s) const {
    const Index m = layout_.mass(s);
    BalancedStream made{figure(at_.x[m], {{m, 1}}), share(m, entering_[0]), {}};
    for (std::size_t a = 0; a < layout_.analytes(); ++a) made.analytes.push_back(analyte(s, a));
    return made;
  }
  BalancedAnalyte analyte(std::size_t s, std::size_t a) const {
    BalancedAnalyte made;
    const Index m = layout_.mass(s), c = layout_.content(s, a);
    if (!at_.empty[s]) {
      const double grade = at_.x[c] / at_.x[m];
      made.grade = figure(grade, {{c, 1 / at_.x[m]}, {m, -grade / at_.x[m]}});
      if (holds_exactly(layout_.grade_of(s, a))) made.grade = layout_.grade_of(s, a);
    }
    made.recovery = share(c, entering_[1 + a]);
    const bool mineral = a < circuit_.minerals.size() && circuit_.minerals[a];
    if (made.recovery && mineral && ends_.only_out(s)) made.separation_efficiency = efficiency(s, a);
    return made;
  }

  /// With content C and mass M of the product, c and w of what enters, m the mineral's grade:
  /// C ÷ c − (M − C ÷ m) ÷ (w − c ÷ m).
  Figure efficiency(std::size_t s, std::size_t a) const {
    const Figure mineral = *circuit_.minerals[a];
    const Entering &mass_in = entering_[0], &in = entering_[1 + a];
    const double per = 1 / mineral.value, here = content(s, a);
    const double rest = mass_in.sum - in.sum * per, lost = (mass(s) - here * per) / rest;
    if (!(rest > 0))
      throw CircuitError("the mineral of " + circuit_.analytes[a] + " (" + in_grams_per_tonne(mineral.value) +
                             ") is no richer than what enters (" + in_grams_per_tonne(in.sum / mass_in.sum) +
                             "): its grade is that of the pure mineral",
                         CircuitError::About::mineral, a);
    Slope slope{{layout_.content(s, a), 1 / in.sum + per / rest}, {layout_.mass(s), -1 / rest}};
    for (Index other : in.unknowns) slope.emplace_back(other, -here / (in.sum * in.sum) - lost * per / rest);
    for (Index other : mass_in.unknowns) slope.emplace_back(other, lost / rest);
    const double by_mineral = (lost * in.sum - here) / rest * per * per;
    return figure(here / in.sum - lost, slope, std::abs(by_mineral) * mineral.sd);
  }

  // ---- How well it fits ----------------------------------------------------------------------

  void judge() {
    out_.degrees = out_.changes.size() - static_cast<std::size_t>(linear_.root.cols());
    if (out_.degrees == 0) return;
    out_.chi_squared = at_.misfit;
    const boost::math::chi_squared distribution(static_cast<double>(out_.degrees));
    out_.p = boost::math::cdf(boost::math::complement(distribution, out_.chi_squared));
    constexpr double some = 1e-9;  // less of the variance taken out is rounding
    double count = 0, largest = 0;
    for (std::size_t i = 0; i < out_.changes.size(); ++i) {
      Adjustment& one = out_.changes[i];
      const double taken = 1 - linear_.leverage[i];
      if (!(taken > some)) continue;
      one.z = (one.measured - one.balanced) / (sd_of(one) * std::sqrt(taken));
      ++count;
      if (!(std::abs(*one.z) > largest * (1 + alike))) continue;
      largest = std::abs(*one.z);
      out_.at_fault = i;
    }
    if (!(largest > passed_by_one_in_twenty(count))) out_.at_fault.reset();
  }
  /// What the largest of so many independent z passes with 5 % chance, of either sign. Source: Z. Šidák, J.
  /// Am. Stat. Assoc. 62 (1967), cited from memory.
  static double passed_by_one_in_twenty(double count) {
    if (!(count > 0)) return 0;
    const double chance = -std::expm1(std::log(0.95) / count);
    return boost::math::quantile(boost::math::complement(boost::math::normal(), chance / 2));
  }
  /// Where one equation binds figures, their z are one and the same.
  static constexpr double alike = 1e-6;

  // ---- Cautions ------------------------------------------------------------------------------

  void tell(std::size_t s, std::string what) {
    out_.cautions.push_back({circuit_.streams[s].name, std::move(what)});
  }

  void caution() {
    if (out_.p && *out_.p < 0.05)
      out_.cautions.push_back(
          {"balance", "the figures do not agree: so large a chi_squared comes by chance in " +
                          (*out_.p < 0.001 ? "less than 0.1 %" : in_percent(*out_.p)) +
                          " of cases; a figure is wrong, or errors are larger than stated"});
    if (out_.at_fault) caution_alike();
    for (std::size_t s = 0; s < layout_.streams(); ++s) {
      if (at_.empty[s] && !holds_exactly(layout_.mass_of(s)))
        tell(s, "the balance leaves no mass for it: 0 kg, and no grades");
      if (!layout_.mass_of(s) && is_hardly_found(out_.streams[s].mass)) tell_hardly_found(s, "its mass");
      for (std::size_t a = 0; a < layout_.analytes(); ++a) caution_grade(s, a);
    }
  }
  void caution_grade(std::size_t s, std::size_t a) {
    const std::string& metal = circuit_.analytes[a];
    const Held how = held(layout_, at_, s, a);
    if (how == Held::at_nothing)
      tell(s, "the grade of " + metal + " is held at 0, and the figures want it below");
    if (how == Held::at_all)
      tell(s, "the grade of " + metal + " is held at 100 %, and the figures want it above");
    const auto& grade = out_.streams[s].analytes[a].grade;
    if (!layout_.grade_of(s, a) && grade && is_hardly_found(*grade))
      tell_hardly_found(s, "its grade of " + metal);
  }
  static bool is_hardly_found(const Figure& figure) {
    return figure.value > 0 && figure.sd > figure.value / 2;
  }
  void tell_hardly_found(std::size_t s, const std::string& what) {
    tell(s, what +
                " is hardly found: its standard uncertainty is more than half of it; where assays hardly "
                "tell the "
                "products apart, weigh the stream or assay again");
  }
  void caution_alike() {
    const Adjustment& worst = out_.changes[*out_.at_fault];
    std::vector<std::string> names;
    for (const Adjustment& one : out_.changes)
      if (one.z && &one != &worst && std::abs(*one.z) >= std::abs(*worst.z) * (1 - alike))
        names.push_back(name(one));
    if (!names.empty())
      tell(worst.stream, "what is at fault may as well be " + one_after_another(names) +
                             ": one balance binds them, and does not tell which of them is wrong");
  }

  const Circuit& circuit_;
  const CircuitLayout& layout_;
  StreamEnds ends_;
  CircuitPoint at_;
  Linearised linear_;
  std::vector<Entering> entering_;  // of the mass and each analyte
  Balance out_;
};

}  // namespace

Balance balanced(const Circuit& circuit, const Watch& watch) {
  const std::size_t figures = circuit.streams.size() * (1 + circuit.analytes.size());
  if (figures > most_balanced_figures)
    throw Error(Code::limit,
                "streams times masses and grades are " + std::to_string(figures) + " figures; up to " +
                    std::to_string(most_balanced_figures) +
                    " are balanced at once: leave out analytes, or balance one section at a time");
  const CircuitLayout layout(circuit);
  require_findable(layout);
  return Balancing(layout, least_misfit(layout, watch)).run();
}

}  // namespace buttonworth
