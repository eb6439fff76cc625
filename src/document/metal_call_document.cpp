#include "document/metal_call_document.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "document/bench_figures.hpp"
#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/json_text.hpp"
#include "document/schema_parts.hpp"
#include "document/stages_form.hpp"
#include "document/terms_form.hpp"

namespace buttonworth {
namespace {

constexpr const char* call_format = "buttonworth-call/1";
constexpr const char* accounted_format = "buttonworth-accounted/1";

struct Request {
  std::string format, from, to;
  std::vector<WeighedStream> streams;
  std::vector<WorkStageDraft> stages;
  Quantity confidence;
};

// ---- Streams ---------------------------------------------------------------------------------

Form<WeighedPart> part_form() {
  return Fields<WeighedPart>()
      .may("mass", &WeighedPart::mass, quantity(Dimension::mass))
      .may("moisture", &WeighedPart::moisture, quantity(Dimension::share, Allowed::below_all))
      .may("assays", &WeighedPart::assays, analyte_quantities(quantity(Dimension::grade, Allowed::share)))
      .may("content", &WeighedPart::content, analyte_quantities(quantity(Dimension::mass)))
      .one_of({"mass", "content"})
      .one_of({"assays", "content"})
      .not_both("moisture", "content")
      .check([](const Value&, const Place& place, Reader& reader, WeighedPart& out) {
        require_within_whole(out.assays, place, reader);
      })
      .form("an object with mass and assays, or with content");
}

/// One weighing, or several that are added.
Form<WeighedStream> stream_form() {
  const auto parts = one_or_list(part_form());
  return {[parts](const Value& value, const Place& place, Reader& reader, WeighedStream& out) {
            parts.read(value, place, reader, out.parts);
          },
          parts.schema};
}

Form<std::vector<WeighedStream>> streams_form() {
  return map_of<WeighedStream>(
      stream_form(), [](Reader&, const std::string& name, WeighedStream& out) { out.name = name; },
      "an object from streams to what they weigh and hold");
}

void check_request(const Value&, const Place& place, Reader& reader, Request& out) {
  if (!out.from.empty() && !out.to.empty() && out.from > out.to)
    reader.complain(Code::range, Place(place, "to"), "to lies before from");
  if (reader.quantities[out.confidence].mean >= 1)
    reader.complain(Code::range, Place(place, "confidence"),
                    "no interval is wide enough for certainty: it must be below 100 %, as in \"95 %\"");
}

const Form<Request>& request_form() {
  static const Form<Request> form = Fields<Request>()
                                        .need("format", &Request::format, format_form(call_format))
                                        .may("from", &Request::from, date_form())
                                        .may("to", &Request::to, date_form())
                                        .need("streams", &Request::streams, streams_form())
                                        .need("stages", &Request::stages, list_of(work_stage_form(), 1))
                                        .may("confidence", &Request::confidence,
                                             quantity(Dimension::share, Allowed::positive_share), "95 %")
                                        .check(check_request)
                                        .form("an object: streams and stages");
  return form;
}

// ---- The answer ------------------------------------------------------------------------------

constexpr std::array verdicts{"nothing missing",     "no uncertainty given", "no evidence of loss",
                              "no evidence of gain", "evidence of loss",     "evidence of gain"};

const char* verdict_text(const MetalAccount& one) { return verdicts[static_cast<std::size_t>(one.verdict)]; }

/// Rounded to the place of the second digit of another figure.
class ToItsPlace {
 public:
  explicit ToItsPlace(const Decimal& measure) {
    order_ = static_cast<int>(std::floor(std::log10(to_double(measure))));
    if (rounded(measure) >= power_of_ten(order_ + 1)) ++order_;  // 9.96 is 10
  }
  std::string text(const Decimal& value) const {
    const int places = std::max(0, 1 - order_);
    return to_text(rounded(value), Digits{40, places, places});
  }

