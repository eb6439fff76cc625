#include "bench/sampling.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/heading_form.hpp"
#include "document/schema_parts.hpp"
#include "quantity/edge.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* screen_assay_format = "buttonworth-screen-assay/1";
constexpr const char* screened_grade_format = "buttonworth-screened-grade/1";

struct Part {
  Quantity mass;
  std::optional<Quantity> metal, grade;
};
struct Request {
  std::string format;
  Part coarse, fine;
};

Fields<Part> part_fields() {
  return Fields<Part>().need("mass", &Part::mass, quantity(Dimension::mass, Allowed::positive));
}

Form<Part> coarse_form() {
  return part_fields()
      .may("metal", &Part::metal, quantity(Dimension::mass))
      .may("grade", &Part::grade, quantity(Dimension::grade, Allowed::share))
      .one_of({"metal", "grade"})
      .check([](const Value&, const Place& place, Reader& reader, Part& out) {
        if (out.metal && reader.exceeds(*out.metal, out.mass))
          reader.complain(Code::range, Place(place, "metal"), "more metal than the coarse part weighs");
      })
      .form("an object: mass, and metal or grade");
}
Form<Part> fine_form() {
  return part_fields()
      .need("grade", &Part::grade, quantity(Dimension::grade, Allowed::share))
      .form("an object: mass and grade");
}

const Form<Request>& request_form() {
  static const Form<Request> form = Fields<Request>()
                                        .need("format", &Request::format, format_form(screen_assay_format))
                                        .need("coarse", &Request::coarse, coarse_form())
                                        .need("fine", &Request::fine, fine_form())
                                        .form("an object: the coarse and the fine part");
  return form;
}

constexpr double much = 0.2;  // of the metal in the coarse part

std::string answer(const Value& document, Reader& reader, const Watch&) {
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  const bool by_grade = request.coarse.grade.has_value();
  const Figure coarse_metal = figure_of(reader, by_grade ? request.coarse.grade : request.coarse.metal);
  const auto found = propagated({figure_of(reader, request.coarse.mass), coarse_metal,
                                 figure_of(reader, request.fine.mass), figure_of(reader, request.fine.grade)},
                                [by_grade](const std::vector<double>& x) {
                                  const double metal = by_grade ? x[0] * x[1] : x[1];
                                  const double grade = screened_grade(x[0], metal, x[2], x[3]),
                                               all = grade * (x[0] + x[2]);
                                  return std::vector<double>{grade, all > 0 ? metal / all : 0};
                                });
  std::vector<Caution> cautions;
  if (above(found[1].value, much))
    cautions.push_back({"coarse",
                        "much of the metal is coarse: an assay of the sample as it is, without screening, "
                        "means little."});
  JsonText out;
  out.open('{').field("format", screened_grade_format);
  write_figure(out, "grade", found[0], grams_per_tonne);
  if (found[0].value > 0) write_figure(out, "coarse_share", found[1], percent);
  write_cautions(out, cautions);
  return out.close('}').take();
}

Json schema() { return whole_schema("An assay by screen, for Buttonworth, format 1", request_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  return whole_schema("A screened sample's grade by Buttonworth, format 1", [](SchemaBook&) {
    return object_of({{"format", {{"const", screened_grade_format}}},
                      {"grade", figure_in(grams_per_tonne)},
                      {"coarse_share", figure_in(percent)},
                      {"cautions", cautions()}},
                     {"coarse_share"});
  });
}

}  // namespace

const BenchRequest screen_assay_request{screen_assay_format, answer,       "screen-assay", schema,
                                        "screened-grade",    answer_schema};

}  // namespace buttonworth
