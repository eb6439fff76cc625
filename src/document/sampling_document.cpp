#include <algorithm>
#include <array>

#include "bench/replicates.hpp"
#include "bench/sampling.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/schema_parts.hpp"
#include "quantity/edge.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* sampling_format = "buttonworth-sampling/1";
constexpr const char* sampling_error_format = "buttonworth-sampling-error/1";

Form<Quantity> number(Allowed allowed) { return quantity(Dimension::number, allowed); }
Form<Quantity> positive(Dimension dimension) { return quantity(dimension, Allowed::positive); }
Form<Quantity> grade(Allowed allowed = Allowed::positive_share) {
  return quantity(Dimension::grade, allowed);
}

// ---- The request -----------------------------------------------------------------------------

struct MaterialDraft {
  Quantity top_size, shape, size_range, liberation_size, mineral_grade, mineral_density, gangue_density;
};

const Form<MaterialDraft>& material_form() {
  static const Form<MaterialDraft> form =
      Fields<MaterialDraft>()
          .need("top_size", &MaterialDraft::top_size, positive(Dimension::length))
          .may("shape", &MaterialDraft::shape, number(Allowed::positive), "0.5")
          .may("size_range", &MaterialDraft::size_range, number(Allowed::positive), "0.25")
          .need("liberation_size", &MaterialDraft::liberation_size, positive(Dimension::length))
          .need("mineral_grade", &MaterialDraft::mineral_grade, grade())
          .need("mineral_density", &MaterialDraft::mineral_density, positive(Dimension::density))
          .need("gangue_density", &MaterialDraft::gangue_density, positive(Dimension::density))
          .form("an object: the factors of the fundamental error");
  return form;
}

struct GrainsDraft {
  std::optional<Quantity> size, mass, density, fineness;
  Quantity mass_spread;
};

const Form<GrainsDraft>& grains_form() {
  static const Form<GrainsDraft> form =
      Fields<GrainsDraft>()
          .may("size", &GrainsDraft::size, positive(Dimension::length))
          .may("mass", &GrainsDraft::mass, positive(Dimension::mass))
          .may("density", &GrainsDraft::density, positive(Dimension::density))
          .may("fineness", &GrainsDraft::fineness, grade())
          .may("mass_spread", &GrainsDraft::mass_spread, quantity(Dimension::share), "0 %")
          .one_of({"size", "mass"})
          .not_both("mass", "density")
          .not_both("mass", "fineness")
          .check([](const Value& value, const Place& place, Reader& reader, GrainsDraft&) {
            if (value.find("size") != nullptr && value.find("density") == nullptr)
              reader.complain(Code::missing_field, place,
                              "grains of a size want their density, as in \"17 kg/L\"");
          })
          .form("an object: grains by size and density, or by mass");
  return form;
}

struct StageDraft {
  std::string what;
  std::optional<Quantity> sample, lot, top_size, grain_size, error;
  std::optional<bool> repeated;
};

const Form<StageDraft>& stage_form() {
  static const Form<StageDraft> form =
      Fields<StageDraft>()
          .need("what", &StageDraft::what, text_form())
          .may("lot", &StageDraft::lot, positive(Dimension::mass))
          .may("sample", &StageDraft::sample, positive(Dimension::mass))
          .may("top_size", &StageDraft::top_size, positive(Dimension::length))
          .may("grain_size", &StageDraft::grain_size, positive(Dimension::length))
          .may("error", &StageDraft::error, quantity(Dimension::share))
          .may("repeated", &StageDraft::repeated, boolean_form())
          .form("an object: what, and sample or error");
  return form;
}

struct Duplicates {
  Quantity a, b;
};

struct Request {
  std::string format;
  std::optional<Quantity> grade, target;
  std::optional<MaterialDraft> material;
  std::optional<GrainsDraft> grains;
  std::vector<StageDraft> stages;
  std::vector<Quantity> determinations;
  std::vector<Duplicates> duplicates;
};

void check_stage(const StageDraft& stage, const Request& request, const Place& at, Reader& reader) {
  if (!stage.sample && !stage.error)
    reader.complain(Code::missing_field, at, "the stage wants a sample, an error of its own, or both");
  if (stage.sample && !request.material && !request.grains)
    reader.complain(Code::missing_field, at,
                    "an error of sampling wants material, grains, or both beside the stages");
  if (stage.sample && stage.lot && reader.exceeds(*stage.sample, *stage.lot))
    reader.complain(Code::range, Place(at, "lot"), "the lot is smaller than the sample taken from it");
  if (!stage.sample && stage.lot)
    reader.complain(Code::conflict, Place(at, "lot"), "a lot goes with the sample taken from it");
  if (stage.top_size && !request.material)
    reader.complain(Code::conflict, Place(at, "top_size"), "a stage's top size goes with material");
  if (stage.grain_size && !(request.grains && request.grains->size))
    reader.complain(Code::conflict, Place(at, "grain_size"),
                    "a stage's grain size goes with grains of a size");
}

