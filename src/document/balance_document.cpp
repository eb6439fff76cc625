#include <algorithm>
#include <cmath>

#include "bench/circuit.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/heading_form.hpp"
#include "document/schema_parts.hpp"
#include "document/stages_form.hpp"
#include "document/terms_form.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* balance_format = "buttonworth-balance/1";
constexpr const char* balanced_format = "buttonworth-balanced/1";
constexpr double basis_mass = 100;  // kg, of the feed where nothing is weighed

// ---- The request -----------------------------------------------------------------------------

struct StreamDraft {
  std::string name;
  std::optional<Quantity> mass, moisture;
  std::vector<AnalyteQuantity> assays;
};
struct Errors {
  std::optional<Quantity> mass, assays;
};
struct Request {
  std::string format;
  std::vector<StreamDraft> streams;
  std::vector<WorkStageDraft> nodes;
  Errors errors;
  std::vector<AnalyteQuantity> minerals;
};

void check_stream(const Value&, const Place& place, Reader& reader, StreamDraft& out) {
  require_within_whole(out.assays, place, reader);
  if (out.moisture && !out.mass)
    reader.complain(Code::conflict, Place(place, "moisture"),
                    "a moisture without a mass, which nothing is dried of: state the mass, or leave it out");
}

Form<std::vector<StreamDraft>> streams_form() {
  const auto one =
      Fields<StreamDraft>()
          .may("mass", &StreamDraft::mass, quantity(Dimension::mass))
          .may("moisture", &StreamDraft::moisture, quantity(Dimension::share, Allowed::below_all))
          .may("assays", &StreamDraft::assays, analyte_quantities(quantity(Dimension::grade, Allowed::share)))
          .check(check_stream)
          .form("an object with mass and assays, as far as they are known");
  return map_of<StreamDraft>(
      one, [](Reader&, const std::string& name, StreamDraft& out) { out.name = name; },
      "an object from streams to what is known of them");
}

Form<Errors> errors_form() {
  return Fields<Errors>()
      .may("mass", &Errors::mass, quantity(Dimension::share))
      .may("assays", &Errors::assays, quantity(Dimension::share))
      .form("an object: the errors of mass and assays");
}

void check_request(const Value&, const Place& place, Reader& reader, Request& out) {
  std::vector<bool> assayed(reader.analytes.size(), false);
  std::vector<std::string> names;
  for (const StreamDraft& stream : out.streams)
    for (const AnalyteQuantity& one : stream.assays) assayed[one.analyte] = true;
  for (std::size_t a = 0; a < assayed.size(); ++a)
    if (assayed[a]) names.push_back(reader.analytes[a]);
  const Place minerals(place, "minerals");
  for (const AnalyteQuantity& one : out.minerals) {
    const std::string& name = reader.analytes[one.analyte];
    if (!assayed[one.analyte])
      reader.complain(Code::name, Place(minerals, name),
                      "no stream is assayed for " + name + nearest_text(name, names));
  }
}

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(balance_format))
          .need("streams", &Request::streams, streams_form())
          .need("nodes", &Request::nodes, list_of(work_stage_form(), 1))
          .may("errors", &Request::errors, errors_form())
          .may("minerals", &Request::minerals,
               analyte_quantities(quantity(Dimension::grade, Allowed::positive_share)))
          .check(check_request)
          .form("an object: streams and nodes");
  return form;
}

// ---- The circuit -----------------------------------------------------------------------------

/// Whether a quantity says nothing of its error: it is plain, or of determinations that are one or all alike.
bool states_no_error(const Reader& reader, Quantity quantity, const Figure& figure) {
  const auto& spread = reader.quantities[quantity].spread;
  return spread == nullptr || (spread->shape == Distribution::Shape::determinations && !(figure.sd > 0));
}

Figure measured(const Reader& reader, Quantity quantity, const std::optional<Quantity>& error) {
  Figure figure = figure_of(reader, quantity);
  if (error && states_no_error(reader, quantity, figure)) figure.sd = figure.value * value_of(reader, *error);
  return figure;
}

