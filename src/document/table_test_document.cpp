#include <algorithm>

#include "bench/fit.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/heading_form.hpp"
#include "document/schema_parts.hpp"
#include "quantity/edge.hpp"
#include "quantity/figures.hpp"
#include "quantity/pointer.hpp"
#include "quantity/short_text.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* table_test_format = "buttonworth-table-test/1";
constexpr const char* fitted_curve_format = "buttonworth-fitted-curve/1";
constexpr std::size_t most_points = 200;
constexpr double large_misfit = 0.05;

// ---- The request -----------------------------------------------------------------------------

struct Pair {
  Quantity from, recovery;  ///< pull or grade
};
struct Product {
  std::string what;
  Quantity mass, grade;
};
struct Request {
  std::string format, of;
  std::vector<Pair> points, graded;
  std::vector<Product> products;
  std::optional<Quantity> feed, error, mineral_grade;
  std::optional<FitForm> form;
  std::vector<Quantity> at;
  std::vector<std::string> tables;  ///< steps of the plan
};

Form<Quantity> share() { return quantity(Dimension::share, Allowed::share); }

Form<std::vector<Pair>> pairs_form(Form<Quantity> from, const char* wanted) {
  return list_of(pair_of(&Pair::from, from, &Pair::recovery, share(), wanted));
}
Form<Product> product_form() {
  return Fields<Product>()
      .may("what", &Product::what, text_form())
      .need("mass", &Product::mass, quantity(Dimension::mass, Allowed::positive))
      .need("grade", &Product::grade, quantity(Dimension::grade, Allowed::share))
      .form("an object: mass and grade");
}

void check_request(const Value& value, const Place& place, Reader& reader, Request& out) {
  const bool graded = value.find("graded") != nullptr;
  if (graded && !out.feed)
    reader.complain(Code::missing_field, place,
                    "graded points want feed: the grade of what went on the table");
  if (!graded && out.feed)
    reader.complain(Code::conflict, Place(place, "feed"), "feed goes with graded points only");
  const Place tables(place, "tables");
  for (std::size_t i = 0; i < out.tables.size(); ++i)
    if (std::find(out.tables.begin(), out.tables.begin() + static_cast<std::ptrdiff_t>(i), out.tables[i]) !=
        out.tables.begin() + static_cast<std::ptrdiff_t>(i))
      reader.complain(Code::repeated, Place(tables, i),
                      "the table " + out.tables[i] + " stands twice: remove one of the two");
}

const Form<Request>& request_form() {
  const auto grade = quantity(Dimension::grade, Allowed::positive_share);
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(table_test_format))
          .need("of", &Request::of, text_form())
          .may("points", &Request::points, pairs_form(share(), "[pull, recovery]"))
          .may("graded", &Request::graded, pairs_form(grade, "[grade, recovery]"))
          .may("products", &Request::products, list_of(product_form()))
          .may("feed", &Request::feed, grade)
          .may("error", &Request::error, quantity(Dimension::share, Allowed::positive_share))
          .may("mineral_grade", &Request::mineral_grade, grade)
          .may("form", &Request::form,
               choice<FitForm>(
                   {{"odds", FitForm::odds}, {"logit", FitForm::logit}, {"saturating", FitForm::saturating}}))
          .may("at", &Request::at, list_of(share()))
          .may("tables", &Request::tables, list_of(text_form(), 1))
          .one_of({"points", "graded", "products"})
          .check(check_request)
          .form("an object: points, graded or products of a table test");
  return form;
}

// ---- Its points ------------------------------------------------------------------------------

bool inside(double share) { return share > 0 && share < 1; }

void require_inside(double share, const char* what, const Place& place, Reader& reader) {
  if (!inside(share))
    reader.complain(Code::range, place,
                    std::string("a ") + what + " of " + Figures<double>::percent_text(share) +
                        ": it must lie between 0 and 100 %, ends excluded, which every curve meets");
}

std::vector<TestPoint> points_of(const std::vector<Pair>& pairs, const std::optional<Quantity>& feed,
                                 const Place& list, Reader& reader) {
  std::vector<TestPoint> points;
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const Place at(list, i);
    const Figure recovery = figure_of(reader, pairs[i].recovery);
    double pull = value_of(reader, pairs[i].from);
    if (feed) pull = recovery.value * value_of(reader, *feed) / pull;
    require_inside(recovery.value, "recovery", Place(at, 1), reader);
    if (!feed || inside(recovery.value)) require_inside(pull, "pull", Place(at, std::size_t{0}), reader);
    points.push_back({pull, recovery});
  }
  return points;
}

