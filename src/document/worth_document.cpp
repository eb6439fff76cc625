#include "chance/worth.hpp"

#include "document/bench_figures.hpp"
#include "document/draw_options.hpp"
#include "document/figure_text.hpp"
#include "document/plan_document.hpp"
#include "document/plan_job.hpp"
#include "document/plan_places.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

constexpr const char* worth_format = "buttonworth-worth/1";

// ---- The request -----------------------------------------------------------------------------------

struct CandidateDraft {
  std::string of;
  std::optional<Quantity> error;
  std::optional<std::string> sd;  // read once the quantity that it measures is known
  std::optional<std::int64_t> count;
  Quantity cost;
  std::optional<Quantity> fixed;
};

struct RequestDraft : DrawOptionsDraft {
  std::vector<CandidateDraft> candidates;
  std::optional<std::int64_t> threads;
  std::optional<std::vector<std::string>> routes;
};

Form<CandidateDraft> candidate_form() {
  Fields<CandidateDraft> fields;
  fields.need("of", &CandidateDraft::of, text_form())
      .may("error", &CandidateDraft::error, quantity(Dimension::share, Allowed::positive))
      .may("sd", &CandidateDraft::sd, text_form())
      .may("count", &CandidateDraft::count, whole_number_form(1, 64))
      .need("cost", &CandidateDraft::cost, quantity(Dimension::money))
      .may("fixed", &CandidateDraft::fixed, quantity(Dimension::money));
  return fields.one_of({"error", "sd"}).form("an object: what to measure, its error and its cost");
}

const Form<RequestDraft>& request_form() {
  static const Form<RequestDraft> form = [] {
    Fields<RequestDraft> fields;
    return with_draw_fields(fields)
        .need("candidates", &RequestDraft::candidates, list_of(candidate_form(), 1))
        .may("threads", &RequestDraft::threads, whole_number_form(1, 256))
        .may("routes", &RequestDraft::routes, route_names_form())
        .form("an object with candidates: what could be measured once more");
  }();
  return form;
}

/// In the library's unit and the currency of what is measured.
double sd_of(Quantity of, const std::string& text, const PlanPlaces& places, const Place& place,
             Reader& reader) {
  const auto sd = places.value(of, text, place);
  if (sd && *sd <= 0)
    reader.complain(Code::range, place, text + " is not allowed here: it must be more than 0");
  return sd ? to_double(*sd) : 0;
}

Candidate candidate_of(const CandidateDraft& draft, Quantity of, const Plan& plan, const Place& place,
                       Reader& reader) {
  Candidate out;
  out.of = of;
  out.relative = !draft.sd;
  if (draft.sd) out.error = sd_of(of, *draft.sd, PlanPlaces(plan, reader), Place(place, "sd"), reader);
  else if (draft.error) out.error = value_of(reader, *draft.error);
  out.most = static_cast<int>(draft.count.value_or(1));
  out.cost = value_of(reader, draft.cost);
  if (draft.fixed) out.fixed = value_of(reader, *draft.fixed);
  return out;
}

// ---- The answer --------------------------------------------------------------------------------------

std::string verdict(const SampleWorth& worth, const CandidateWorth& one) {
  const std::string& currency = worth.simulation.plan->currency;
  if (!one.best)
    return "buy none: knowing it for certain would be worth " + spoken_money(one.known, currency);
  const CountedWorth& best = one.counts[*one.best];
  return "buy " + std::to_string(best.count) + ": worth " + spoken_money(best.worth, currency) + " for " +
         spoken_money(best.cost, currency);
}

void write_counts(JsonText& out, const CandidateWorth& one) {
  out.key("counts").open('[');
  for (const CountedWorth& counted : one.counts)
    out.open('{')
        .key("count")
        .bare(std::to_string(counted.count))
        .field("worth", money_text(counted.worth))
        .field("standard_error", money_text(counted.standard_error))
        .field("cost", money_text(counted.cost))
        .field("net", money_text(counted.net()))
        .close('}');
  out.close(']');
}

void write_best(JsonText& out, const SampleWorth& worth) {
  out.key("best");
  if (!worth.best) {
    out.null();
    return;
  }
  const CandidateWorth& one = worth.candidates[*worth.best];
  const CountedWorth& best = one.counts[*one.best];
  out.open('{')
      .field("of", worth.simulation.plan->quantities[one.candidate->of].place)
      .field("name", quantity_name(*worth.simulation.plan, one.candidate->of))
      .key("count")
      .bare(std::to_string(best.count))
      .field("net", money_text(best.net()))
      .close('}');
}