Figure dry_mass(const Reader& reader, const StreamDraft& stream, const std::optional<Quantity>& error) {
  const Figure wet = measured(reader, *stream.mass, error), moisture = figure_of(reader, stream.moisture);
  const double dry = 1 - moisture.value;
  return {wet.value * dry, std::hypot(wet.sd * dry, wet.value * moisture.sd)};
}

Circuit circuit_of(const Request& request, Reader& reader) {
  Circuit circuit;
  circuit.analytes = reader.analytes;
  std::vector<std::string> names;
  for (const StreamDraft& draft : request.streams) {
    names.push_back(draft.name);
    MeasuredStream& stream = circuit.streams.emplace_back();
    stream.name = draft.name;
    stream.grades.resize(circuit.analytes.size());
    if (draft.mass) stream.mass = dry_mass(reader, draft, request.errors.mass);
    for (const auto& [analyte, grade] : draft.assays)
      stream.grades[analyte] = measured(reader, grade, request.errors.assays);
  }
  circuit.minerals.resize(circuit.analytes.size());
  for (const auto& [analyte, grade] : request.minerals) circuit.minerals[analyte] = figure_of(reader, grade);
  const Place root, nodes(root, "nodes"), streams(root, "streams");
  circuit.nodes = placed(request.nodes, names, "node", nodes, reader);
  const StreamEnds ends(circuit.nodes, names.size());
  for (std::size_t s = 0; s < names.size(); ++s)
    if (ends.nowhere(s))
      reader.complain(Code::conflict, Place(streams, names[s]),
                      names[s] + " stands at no node: name it at one, on `in` or on `out`, or leave it out");
  return circuit;
}

/// Where nothing is weighed, the first stream of all is the measure; its number, or none.
std::optional<std::size_t> set_basis(Circuit& circuit) {
  for (const MeasuredStream& stream : circuit.streams)
    if (stream.mass) return std::nullopt;
  const std::size_t first = circuit.nodes.front().in.front();
  circuit.streams[first].mass = Figure{basis_mass, 0};
  return first;
}

std::optional<Balance> balance_of(const Circuit& circuit, const Watch& watch, Reader& reader) {
  const Place root, nodes(root, "nodes"), minerals(root, "minerals"), streams(root, "streams");
  try {
    return balanced(circuit, watch);
  } catch (const CircuitError& error) {
    const std::string& text = error.complaint().text;
    using About = CircuitError::About;
    if (error.about == About::node) reader.complain(Code::balance, Place(nodes, error.number), text);
    if (error.about == About::mineral)
      reader.complain(Code::balance, Place(minerals, circuit.analytes[error.number]), text);
    if (error.about == About::streams) reader.complain(Code::balance, streams, text);
  } catch (const Error& error) {
    const Complaint& complaint = error.complaint();
    if (complaint.code != Code::limit && complaint.code != Code::balance) throw;
    reader.complain(complaint.code, streams, complaint.text);
  }
  return std::nullopt;
}

// ---- The answer ------------------------------------------------------------------------------

class BalancedText {
 public:
  BalancedText(const Circuit& circuit, const Balance& balance) : circuit_(circuit), balance_(balance) {}

  std::string run(const std::optional<std::size_t>& basis) {
    out_.open('{').field("format", balanced_format);
    if (basis)
      out_.field("basis", circuit_.streams[*basis].name + " is " + bench_text(basis_mass, kilograms));
    out_.key("streams").open('{');
    for (std::size_t s = 0; s < circuit_.streams.size(); ++s) stream(s);
    out_.close('}').key("changes").open('[');
    for (const Adjustment& one : balance_.changes) change(one);
    out_.close(']');
    write_value(out_, "chi_squared", balance_.chi_squared, plain);
    out_.field("degrees", std::to_string(balance_.degrees));
    if (balance_.p) write_value(out_, "p", *balance_.p, plain);
    if (balance_.at_fault) at_fault(balance_.changes[*balance_.at_fault]);
    write_cautions(out_, balance_.cautions);
    return out_.close('}').take();
  }

