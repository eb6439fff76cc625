#include <algorithm>
#include <cmath>

#include "bench/replicates.hpp"
#include "bench/run_sheet.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/heading_form.hpp"
#include "document/schema_parts.hpp"
#include "document/terms_form.hpp"
#include "quantity/edge.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* run_sheet_format = "buttonworth-run-sheet/1";
constexpr const char* lot_format = "buttonworth-lot/1";

// ---- The request -----------------------------------------------------------------------------

struct Buckets {
  Quantity count, volume, fill, bulk_density;
};
struct MoistureSample {
  Quantity wet, dry;
  std::optional<Quantity> container;
};
struct Composite {
  std::string what;
  std::optional<Quantity> mass;
  std::vector<AnalyteQuantity> assays;
};
/// Moisture as samples, or as a quantity.
struct Moisture {
  std::vector<MoistureSample> samples;
  std::optional<Quantity> stated;
};
struct Request {
  std::string format, id, date;
  std::optional<Quantity> cycles;
  std::vector<Quantity> rinses;
  std::vector<Buckets> buckets;
  Moisture moisture;
  std::vector<Composite> composites;
  std::vector<AnalyteQuantity> assays;
};

Form<Buckets> bucket_form() {
  return Fields<Buckets>()
      .need("count", &Buckets::count, quantity(Dimension::number, Allowed::positive))
      .need("volume", &Buckets::volume, quantity(Dimension::volume, Allowed::positive))
      .may("fill", &Buckets::fill, quantity(Dimension::share, Allowed::positive), "100 %")
      .need("bulk_density", &Buckets::bulk_density, quantity(Dimension::density, Allowed::positive))
      .form("an object: count, volume, fill and bulk_density");
}
/// One, or a list of them.
Form<std::vector<Buckets>> buckets_form() { return one_or_list(bucket_form()); }

void check_moisture_sample(const Value&, const Place& place, Reader& reader, MoistureSample& out) {
  if (out.wet.index == 0 || out.dry.index == 0) return;
  const double wet = value_of(reader, out.wet), dry = value_of(reader, out.dry),
               container = out.container ? value_of(reader, *out.container) : 0;
  if (dry > wet)
    reader.complain(Code::range, Place(place, "dry"),
                    "the dry sample weighs more than the wet one: are they exchanged?");
  if (container >= dry)
    reader.complain(Code::range, Place(place, "container"),
                    "the container weighs no less than the dry sample in it: state the dry weighing with its "
                    "container, or leave container out");
}
Form<MoistureSample> moisture_sample_form() {
  const auto mass = quantity(Dimension::mass, Allowed::positive);
  return Fields<MoistureSample>()
      .need("wet", &MoistureSample::wet, mass)
      .need("dry", &MoistureSample::dry, mass)
      .may("container", &MoistureSample::container, quantity(Dimension::mass))
      .check(check_moisture_sample)
      .form("an object: wet and dry, and container if it was weighed with them");
}
Form<Moisture> moisture_form() {
  const auto list = list_of(moisture_sample_form(), 1);
  const auto stated = quantity(Dimension::share, Allowed::below_all);
  return {[=](const Value& value, const Place& place, Reader& reader, Moisture& out) {
            if (value.kind == Value::Kind::list) list.read(value, place, reader, out.samples);
            else stated.read(value, place, reader, out.stated.emplace());
          },
          [=](SchemaBook& book) {
            return Json{{"anyOf", {list.schema(book), stated.schema(book)}}};
          }};
}

Form<std::vector<AnalyteQuantity>> assays_form() {
  return analyte_quantities(quantity(Dimension::grade, Allowed::share));
}
Form<Composite> composite_form() {
  return Fields<Composite>()
      .may("what", &Composite::what, text_form())
      .may("mass", &Composite::mass, quantity(Dimension::mass, Allowed::positive))
      .need("assays", &Composite::assays, assays_form())
      .check([](const Value&, const Place& place, Reader& reader, Composite& out) {
        require_within_whole(out.assays, place, reader);
      })
      .form("an object: mass and assays");
}