std::vector<TestPoint> points_of(const std::vector<Product>& products, const Place& list, Reader& reader) {
  std::vector<TestProduct> taken;
  double metal = 0;
  for (const Product& one : products) {
    taken.push_back({figure_of(reader, one.mass), figure_of(reader, one.grade)});
    metal += taken.back().mass.value * taken.back().grade.value;
  }
  if (taken.size() < 3 || !(metal > 0)) {
    reader.complain(Code::range, list,
                    taken.size() < 3 ? "two products and the tailings at least, or there are no two points"
                                     : "the products hold none of the metal");
    return {};
  }
  const std::vector<TestPoint> points = points_of_products(taken);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Place at(list, i);
    if (!(points[i].recovery.value > 0))
      reader.complain(Code::range, Place(at, "grade"),
                      "nothing is recovered up to here: add it to the next product");
    if (!(points[i].recovery.value < 1))
      reader.complain(Code::range, Place(at, "grade"),
                      "all of the metal is recovered by here: state what the products after it hold, if only "
                      "the least that the assay can tell");
  }
  return points;
}

/// Points of the request, the stated error given to those without one of their own.
std::vector<TestPoint> all_points(const Request& request, const Value& document, Reader& reader) {
  const bool by_pull = document.find("points") != nullptr, by_grade = document.find("graded") != nullptr;
  const Place root, list(root, by_pull ? "points" : by_grade ? "graded" : "products");
  std::vector<TestPoint> points = by_pull    ? points_of(request.points, {}, list, reader)
                                  : by_grade ? points_of(request.graded, request.feed, list, reader)
                                             : points_of(request.products, list, reader);
  if (!reader.complaints.empty()) return {};
  for (TestPoint& point : points)
    if (request.error && !(point.recovery.sd > 0)) point.recovery.sd = value_of(reader, *request.error);
  const auto [low, high] = std::minmax_element(
      points.begin(), points.end(), [](const TestPoint& a, const TestPoint& b) { return a.pull < b.pull; });
  if (points.empty() || !above(high->pull, low->pull))
    reader.complain(Code::range, list, "two points of different pull are wanted at least");
  if (points.size() > most_points)
    reader.complain(
        Code::limit, list,
        "more than " + std::to_string(most_points) + " points: give the means of those of nearly one pull");
  const Place at(root, "at");
  for (std::size_t i = 0; i < request.at.size(); ++i)
    require_inside(value_of(reader, request.at[i]), "pull", Place(at, i), reader);
  return points;
}

// ---- What a person must be told ----------------------------------------------------------------

constexpr std::array form_words{"odds", "logit", "saturating"};
const char* word_of(FitForm form) { return form_words[static_cast<std::size_t>(form)]; }

struct Range {
  double low, high;
  bool holds(double pull) const { return at_least(pull, low) && at_most(pull, high); }
};

Range range_of(const std::vector<TestPoint>& points) {
  Range range{1, 0};
  for (const TestPoint& point : points)
    range.low = std::min(range.low, point.pull), range.high = std::max(range.high, point.pull);
  return range;
}

void caution_points(std::vector<TestPoint> points, std::vector<Caution>& cautions) {
  if (points.size() < 4)
    cautions.push_back({"points", "Fewer than four points: they cannot tell which form is right."});
  std::sort(points.begin(), points.end(), [](const TestPoint& a, const TestPoint& b) {
    return std::pair(a.pull, a.recovery.value) < std::pair(b.pull, b.recovery.value);
  });
  for (std::size_t i = 0; i + 1 < points.size(); ++i) {
    const TestPoint &a = points[i], &b = points[i + 1];
    if (!above(b.pull, a.pull) || !above(a.recovery.value, b.recovery.value)) continue;
    cautions.push_back({"points", "Recoveries fall as the pull rises, from " +
                                      short_percent(a.recovery.value) + " at " + short_percent(a.pull) +
                                      " to " + short_percent(b.recovery.value) + " at " +
                                      short_percent(b.pull) + ": assays or samples may be mixed up."});
    return;
  }
}