 private:
  void stream(std::size_t s) {
    const BalancedStream& one = balance_.streams[s];
    out_.key(circuit_.streams[s].name).open('{');
    write_figure(out_, "mass", one.mass, kilograms);
    if (one.share) write_figure(out_, "share", *one.share, percent);
    by_analyte("assays", one, &BalancedAnalyte::grade, grams_per_tonne);
    by_analyte("recovery", one, &BalancedAnalyte::recovery, percent);
    by_analyte("separation_efficiency", one, &BalancedAnalyte::separation_efficiency, percent);
    out_.close('}');
  }
  void by_analyte(const char* name, const BalancedStream& stream,
                  std::optional<Figure> BalancedAnalyte::*figure, AnswerUnit unit) {
    const auto& all = stream.analytes;
    if (std::none_of(all.begin(), all.end(), [&](const BalancedAnalyte& one) { return one.*figure; })) return;
    out_.key(name).open('{');
    for (std::size_t a = 0; a < all.size(); ++a)
      if (all[a].*figure) write_figure(out_, circuit_.analytes[a], *(all[a].*figure), unit);
    out_.close('}');
  }
  void name(const Adjustment& one) {
    out_.open('{').field("at", circuit_.streams[one.stream].name);
    out_.field("what", one.analyte ? circuit_.analytes[*one.analyte] : "mass");
  }
  void change(const Adjustment& one) {
    const AnswerUnit unit = one.analyte ? grams_per_tonne : kilograms;
    name(one);
    write_value(out_, "measured", one.measured, unit);
    write_value(out_, "balanced", one.balanced, unit);
    if (one.z) write_value(out_, "z", *one.z, plain);
    out_.close('}');
  }
  void at_fault(const Adjustment& one) {
    out_.key("at_fault");
    name(one);
    write_value(out_, "z", *one.z, plain);
    out_.close('}');
  }

  const Circuit& circuit_;
  const Balance& balance_;
  JsonText out_;
};

std::string answer(const Value& document, Reader& reader, const Watch& watch) {
  Request request;
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  Circuit circuit = circuit_of(request, reader);
  if (!reader.complaints.empty()) return {};
  const auto basis = set_basis(circuit);
  const auto balance = balance_of(circuit, watch, reader);
  return balance ? BalancedText(circuit, *balance).run(basis) : std::string();
}

Json schema() { return whole_schema("A balance, for Buttonworth, format 1", request_form().schema); }

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, number = value_in(plain), share = figure_in(percent);
  const Json amount{{"anyOf", {value_in(kilograms), value_in(grams_per_tonne)}}};
  const Json stream = object_of({{"mass", figure_in(kilograms)},
                                 {"share", share},
                                 {"assays", named(figure_in(grams_per_tonne))},
                                 {"recovery", named(share)},
                                 {"separation_efficiency", named(share)}},
                                {"share", "assays", "recovery", "separation_efficiency"});
  const Json change = object_of(
      {{"at", text}, {"what", text}, {"measured", amount}, {"balanced", amount}, {"z", number}}, {"z"});
  return whole_schema("A balance found by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of({{"format", {{"const", balanced_format}}},
                      {"basis", text},
                      {"streams", named(stream)},
                      {"changes", list(change)},
                      {"chi_squared", number},
                      {"degrees", number},
                      {"p", number},
                      {"at_fault", object_of({{"at", text}, {"what", text}, {"z", number}})},
                      {"cautions", cautions()}},
                     {"basis", "p", "at_fault"});
  });
}

}  // namespace

const BenchRequest balance_request{balance_format, answer, "balance", schema, "balanced", answer_schema};

}  // namespace buttonworth
