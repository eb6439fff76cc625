#include "bench/lot_size.hpp"
#include "document/bench_document.hpp"
#include "document/bench_figures.hpp"
#include "document/figure_text.hpp"
#include "document/heading_form.hpp"
#include "document/plan_document.hpp"
#include "document/schema_parts.hpp"

namespace buttonworth {
namespace {

using namespace answer_units;

constexpr const char* lot_size_format = "buttonworth-lot-size/1";
constexpr const char* waiting_format = "buttonworth-waiting/1";

/// A whole plan within the request; its own reader reads it.
Form<bool> plan_form() {
  return {[](const Value& value, const Place& place, Reader& reader, bool&) {
            require_kind(value, Value::Kind::object, place, reader, "a plan");
          },
          [](SchemaBook&) {
            return Json{{"type", "object"}};
          }};
}

struct Request {
  std::string format;
  bool has_plan = false;
  Quantity makes, shortest, longest, fixed;
};

const Form<Request>& request_form() {
  static const Form<Request> form =
      Fields<Request>()
          .need("format", &Request::format, format_form(lot_size_format))
          .need("plan", &Request::has_plan, plan_form())
          .need("makes", &Request::makes, quantity(Dimension::throughput, Allowed::positive))
          .may("shortest", &Request::shortest, quantity(Dimension::time, Allowed::positive), "1 d")
          .need("longest", &Request::longest, quantity(Dimension::time, Allowed::positive))
          .may("fixed", &Request::fixed, quantity(Dimension::money))
          .check([](const Value&, const Place& place, Reader& reader, Request& out) {
            if (out.longest.index != 0 && value_of(reader, out.longest) <= value_of(reader, out.shortest))
              reader.complain(Code::range, Place(place, "longest"),
                              "the longest wait is to be above the shortest");
          })
          .form("an object: a plan, what the plant makes, and the longest wait");
  return form;
}

void complain_of_lot(const Plan& plan, Reader& reader) {
  const Place root, at_plan(root, "plan"), lot(at_plan, "lot");
  if (!plan.lot.parts.empty())
    reader.complain(Code::conflict, Place(lot, "parts"),
                    "a lot of parts cannot be made larger: state its moisture and assays as one");
  if (!plan.lot.apart.empty())
    reader.complain(Code::conflict, Place(lot, "apart"),
                    "pieces apart cannot be made more with the lot: plan them for themselves");
}

/// The plan, with everything that is wrong with it; the pointers begin at the request.
std::shared_ptr<Plan> plan_of(const Value& document, Reader& reader) {
  PlanReading read = read_plan(*document.find("plan"), reader.limits);
  for (Complaint& one : read.complaints) {
    one.pointer = "/plan" + one.pointer;
    reader.take(std::move(one));
  }
  if (!read.plan) return nullptr;
  complain_of_lot(*read.plan, reader);
  return std::const_pointer_cast<Plan>(read.plan);  // read here, and nobody else's
}

/// The plan's own currency, in which `fixed` stands.
void take_currency(const Value& document, Reader& reader) {
  const Value* plan = document.find("plan");
  const Value* currency = plan != nullptr ? plan->find("currency") : nullptr;
  if (currency != nullptr) reader.currency = currency->text;
}

// ---- The answer ------------------------------------------------------------------------------

std::string amount_text(double amount) { return bench_text(amount, plain); }

void write_step(JsonText& out, const GatheredLot& lot) {
  out.open('{');
  write_value(out, "wait", lot.wait, days);
  write_value(out, "wet_mass", lot.wet_mass, kilograms);
  if (!lot.route) {
    out.key("route").null().key("present_value").null().key("per_day").null().close('}');
    return;
  }
  out.field("route", *lot.route).field("present_value", amount_text(lot.present_value));
  out.field("per_day", amount_text(lot.per_day)).close('}');
}

void write_best(JsonText& out, const std::optional<GatheredLot>& best) {
  if (!best) {
    out.key("wait").null().key("wet_mass").null().key("route").null().key("per_day").null();
    return;
  }
  write_value(out, "wait", best->wait, days);
  write_value(out, "wet_mass", best->wet_mass, kilograms);
  out.field("route", *best->route).field("per_day", amount_text(best->per_day));
}

std::vector<Caution> cautions_of(const Waiting& waiting) {
  std::vector<Caution> cautions;
  for (const std::string& reason : waiting.refused) cautions.push_back({"routes", reason});
  if (waiting.at_end)
    cautions.push_back(
        {"wait", "the best lies at an end of the range: look further, with another shortest or longest."});
  if (waiting.best && !(waiting.best->per_day > 0))
    cautions.push_back({"wait", "no wait makes it pay: every lot leaves less than it costs."});
  cautions.push_back(
      {"wait", "gold kept waiting is gold to be guarded and insured; count that among what waiting costs."});
  return cautions;
}

std::string waiting_text(const Plan& plan, const Waiting& waiting) {
  JsonText out;
  out.open('{').field("format", waiting_format).field("currency", plan.currency);
  write_best(out, waiting.best);
  out.key("steps").open('[');
  for (const GatheredLot& lot : waiting.steps) write_step(out, lot);
  out.close(']');
  if (waiting.closed_form) {
    out.key("closed_form").open('{');
    write_value(out, "wait", waiting.closed_form->wait, days);
    out.field("fixed_per_lot", amount_text(waiting.closed_form->fixed));
    out.field("value_per_day", amount_text(waiting.closed_form->value_per_day)).close('}');
  }
  write_cautions(out, cautions_of(waiting));
  return out.close('}').take();
}

std::string answer(const Value& document, Reader& reader, const Watch& watch) {
  Request request;
  take_currency(document, reader);
  request_form().read(document, Place(), reader, request);
  if (!reader.complaints.empty()) return {};
  const std::shared_ptr<Plan> plan = plan_of(document, reader);
  if (!reader.complaints.empty()) return {};
  const Gathering gathering{value_of(reader, request.makes), value_of(reader, request.shortest),
                            value_of(reader, request.longest),
                            request.fixed.index != 0 ? value_of(reader, request.fixed) : 0};
  try {
    return waiting_text(*plan, find_wait(*plan, gathering, watch));
  } catch (const Error& error) {
    if (error.complaint().pointer.empty()) throw;
    throw Error(error.complaint().code, error.complaint().text, "/plan" + error.complaint().pointer);
  }
}

Json schema() {
  return whole_schema("How long to gather a lot, for Buttonworth, format 1", request_form().schema);
}

Json answer_schema() {
  using namespace schema_parts;
  const Json text{{"type", "string"}}, amount = text_with(""), wait = value_in(days),
                                       mass = value_in(kilograms);
  return whole_schema("How long to wait, by Buttonworth, format 1", [&](SchemaBook&) {
    return object_of(
        {{"format", {{"const", waiting_format}}},
         {"currency", schema_parts::currency()},
         {"wait", or_null(wait)},
         {"wet_mass", or_null(mass)},
         {"route", or_null(text)},
         {"per_day", or_null(amount)},
         {"steps", list(object_of({{"wait", wait},
                                   {"wet_mass", mass},
                                   {"route", or_null(text)},
                                   {"present_value", or_null(amount)},
                                   {"per_day", or_null(amount)}}))},
         {"closed_form", object_of({{"wait", wait}, {"fixed_per_lot", amount}, {"value_per_day", amount}})},
         {"cautions", cautions()}},
        {"closed_form"});
  });
}

}  // namespace

const BenchRequest lot_size_request{lot_size_format, answer, "lot-size", schema, "waiting", answer_schema};

}  // namespace buttonworth