void caution_fit(const Fits& fits, std::vector<Caution>& cautions) {
  const Fit& fit = fits.fits[fits.chosen];
  for (FitForm form : fits.none)
    cautions.push_back({word_of(form),
                        "Left out: no such curve fits better than a level line does, as the recoveries do "
                        "not rise with the pull."});
  if (fit.misfit && above(*fit.misfit, large_misfit))
    cautions.push_back(
        {word_of(fit.form), "The points lie " + short_percent(*fit.misfit) +
                                " from the curve, above 5 percentage points: give them to the plan "
                                "as they are, or test again."});
  if (!fit.covariance)
    cautions.push_back(
        {word_of(fit.form),
         "No points to spare and no error stated: nothing tells how uncertain the constants are."});
}

// ---- The answer ------------------------------------------------------------------------------

void write_curve(JsonText& out, const Fit& fit) {
  out.key("curve").open('{');
  switch (fit.form) {
    case FitForm::odds: write_figure(out, "odds", fit.constant(0), plain); break;
    case FitForm::logit:
      out.key("logit").open('[');
      write_figure(out, fit.constant(0), plain), write_figure(out, fit.constant(1), plain);
      out.close(']');
      break;
    case FitForm::saturating:
      write_figure(out, "limit_recovery", fit.constant(0), percent);
      write_figure(out, "rate", fit.constant(1), plain);
  }
  out.close('}');
}

/// Where the plan states the curve: without a table named, a name to be written over.
std::vector<std::string> curve_places(const Request& request) {
  std::vector<std::string> tables = request.tables, places;
  if (tables.empty()) tables.push_back("TABLE");
  for (const std::string& table : tables)
    places.push_back("/steps" + pointer_step(table) + "/curve" + pointer_step(request.of));
  return places;
}

/// What the plan cannot say of its curve, as the options of a simulation have it.
void write_together(JsonText& out, const Request& request, const Fit& fit) {
  const std::vector<std::string> places = curve_places(request);
  const auto correlation = fit.correlation();
  if (!fit.covariance || (places.size() < 2 && !correlation)) return;
  out.key("simulate").open('{');
  if (places.size() > 1) {
    out.key("same").open('[').open('[');
    for (const std::string& place : places) out.string(place);
    out.close(']').close(']');
  }
  if (correlation) {
    const bool logit = fit.form == FitForm::logit;
    out.key("correlate")
        .open('[')
        .open('[')
        .string(places.front() + (logit ? "/logit/0" : "/limit_recovery"));
    out.string(places.front() + (logit ? "/logit/1" : "/rate")).string(bench_text(*correlation, plain));
    out.close(']').close(']');
  }
  out.close('}');
}

void write_chosen(JsonText& out, const Request& request, const Fit& fit, const Range& range,
                  const Reader& reader) {
  out.field("form", word_of(fit.form));
  write_curve(out, fit);
  if (const auto correlation = fit.correlation()) write_value(out, "correlation", *correlation, plain);
  write_together(out, request, fit);
  if (request.mineral_grade) {
    out.key("limit").open('{').key(request.of);
    const StatedQuantity& stated = reader.quantities[*request.mineral_grade];
    if (stated.spread == nullptr) out.string(stated.text);
    else write_figure(out, figure_of(reader, *request.mineral_grade), fine);
    out.close('}');
  }
  out.key("search").open('[').string(bench_text(range.low, percent)).string(bench_text(range.high, percent));
  out.close(']');
}

void write_fits(JsonText& out, const std::vector<Fit>& fits) {
  out.key("fits").open('{');
  for (const Fit& fit : fits) {
    out.key(word_of(fit.form)).open('{');
    write_curve(out, fit);
    if (fit.misfit) write_value(out, "misfit", *fit.misfit, percent);
    if (fit.left_out) write_value(out, "left_out", *fit.left_out, percent);
    out.close('}');
  }
  out.close('}');
}

void write_points(JsonText& out, const std::vector<TestPoint>& points, const std::vector<Fit>& fits) {
  out.key("points").open('[');
  for (const TestPoint& point : points) {
    out.open('{');
    write_value(out, "pull", point.pull, percent);
    write_value(out, "recovery", point.recovery.value, percent);
    out.key("fitted").open('{');
    for (const Fit& fit : fits) write_value(out, word_of(fit.form), fit.at(point.pull).value, percent);
    out.close('}').close('}');
  }
  out.close(']');
}