void check_composites(const Place& place, Reader& reader, const Request& out) {
  std::size_t weighed = 0;
  for (const Composite& one : out.composites) weighed += one.mass.has_value();
  if (weighed == 0 || weighed == out.composites.size()) return;
  for (std::size_t i = 0; i < out.composites.size(); ++i)
    if (!out.composites[i].mass)
      reader.complain(
          Code::missing_field, Place(Place(place, "composites"), i),
          "other composites have a mass and this one has none: state it, or leave all of them out");
}

void check_request(const Value&, const Place& place, Reader& reader, Request& out) {
  check_composites(place, reader, out);
  require_within_whole(out.assays, place, reader);
  if (!out.cycles || out.cycles->index == 0) return;
  if (value_of(reader, *out.cycles) < static_cast<double>(out.rinses.size()))
    reader.complain(Code::range, Place(place, "cycles"), "more rinses are listed than cycles were run");
}

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(run_sheet_format))
          .may("id", &Request::id, text_form())
          .may("date", &Request::date, date_form())
          .may("cycles", &Request::cycles, quantity(Dimension::number, Allowed::at_least_one))
          .may("rinses", &Request::rinses, list_of(quantity(Dimension::mass, Allowed::positive), 1))
          .may("buckets", &Request::buckets, buckets_form())
          .one_of({"rinses", "buckets"})
          .not_both("cycles", "buckets")
          .may("moisture", &Request::moisture, moisture_form())
          .may("composites", &Request::composites, list_of(composite_form(), 1))
          .may("assays", &Request::assays, assays_form())
          .not_both("composites", "assays")
          .check(check_request)
          .form("an object: rinses or buckets, moisture, and composites or assays");
  return form;
}

// ---- The sums --------------------------------------------------------------------------------

struct Assayed {
  Analyte analyte;
  Figure grade;
};

/// The lot that the sheet makes; kilograms.
class Sheet {
 public:
  Sheet(const Request& request, const Reader& reader) : request_(request), reader_(reader) {
    for (Quantity one : request.rinses) rinses.push_back(figure(one));
    wet = request.buckets.empty() ? cycles_mass(rinses, cycles()) : buckets();
    for (const MoistureSample& one : request.moisture.samples) moistures.push_back(moisture_figure(one));
    moisture = moistures.empty() ? figure_of(reader, request.moisture.stated) : mean_figure(moistures);
    for (const AnalyteQuantity& one : request.assays) assays.push_back({one.analyte, figure(one.quantity)});
    for (std::size_t a = 0; request.assays.empty() && a < reader.analytes.size(); ++a) add_composite(a);
  }

  Figure dry() const {
    return propagated_one({wet, moisture}, [](const std::vector<double>& x) { return dry_mass(x[0], x[1]); });
  }
  Figure content(const Assayed& one) const {
    return propagated_one({wet, moisture, one.grade},
                          [](const std::vector<double>& x) { return dry_mass(x[0], x[1]) * x[2]; });
  }
  std::optional<double> cycles() const {
    return request_.cycles ? std::optional(figure(*request_.cycles).value) : std::nullopt;
  }

  std::vector<Figure> rinses, moistures;
  Figure wet, moisture;
  std::vector<Assayed> assays;
  std::vector<std::string> partly_assayed;