 private:
  Decimal rounded(const Decimal& value) const {
    return round_to(value, power_of_ten(order_ - 1), power_of_ten(1 - order_), RoundingMode::half_up);
  }
  int order_;
};

/// One line for the person who has to look for it.
std::string say(const MetalAccount& one) {
  if (one.verdict == CallVerdict::nothing_missing) return verdict_text(one);
  const Decimal grams = abs(Decimal(one.difference() * 1000)), interval = one.interval * 1000;
  const ToItsPlace place(interval > 0 ? interval : grams);
  std::string text = place.text(grams) + (one.difference() < 0 ? " g short" : " g over");
  if (interval > 0) text += ", ± " + place.text(interval) + " g";
  return text + ": " + verdict_text(one);
}

class AccountedText {
 public:
  explicit AccountedText(const MetalCall& call) : call_(call) {}

  std::string run(const Accounted& accounted) {
    out_.open('{').field("format", accounted_format);
    if (!call_.from.empty()) out_.field("from", call_.from);
    if (!call_.to.empty()) out_.field("to", call_.to);
    out_.field("confidence", to_text(Decimal(call_.confidence * 100)) + " %").key("stages").open('[');
    for (const StageAccount& stage : accounted.stages) {
      out_.open('{').field("what", stage.what);
      metal(stage);
      out_.close('}');
    }
    out_.close(']').key("whole").open('{');
    metal(accounted.whole);
    write_cautions(out_.close('}'), accounted.cautions);
    out_.close('}');
    return out_.take();
  }

 private:
  void metal(const StageAccount& stage) {
    out_.key("metal").open('{');
    for (const MetalAccount& one : stage.metal) write(one);
    out_.close('}');
  }
  void write(const MetalAccount& one) {
    out_.key(call_.analytes[one.metal]).open('{').field("called", grams_text(one.called));
    out_.field("accounted", grams_text(one.accounted)).field("difference", grams_text(one.difference()));
    // The quantile is a double.
    if (one.interval > 0)
      out_.field("interval", to_text(Decimal(one.interval * 1000), Digits{12, 12, 0}) + " g");
    if (one.called > 0)
      out_.field("share", Figures<Decimal>::percent_text(Decimal(one.accounted / one.called)));
    if (one.uncertainty > 0)
      out_.field("z", to_text(Decimal(one.difference() / one.uncertainty), Digits{6, 6, 0}));
    out_.field("verdict", verdict_text(one)).field("say", say(one)).close('}');
  }

  const MetalCall& call_;
  JsonText out_;
};

}  // namespace

MetalCallReading read_metal_call(const Value& document, const DocumentLimits& limits) {
  Reader reader(limits);
  Request request;
  request_form().read(document, Place(), reader, request);
  MetalCallReading read;
  std::vector<std::string> streams;
  for (const WeighedStream& stream : request.streams) streams.push_back(stream.name);
  if (reader.complaints.empty())
    read.call.stages = placed(request.stages, streams, "stage", Place(Place(), "stages"), reader);
  read.complaints = std::move(reader.complaints);
  if (!read.complaints.empty()) return read;
  read.call.from = std::move(request.from), read.call.to = std::move(request.to);
  read.call.streams = std::move(request.streams);
  read.call.confidence = reader.quantities[request.confidence].mean;
  read.call.analytes = std::move(reader.analytes);
  read.call.quantities = std::move(reader.quantities);
  return read;
}

std::string accounted_text(const MetalCall& call, const Accounted& accounted) {
  return AccountedText(call).run(accounted);
}

Json call_schema() {
  return whole_schema("Metal called for, for Buttonworth, format 1", request_form().schema);
}

Json accounted_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, gram = text_with(" g"), share = text_with(" %"),
                                       number = text_with("");
  const Json day = schema_parts::day();
  const Json metal = named(object_of({{"called", gram},
                                      {"accounted", gram},
                                      {"difference", gram},
                                      {"interval", gram},
                                      {"share", share},
                                      {"z", number},
                                      {"verdict", {{"enum", verdicts}}},
                                      {"say", text}},
                                     {"interval", "share", "z"}));
  return whole_schema("Metal accounted for by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", accounted_format}}},
                      {"from", day},
                      {"to", day},
                      {"confidence", share},
                      {"stages", list(object_of({{"what", text}, {"metal", metal}}))},
                      {"whole", object_of({{"metal", metal}})},
                      {"cautions", list(object_of({{"at", text}, {"what", text}}))}},
                     {"from", "to"});
  });
}

}  // namespace buttonworth