std::vector<std::string> words_of(const SampleWorth& worth) {
  const Simulation& s = worth.simulation;
  const std::string& currency = s.plan->currency;
  std::vector<std::string> words;
  if (worth.best) {
    const CandidateWorth& one = worth.candidates[*worth.best];
    const CountedWorth& best = one.counts[*one.best];
    const std::string times = best.count == 1 ? "once" : std::to_string(best.count) + " times";
    words.push_back("Measure " + times + " more: " + quantity_name(*s.plan, one.candidate->of) +
                    ". It costs " + spoken_money(best.cost, currency) + " and is worth " +
                    spoken_money(best.worth, currency) +
                    " on average, as it may change the way that is taken.");
  } else {
    words.push_back("Buy none: no measurement asked about is worth what it costs. The way to take is " +
                    quoted(s.routes[s.by_mean].route->name) + '.');
  }
  return words;
}

struct WorthRequest {
  std::vector<Candidate> candidates;
  SimulateOptions simulation;
};

WorthRequest read_request(const PlanInHand& in_hand, const std::optional<Value>& options,
                          std::vector<Complaint>& complaints) {
  const Plan& plan = in_hand.plan;
  WorthRequest request;
  Reader reader = in_hand.options_reader();
  RequestDraft draft;
  request_form().read(options_or_none(options), Place(), reader, draft);
  const DrawOptionsReader draws(plan, reader);
  request.simulation.numbers = draws.numbers(draft);
  request.simulation.together = draws.together(draft);
  request.simulation.threads = static_cast<int>(draft.threads.value_or(1));
  const Place root, candidates(root, "candidates");
  if (draft.routes)
    request.simulation.routes = routes_named(*draft.routes, plan, Place(root, "routes"), reader);
  for (std::size_t i = 0; i < draft.candidates.size(); ++i) {
    const Place place(candidates, i);
    if (const auto of = draws.input(draft.candidates[i].of, Place(place, "of")))
      request.candidates.push_back(candidate_of(draft.candidates[i], *of, plan, place, reader));
  }
  if (request.simulation.numbers.draws > most_kept_draws)
    reader.complain(Code::range, Place(root, "draws"),
                    "the worth of a measurement is worked out of at most 1048576 draws");
  move_complaints(reader, complaints);
  return request;
}

std::string worth_text(const SampleWorth& worth) {
  const Simulation& s = worth.simulation;
  JsonText out(2048);
  out.open('{').field("format", worth_format).field("currency", s.plan->currency);
  out.field("route", s.routes[s.by_mean].route->name).key("candidates").open('[');
  for (const CandidateWorth& one : worth.candidates) {
    out.open('{')
        .field("of", s.plan->quantities[one.candidate->of].place)
        .field("name", quantity_name(*s.plan, one.candidate->of))
        .field("known", money_text(one.known))
        .field("standard_error", money_text(one.standard_error));
    write_counts(out, one);
    out.key("best").bare(std::to_string(one.best ? one.counts[*one.best].count : 0));
    out.field("what", verdict(worth, one)).close('}');
  }
  out.close(']');
  write_best(out, worth);
  write_words(out, words_of(worth));
  return out.close('}').take();
}

std::string answer(const PlanInHand& in_hand, const std::optional<Value>& options,
                   std::vector<Complaint>& complaints) {
  const WorthRequest request = read_request(in_hand, options, complaints);
  if (!complaints.empty()) return {};
  return worth_text(find_worth(in_hand.plan, request.candidates, request.simulation, in_hand.watch));
}

Json schema() { return whole_schema("What could be measured once more", request_form().schema); }

using namespace schema_parts;

Json answer_schema() {
  const Json text{{"type", "string"}}, money = text_with(""), count{{"type", "integer"}};
  const Json counted = object_of(
      {{"count", count}, {"worth", money}, {"standard_error", money}, {"cost", money}, {"net", money}});
  const Json candidate = object_of({{"of", text},
                                    {"name", text},
                                    {"known", money},
                                    {"standard_error", money},
                                    {"counts", list(counted)},
                                    {"best", count},
                                    {"what", text}});
  Json whole = schema_parts::titled("The worth of measuring once more, format 1");
  whole.update(object_of(
      {{"format", {{"const", worth_format}}},
       {"currency", schema_parts::currency()},
       {"route", text},
       {"candidates", list(candidate)},
       {"best", or_null(object_of({{"of", text}, {"name", text}, {"count", count}, {"net", money}}))},
       {"words", list(text)}}));
  return whole;
}

}  // namespace

const PlanJob worth_job{answer, "worth-options", schema, "worth", answer_schema};

}  // namespace buttonworth