 private:
  Figure figure(Quantity q) const { return figure_of(reader_, q); }
  Figure buckets() const {
    Figure sum;
    for (const Buckets& one : request_.buckets) {
      const Figure mass =
          propagated_one({figure(one.count), figure(one.volume), figure(one.fill), figure(one.bulk_density)},
                         [](const std::vector<double>& x) { return buckets_mass(x[0], x[1], x[2], x[3]); });
      sum = {sum.value + mass.value, std::hypot(sum.sd, mass.sd)};
    }
    return sum;
  }
  Figure moisture_figure(const MoistureSample& one) const {
    return propagated_one({figure(one.wet), figure(one.dry), figure_of(reader_, one.container)},
                          [](const std::vector<double>& x) { return moisture_of(x[0], x[1], x[2]); });
  }
  void add_composite(std::size_t analyte) {
    std::vector<Figure> masses, grades;
    for (const Composite& one : request_.composites)
      for (const AnalyteQuantity& assay : one.assays) {
        if (assay.analyte != analyte) continue;
        masses.push_back(one.mass ? figure(*one.mass) : Figure{1, 0});
        grades.push_back(figure(assay.quantity));
      }
    assays.push_back({static_cast<Analyte>(analyte), composite_grade(masses, grades)});
    if (grades.size() < request_.composites.size()) partly_assayed.push_back(reader_.analytes[analyte]);
  }

  const Request& request_;
  const Reader& reader_;
};

// ---- Cautions --------------------------------------------------------------------------------

std::string numbered(const std::vector<std::size_t>& places) {
  std::string text;
  for (std::size_t i = 0; i < places.size(); ++i)
    text += (i == 0 ? "" : i + 1 == places.size() ? " and " : ", ") + std::to_string(places[i] + 1);
  return text;
}

/// Figures that differ by no more than one in a hundred are no reason to look again.
void caution_far(std::vector<Caution>& out, const std::vector<Figure>& figures, const char* at,
                 const char* what) {
  std::vector<double> values;
  for (const Figure& one : figures) values.push_back(one.value);
  if (values.empty()) return;
  const double hundredth = std::abs(median_of(values)) / 100;
  const auto far = far_from_the_rest(values, std::vector<double>(values.size(), hundredth));
  if (far.empty()) return;
  out.push_back({at, std::string("number ") + numbered(far) + (far.size() == 1 ? " lies" : " lie") +
                         " far from the rest: " + what});
}

void caution_moisture(std::vector<Caution>& out, double moisture) {
  if (above(0.01, moisture) || above(moisture, 0.35))
    out.push_back(
        {"moisture", "a moisture of " + bench_text(moisture, percent) +
                         " is unusual for a drained concentrate, 1 to 35 %: look at the weighings."});
}

void caution_buckets(std::vector<Caution>& out, const Buckets& one, const Reader& reader) {
  const double density = value_of(reader, one.bulk_density);
  if (above(1.0, density) || above(density, 4.0))
    out.push_back(
        {"buckets", "a bulk density of " + bench_text(density, kilograms_per_litre) +
                        " is not that of a concentrate as it lies in a bucket, 1 to 4 kg/L: weigh a "
                        "full bucket."});
  if (above(value_of(reader, one.fill), 1.0))
    out.push_back({"buckets", "buckets are filled above the brim: fill is a share of the volume."});
}

std::vector<Caution> cautions_of(const Request& request, const Sheet& sheet, const Reader& reader) {
  std::vector<Caution> out;
  for (const Buckets& one : request.buckets) caution_buckets(out, one, reader);
  caution_far(out, sheet.rinses, "rinses", "was it a whole cycle, and weighed alike?");
  const double weighed = static_cast<double>(sheet.rinses.size());
  if (sheet.cycles() && above(*sheet.cycles(), 3 * weighed))
    out.push_back(
        {"rinses", "less than a third of the cycles were weighed: the rest are taken to be like these."});
  if (sheet.cycles() && weighed == 1 && *sheet.cycles() > 1)
    out.push_back(
        {"rinses", "one cycle alone tells nothing of how they vary: the mass looks surer than it is."});
  caution_far(out, sheet.moistures, "moisture", "dry and weigh it again, or take another sample.");
  for (const Figure& one : sheet.moistures) caution_moisture(out, one.value);
  if (request.moisture.stated) caution_moisture(out, sheet.moisture.value);
  for (const std::string& name : sheet.partly_assayed)
    out.push_back({"composites",
                   "some composites were not assayed for " + name + ": its grade is that of the others."});
  return out;
}