void check_request(const Value&, const Place& place, Reader& reader, Request& out) {
  if (!out.grade && out.determinations.empty())
    reader.complain(Code::missing_field, place, "the field grade is missing: the grade to be expected");
  const Place stages(place, "stages");
  for (std::size_t i = 0; i < out.stages.size(); ++i)
    check_stage(out.stages[i], out, Place(stages, i), reader);
  if (!out.grade || !reader.complaints.empty()) return;
  const double grade = value_of(reader, *out.grade);
  if (!(grade < 1)) reader.complain(Code::range, Place(place, "grade"), "the grade is to be below 100 %");
  if (out.material && !(grade < value_of(reader, out.material->mineral_grade)))
    reader.complain(Code::range, Place(Place(place, "material"), "mineral_grade"),
                    "the mineral is to be richer than the material it stands in");
}

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(sampling_format))
          .may("grade", &Request::grade, grade())
          .may("material", &Request::material, material_form())
          .may("grains", &Request::grains, grains_form())
          .need("stages", &Request::stages, list_of(stage_form(), 1))
          .may("determinations", &Request::determinations, list_of(grade(), 1))
          .may("duplicates", &Request::duplicates,
               list_of(pair_of(&Duplicates::a, grade(), &Duplicates::b, grade(), "[grade, grade]"), 1))
          .may("target", &Request::target, quantity(Dimension::share, Allowed::positive))
          .check(check_request)
          .form("an object: grade, material or grains, and stages");
  return form;
}

// ---- The sums --------------------------------------------------------------------------------

/// What the request says, in the bench's units: grams and centimetres.
class Bench {
 public:
  Bench(const Request& request, const Reader& reader) : request_(request), reader_(reader) {
    for (Quantity one : request.determinations) found_.push_back(value(one));
    shown = replicates(found_);
    grade = request.grade ? value(*request.grade) : shown.mean;
    for (const StageDraft& stage : request.stages) stages.push_back(stage_of(stage));
    for (const SamplingStage& stage : stages) errors.push_back(stage_error(stage, grade));
    const double of_mean = shown.count > 1 ? shown.of_mean / shown.mean : 0;
    error = protocol_error(stages, errors, std::max<std::size_t>(shown.count, 1), of_mean);
  }

  /// The grade that the error is of.
  double result() const { return shown.count > 0 ? shown.mean : grade; }
  std::optional<double> sample_wanted(std::size_t stage) const {
    if (!request_.target || errors[stage].constant <= 0) return std::nullopt;
    return smallest_sample(errors[stage].constant, value(*request_.target), stages[stage].lot);
  }

  std::vector<SamplingStage> stages;
  std::vector<StageError> errors;
  Replicates shown;
  double grade = 0, error = 0;

 private:
  double value(Quantity q) const { return value_of(reader_, q); }
  std::optional<double> grams_of(const std::optional<Quantity>& mass) const {
    return mass ? std::optional(1000 * value(*mass)) : std::nullopt;
  }
  SampledMaterial material_of(const StageDraft& stage) const {
    const MaterialDraft& m = *request_.material;
    return {value(stage.top_size.value_or(m.top_size)),
            value(m.shape),
            value(m.size_range),
            value(m.liberation_size),
            grade / value(m.mineral_grade),
            value(m.mineral_density),
            value(m.gangue_density)};
  }
  GoldGrains grains_of(const StageDraft& stage) const {
    const GrainsDraft& g = *request_.grains;
    const double spread = value(g.mass_spread);
    if (g.mass) return {1000 * value(*g.mass), spread};
    return {sphere_mass(value(stage.grain_size.value_or(*g.size)), value(*g.density),
                        g.fineness ? value(*g.fineness) : 1),
            spread};
  }
  SamplingStage stage_of(const StageDraft& draft) const {
    SamplingStage stage{.what = draft.what,
                        .sample = grams_of(draft.sample),
                        .lot = grams_of(draft.lot),
                        .material = {},
                        .grains = {}};
    if (draft.sample && request_.material) stage.material = material_of(draft);
    if (draft.sample && request_.grains) stage.grains = grains_of(draft);
    if (draft.error) stage.own_error = value(*draft.error);
    stage.repeated = draft.repeated.value_or(false);
    return stage;
  }

  const Request& request_;
  const Reader& reader_;
  std::vector<double> found_;
};

// ---- Cautions --------------------------------------------------------------------------------

constexpr double coarse = 0.1, small_sample = 50;  // cm, g

std::string few_grains(const SamplingStage& stage, const StageError& error, double grade) {
  const double for_enough = enough_grains * stage.grains->mass / grade;
  return "about " + to_text(*error.grains, Digits{2, 12, 0}) +
         " grains of gold are expected in this sample: one grain more or less decides the assay. A sample "
         "of " +
         to_text(for_enough, Digits{2, 2, 0}) +
         " g would hold twenty; screen out the coarse gold and assay it whole, or table the sample, before "
         "trusting a small one.";
}