void write_at(JsonText& out, const Request& request, const Fit& fit, const Range& range, const Reader& reader,
              std::vector<Caution>& cautions) {
  if (request.at.empty()) return;
  out.key("at").open('[');
  for (Quantity one : request.at) {
    const double pull = value_of(reader, one);
    out.open('{');
    write_value(out, "pull", pull, percent);
    write_figure(out, "recovery", fit.at(pull), percent);
    out.key("extrapolated").bare(range.holds(pull) ? "false" : "true").close('}');
    if (!range.holds(pull))
      cautions.push_back(
          {"at " + short_percent(pull), "Outside the points, " + short_percent(range.low) + " to " +
                                            short_percent(range.high) +
                                            ": the form alone carries the curve there, nobody tested it."});
  }
  out.close(']');
}

/// The error of a form that was asked for and does not fit stands at that wish.
std::optional<Fits> fits_of(const Request& request, const std::vector<TestPoint>& points, const Watch& watch,
                            Reader& reader) {
  try {
    return fit_curves(points, request.form, watch);
  } catch (const Error& error) {
    if (error.complaint().code != Code::fit) throw;
    const Place root;
    reader.complain(Code::fit, Place(root, "form"), error.complaint().text);
    return std::nullopt;
  }
}

std::string answer(const Value& document, Reader& reader, const Watch& watch) {
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  const std::vector<TestPoint> points = all_points(request, document, reader);
  if (!reader.complaints.empty()) return {};
  const auto fits = fits_of(request, points, watch, reader);
  if (!fits) return {};
  const Fit& chosen = fits->fits[fits->chosen];
  const Range range = range_of(points);
  std::vector<Caution> cautions;
  caution_points(points, cautions);
  caution_fit(*fits, cautions);
  JsonText out;
  out.open('{').field("format", fitted_curve_format).field("of", request.of);
  write_chosen(out, request, chosen, range, reader);
  write_fits(out, fits->fits);
  write_points(out, points, fits->fits);
  write_at(out, request, chosen, range, reader, cautions);
  write_cautions(out, cautions);
  return out.close('}').take();
}

Json schema() { return whole_schema("A table test, for Buttonworth, format 1", request_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json number = figure_in(plain), share = value_in(percent);
  const Json curve{
      {"oneOf",
       {object_of({{"odds", number}}),
        object_of({{"logit", Json{{"type", "array"}, {"items", number}, {"minItems", 2}, {"maxItems", 2}}}}),
        object_of({{"limit_recovery", figure_in(percent)}, {"rate", number}})}}};
  const Json fit =
      object_of({{"curve", curve}, {"misfit", share}, {"left_out", share}}, {"misfit", "left_out"});
  const Json text{{"type", "string"}};
  const Json pair{{"type", "array"},
                  {"items", Json::array({text, text, value_in(plain)})},
                  {"minItems", 3},
                  {"maxItems", 3}};
  const Json together =
      object_of({{"same", list(list(text))}, {"correlate", list(pair)}}, {"same", "correlate"});
  auto by_form = [](const Json& one) {
    return object_of({{"odds", one}, {"logit", one}, {"saturating", one}}, {"odds", "logit", "saturating"});
  };
  return whole_schema("A curve fitted by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of(
        {{"format", {{"const", fitted_curve_format}}},
         {"of", {{"type", "string"}}},
         {"form", {{"enum", form_words}}},
         {"curve", curve},
         {"correlation", value_in(plain)},
         {"simulate", together},
         {"limit", named(Json{{"anyOf", {Json{{"type", "string"}}, figure_in(fine)}}})},
         {"search", Json{{"type", "array"}, {"items", share}, {"minItems", 2}, {"maxItems", 2}}},
         {"fits", by_form(fit)},
         {"points", list(object_of({{"pull", share}, {"recovery", share}, {"fitted", by_form(share)}}))},
         {"at",
          list(object_of(
              {{"pull", share}, {"recovery", figure_in(percent)}, {"extrapolated", {{"type", "boolean"}}}}))},
         {"cautions", cautions()}},
        {"correlation", "simulate", "limit", "at"});
  });
}

}  // namespace

const BenchRequest table_test_request{table_test_format, answer,       "table-test", schema,
                                      "fitted-curve",    answer_schema};

}  // namespace buttonworth