// ---- The answer ------------------------------------------------------------------------------

/// Moisture and assays that the request states as quantities stay as they were written.
void write_lot(JsonText& out, const Request& request, const Value& document, const Sheet& sheet,
               const Reader& reader) {
  out.key("lot").open('{');
  if (!request.id.empty()) out.field("id", request.id);
  if (!request.date.empty()) out.field("date", request.date);
  write_figure(out, "wet_mass", sheet.wet, kilograms);
  if (request.moisture.stated) out.key("moisture").bare(write_json(*document.find("moisture")));
  else if (!sheet.moistures.empty()) write_figure(out, "moisture", sheet.moisture, percent);
  if (!request.assays.empty()) {
    out.key("assays").bare(write_json(*document.find("assays")));
  } else if (!sheet.assays.empty()) {
    out.key("assays").open('{');
    for (const Assayed& one : sheet.assays)
      write_figure(out, reader.analytes[one.analyte], one.grade, grams_per_tonne);
    out.close('}');
  }
  out.close('}');
}

void write_cycle(JsonText& out, const Sheet& sheet) {
  std::vector<double> values;
  for (const Figure& one : sheet.rinses) values.push_back(one.value);
  const Replicates found = replicates(values);
  out.key("cycle").open('{');
  write_value(out, "count", sheet.cycles().value_or(static_cast<double>(found.count)), plain);
  out.field("weighed", std::to_string(found.count));
  write_value(out, "mean", found.mean, kilograms);
  if (found.count > 1) write_value(out, "sd", found.sd, kilograms);
  out.close('}');
}

void write_content(JsonText& out, const Sheet& sheet, const Reader& reader) {
  out.key("content").open('{');
  for (const Assayed& one : sheet.assays)
    write_figure(out, reader.analytes[one.analyte], sheet.content(one), grams);
  out.close('}');
}

std::string answer(const Value& document, Reader& reader, const Watch&) {
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  const Sheet sheet(request, reader);
  JsonText out;
  out.open('{').field("format", lot_format);
  write_lot(out, request, document, sheet, reader);
  write_figure(out, "dry_mass", sheet.dry(), kilograms);
  if (!sheet.assays.empty()) write_content(out, sheet, reader);
  if (!sheet.rinses.empty()) write_cycle(out, sheet);
  if (!sheet.moistures.empty()) {
    out.key("moistures").open('[');
    for (const Figure& one : sheet.moistures) write_figure(out, one, percent);
    out.close(']');
  }
  write_cautions(out, cautions_of(request, sheet, reader));
  return out.close('}').take();
}

Json schema() { return whole_schema("A run sheet, for Buttonworth, format 1", request_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, day = schema_parts::day();
  const Json mass = figure_in(kilograms), count = value_in(plain);
  return whole_schema("A lot from a run sheet by Buttonworth, format 1", [&](SchemaBook& book) {
    const Json grade = quantity(Dimension::grade, Allowed::share).schema(book),
               share = quantity(Dimension::share, Allowed::below_all).schema(book);
    return object_of({{"format", {{"const", lot_format}}},
                      {"lot", object_of({{"id", text},
                                         {"date", day},
                                         {"wet_mass", mass},
                                         {"moisture", share},
                                         {"assays", named(grade)}},
                                        {"id", "date", "moisture", "assays"})},
                      {"dry_mass", mass},
                      {"content", named(figure_in(grams))},
                      {"cycle", object_of({{"count", count},
                                           {"weighed", count},
                                           {"mean", value_in(kilograms)},
                                           {"sd", value_in(kilograms)}},
                                          {"sd"})},
                      {"moistures", list(figure_in(percent))},
                      {"cautions", cautions()}},
                     {"content", "cycle", "moistures"});
  });
}

}  // namespace

const BenchRequest run_sheet_request{run_sheet_format, answer, "run-sheet", schema, "lot", answer_schema};

}  // namespace buttonworth