std::vector<Caution> cautions_of(const Bench& bench) {
  std::vector<Caution> cautions;
  for (std::size_t i = 0; i < bench.stages.size(); ++i) {
    const SamplingStage& stage = bench.stages[i];
    const StageError& error = bench.errors[i];
    if (error.grains && above(enough_grains, *error.grains))
      cautions.push_back({stage.what, few_grains(stage, error, bench.grade)});
    if (stage.material && !stage.grains && above(stage.material->top_size, coarse) &&
        above(small_sample, *stage.sample))
      cautions.push_back({stage.what,
                          "so small a sample of coarse material: if some of the gold is as coarse, state its "
                          "grains, for the fundamental error supposes many particles."});
  }
  if (bench.shown.count > 0 && bench.shown.count < 4)
    cautions.push_back({"determinations", "fewer than four determinations tell little of their spread."});
  return cautions;
}

// ---- The answer ------------------------------------------------------------------------------

constexpr std::array rules{"grain count", "fundamental error", "stated"};

void write_stage(JsonText& out, const Bench& bench, std::size_t i) {
  const StageError& error = bench.errors[i];
  out.open('{').field("what", bench.stages[i].what);
  if (error.fundamental) write_value(out, "fundamental_error", *error.fundamental, percent);
  if (error.grains) {
    write_value(out, "grains", *error.grains, plain);
    write_value(out, "grain_error", *error.by_count, percent);
    write_value(out, "within_half", chance_within(*error.grains, 0.5), percent);
  }
  out.field("applies", word(rules, error.rule));
  write_value(out, "error", error.error, percent);
  if (const auto sample = bench.sample_wanted(i)) write_value(out, "smallest_sample", *sample / 1000, grams);
  out.close('}');
}

void write_duplicates(JsonText& out, const Request& request, const Reader& reader) {
  std::vector<std::pair<double, double>> pairs;
  for (const Duplicates& pair : request.duplicates)
    pairs.emplace_back(value_of(reader, pair.a), value_of(reader, pair.b));
  out.key("duplicates").open('{').field("pairs", std::to_string(pairs.size()));
  write_value(out, "error", duplicate_rsd(pairs), percent);
  out.close('}');
}

void write_result(JsonText& out, const Bench& bench) {
  const std::string value = bench_text(bench.result(), grams_per_tonne);
  if (!(bench.error > 0)) {
    out.field("result", value);
    return;
  }
  out.key("result").open('{').field("value", value);
  out.field("rsd", bench_sd_text(bench.error, percent)).close('}');
}

std::string answer(const Value& document, Reader& reader, const Watch&) {
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  const Bench bench(request, reader);
  JsonText out;
  out.open('{').field("format", sampling_error_format);
  write_value(out, "grade", bench.grade, grams_per_tonne);
  out.key("stages").open('[');
  for (std::size_t i = 0; i < bench.stages.size(); ++i) write_stage(out, bench, i);
  out.close(']');
  if (bench.shown.count > 0) {
    out.key("determinations").open('{').field("count", std::to_string(bench.shown.count));
    write_value(out, "mean", bench.shown.mean, grams_per_tonne);
    if (bench.shown.count > 1) {
      write_value(out, "sd", bench.shown.sd, grams_per_tonne);
      write_value(out, "sd_of_mean", bench.shown.of_mean, grams_per_tonne);
    }
    out.close('}');
  }
  if (!request.duplicates.empty()) write_duplicates(out, request, reader);
  write_value(out, "error", bench.error, percent);
  write_result(out, bench);
  write_cautions(out, cautions_of(bench));
  return out.close('}').take();
}

Json schema() { return whole_schema("Sampling, for Buttonworth, format 1", request_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, share = value_in(percent), ppm = value_in(grams_per_tonne),
                                       count = value_in(plain);
  const Json stage =
      object_of({{"what", text},
                 {"fundamental_error", share},
                 {"grains", count},
                 {"grain_error", share},
                 {"within_half", share},
                 {"applies", {{"enum", rules}}},
                 {"error", share},
                 {"smallest_sample", value_in(grams)}},
                {"fundamental_error", "grains", "grain_error", "within_half", "smallest_sample"});
  return whole_schema("Sampling error by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of(
        {{"format", {{"const", sampling_error_format}}},
         {"grade", ppm},
         {"stages", list(stage)},
         {"determinations", object_of({{"count", count}, {"mean", ppm}, {"sd", ppm}, {"sd_of_mean", ppm}},
                                      {"sd", "sd_of_mean"})},
         {"duplicates", object_of({{"pairs", count}, {"error", share}})},
         {"error", share},
         {"result", {{"oneOf", {ppm, object_of({{"value", ppm}, {"rsd", share}})}}}},
         {"cautions", cautions()}},
        {"determinations", "duplicates"});
  });
}

}  // namespace

const BenchRequest sampling_request{sampling_format, answer,           "sampling",
                                    schema,          "sampling-error", answer_schema};

}  // namespace buttonworth
