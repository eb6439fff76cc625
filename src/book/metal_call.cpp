#include "book/metal_call.hpp"

#include <algorithm>

#include "book/normal.hpp"

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

/// What of one metal a stream holds; nothing where no figure tells.
using Content = std::vector<std::optional<Figure>>;

class Accounting {
 public:
  explicit Accounting(const MetalCall& call) : call_(call) {
    const Decimal tail = (1 - call.confidence) / 2;
    reach_ = normal_passed_with(to_double(tail));
    for (const WeighedStream& stream : call.streams) contents_.push_back(content_of(stream));
  }

  Accounted run() {
    caution_idle();
    for (const WorkStage& stage : call_.stages) out_.stages.push_back(account(stage, '"' + stage.what + '"'));
    out_.whole = account(whole(), all);
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
    Content content(call_.analytes.size());
    for (const auto& [metal, mass] : part.content) content[metal] = figure(mass);
    for (const auto& [metal, grade] : part.assays) content[metal] = product(dry_mass(part), figure(grade));
    return content;
  }
  Content content_of(const WeighedStream& stream) {
    Content sum(call_.analytes.size());
    for (const WeighedPart& part : stream.parts) add(content_of(part), sum);
    for (std::size_t i = 0; i < stream.parts.size(); ++i) caution_parts(stream, i, sum);
    return sum;
  }
  static void add(const Content& part, Content& sum) {
    for (std::size_t metal = 0; metal < sum.size(); ++metal)
      if (part[metal]) sum[metal] = sum[metal].value_or(Figure()) += *part[metal];
  }
  void caution_parts(const WeighedStream& stream, std::size_t i, const Content& sum) {
    const Content part = content_of(stream.parts[i]);
    for (Analyte metal = 0; metal < sum.size(); ++metal)
      if (sum[metal] && !part[metal])
        out_.cautions.push_back({stream.name, "entry " + std::to_string(i + 1) + " says nothing of " +
                                                  call_.analytes[metal] + ", which counts as 0 there"});
  }

  // ---- Stages --------------------------------------------------------------------------------

  /// Who only goes in, and who only comes out.
  WorkStage whole() const {
    WorkStage whole;
    for (std::size_t stream = 0; stream < call_.streams.size(); ++stream) {
      const bool in = goes(stream, &WorkStage::in), out = goes(stream, &WorkStage::out);
      if (in && !out) whole.in.push_back(stream);
      if (out && !in) whole.out.push_back(stream);
    }
    return whole;
  }
  bool goes(std::size_t stream, std::vector<std::size_t> WorkStage::*side) const {
    return std::any_of(call_.stages.begin(), call_.stages.end(), [&](const WorkStage& stage) {
      return std::find((stage.*side).begin(), (stage.*side).end(), stream) != (stage.*side).end();
    });
  }
  void caution_idle() {
    for (std::size_t stream = 0; stream < call_.streams.size(); ++stream)
      if (!goes(stream, &WorkStage::in) && !goes(stream, &WorkStage::out))
        out_.cautions.push_back({call_.streams[stream].name, "stands at no stage and is counted nowhere"});
  }

  StageAccount account(const WorkStage& stage, const std::string& at) {
    StageAccount made{stage.what, {}};
    for (Analyte metal = 0; metal < call_.analytes.size(); ++metal) {
      const auto holds = [&](std::size_t stream) { return contents_[stream][metal].has_value(); };
      if (std::none_of(stage.in.begin(), stage.in.end(), holds) &&
          std::none_of(stage.out.begin(), stage.out.end(), holds))
        continue;
      const Figure called = sum(stage.in, metal, at), accounted = sum(stage.out, metal, at);
      made.metal.push_back(judged(metal, called, accounted));
    }
    return made;
  }
  Figure sum(const std::vector<std::size_t>& streams, Analyte metal, const std::string& at) {
    Figure sum;
    for (std::size_t stream : streams) {
      if (contents_[stream][metal]) sum += *contents_[stream][metal];
      else caution_missing(stream, metal, at);
    }
    return sum;
  }
  /// The whole does not repeat what a stage said.
  void caution_missing(std::size_t stream, Analyte metal, const std::string& at) {
    const bool told = std::find(told_.begin(), told_.end(), std::pair(stream, metal)) != told_.end();
    if (told && at == all) return;
    told_.emplace_back(stream, metal);
    out_.cautions.push_back({call_.streams[stream].name, "nothing is said of its " + call_.analytes[metal] +
                                                             ", which counts as 0 in " + at});
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
    const bool chance = at_most(abs(one.difference()), one.interval), over = one.difference() > 0;
    return chance ? over ? CallVerdict::no_gain : CallVerdict::no_loss
           : over ? CallVerdict::gain
                  : CallVerdict::loss;
  }

  inline static const std::string all = "the whole";

  const MetalCall& call_;
  Decimal reach_;  // of the interval, in standard uncertainties
  std::vector<Content> contents_;
  std::vector<std::pair<std::size_t, Analyte>> told_;
  Accounted out_;
};

}  // namespace

Accounted account(const MetalCall& call) { return Accounting(call).run(); }

}  // namespace buttonworth
