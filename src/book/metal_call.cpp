#include "book/metal_call.hpp"

#include <map>

#include "book/normal.hpp"
#include "material/listed.hpp"

namespace buttonworth {
namespace {

/// A mean and its variance.
struct Figure {
  Decimal mean = 0, variance = 0;

  Figure& operator+=(const Figure& other) {
    mean += other.mean, variance += other.variance;
    return *this;
  }
};

Figure product(const Figure& a, const Figure& b) {
  return {a.mean * b.mean,
          a.mean * a.mean * b.variance + b.mean * b.mean * a.variance + a.variance * b.variance};
}

/// What a stream holds, of the metals that are told.
using Content = std::map<Analyte, Figure>;

class Accounting {
 public:
  explicit Accounting(const MetalCall& call) : call_(call), ends_(call.stages, call.streams.size()) {
    reach_ = normal_passed_with(to_double(Decimal((1 - call.confidence) / 2)));
  }

  Accounted run() {
    for (const WeighedStream& stream : call_.streams) contents_.push_back(content_of(stream));
    const WorkStage whole = only_in_or_out();
    for (const WorkStage& stage : call_.stages) {
      out_.stages.push_back(account(stage));
      caution_untold(stage);
    }
    out_.whole = account(whole);
    return std::move(out_);
  }

 private:
  // ---- Streams -------------------------------------------------------------------------------

  Figure figure(Quantity q) const {
    const StatedQuantity& stated = call_.quantities[q];
    return {stated.mean, stated.spread ? variance(*stated.spread) : Decimal(0)};
  }
  Figure dry_mass(const WeighedPart& part) const {
    if (!part.moisture) return figure(*part.mass);
    const Figure moisture = figure(*part.moisture);
    return product(figure(*part.mass), {1 - moisture.mean, moisture.variance});
  }
  Content content_of(const WeighedPart& part) const {
    Content content;
    for (const auto& [metal, mass] : part.content) content[metal] = figure(mass);
    for (const auto& [metal, grade] : part.assays) content[metal] = product(dry_mass(part), figure(grade));
    return content;
  }
  Content content_of(const WeighedStream& stream) {
    std::vector<Content> entries;
    for (const WeighedPart& part : stream.parts) entries.push_back(content_of(part));
    Content sum;
    for (const Content& entry : entries)
      for (const auto& [metal, held] : entry) sum[metal] += held;
    for (const auto& [metal, held] : sum) {
      const auto untold = without(
          metal, entries.size(), [&](std::size_t i) -> auto& { return entries[i]; });
      caution(stream.name, metal, untold.size() == 1 ? "entry " : "entries ", untold,
              [](std::size_t i) { return std::to_string(i + 1); });
    }
    return sum;
  }

  // ---- What is not told ----------------------------------------------------------------------

  /// Which of so many contents lack a metal.
  template <class At>
  static std::vector<std::size_t> without(Analyte metal, std::size_t count, const At& at) {
    std::vector<std::size_t> lacking;
    for (std::size_t i = 0; i < count; ++i)
      if (!at(i).contains(metal)) lacking.push_back(i);
    return lacking;
  }
  template <class Name>
  void caution(const std::string& at, Analyte metal, const char* what, const std::vector<std::size_t>& untold,
               const Name& name) {
    if (untold.empty()) return;
    out_.cautions.push_back({at, "nothing is said of " + call_.analytes[metal] + " in " + what +
                                     listed(untold.size(), [&](std::size_t k) { return name(untold[k]); }) +
                                     ", and it counts as 0 there"});
  }
  void caution_untold(const WorkStage& stage) {
    std::vector<std::size_t> streams = stage.in;
    streams.insert(streams.end(), stage.out.begin(), stage.out.end());
    const auto content = [&](std::size_t i) -> auto& { return contents_[streams[i]]; };
    for (const MetalAccount& one : out_.stages.back().metal)
      caution(stage.what, one.metal, "", without(one.metal, streams.size(), content),
              [&](std::size_t i) { return call_.streams[streams[i]].name; });
  }

  // ---- Stages --------------------------------------------------------------------------------

  /// The whole: what only goes in, and what only comes out.
  WorkStage only_in_or_out() {
    WorkStage whole;
    for (std::size_t stream = 0; stream < call_.streams.size(); ++stream) {
      if (ends_.only_in(stream)) whole.in.push_back(stream);
      if (ends_.only_out(stream)) whole.out.push_back(stream);
      if (ends_.nowhere(stream))
        out_.cautions.push_back({call_.streams[stream].name, "stands at no stage and is counted nowhere"});
    }
    return whole;
  }

  StageAccount account(const WorkStage& stage) const {
    std::map<Analyte, std::pair<Figure, Figure>> metals;
    for (std::size_t stream : stage.in)
      for (const auto& [metal, held] : contents_[stream]) metals[metal].first += held;
    for (std::size_t stream : stage.out)
      for (const auto& [metal, held] : contents_[stream]) metals[metal].second += held;
    StageAccount made{stage.what, {}};
    for (const auto& [metal, sides] : metals) made.metal.push_back(judged(metal, sides.first, sides.second));
    return made;
  }

  MetalAccount judged(Analyte metal, const Figure& called, const Figure& accounted) const {
    MetalAccount one{metal, called.mean, accounted.mean, sqrt(Decimal(called.variance + accounted.variance))};
    one.interval = reach_ * one.uncertainty;
    one.verdict = verdict(one);
    return one;
  }
  static CallVerdict verdict(const MetalAccount& one) {
    if (same(one.accounted, one.called)) return CallVerdict::nothing_missing;
    if (one.uncertainty == 0) return CallVerdict::no_uncertainty;
    const bool over = one.difference() > 0;
    if (at_most(abs(one.difference()), one.interval))
      return over ? CallVerdict::no_gain : CallVerdict::no_loss;
    return over ? CallVerdict::gain : CallVerdict::loss;
  }

  const MetalCall& call_;
  Decimal reach_;  // of the interval, in standard uncertainties
  StreamEnds ends_;
  std::vector<Content> contents_;
  Accounted out_;
};

}  // namespace

Accounted account(const MetalCall& call) { return Accounting(call).run(); }

}  // namespace buttonworth
