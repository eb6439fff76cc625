#include "document/allocation_document.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include "document/draw_options.hpp"
#include "document/entries.hpp"
#include "document/plan_document.hpp"
#include "document/plan_places.hpp"
#include "document/terms_form.hpp"
#include "quantity/pointer.hpp"

namespace buttonworth {
namespace {

constexpr const char* allocation_format = "buttonworth-allocation/1";

/// What a request has from a plan, word for word.
constexpr std::array plan_fields{"currency", "exchange", "prices", "discount", "day",
                                 "steps",    "terms",    "routes", "levies"};
/// What a lot has here besides what it has in a plan.
constexpr std::array own_lot_fields{"ready", "divisible", "must", "alone", "routes"};

bool is_one_of(const auto& names, std::string_view name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

// ---- The fields of its own -------------------------------------------------------------------------

struct LotDraft {
  std::string name;
  std::optional<Quantity> ready;
  std::optional<std::int64_t> divisible;
  std::optional<bool> must, alone;
  std::optional<std::vector<std::string>> routes;
};

struct CapacityDraft {
  std::string step;
  std::optional<Quantity> hours;
  std::optional<std::int64_t> melts;
};

struct CountRange {
  std::optional<std::int64_t> min, max;
};
struct BuyerDraft {
  std::string terms;
  std::optional<CountRange> shipments;
  std::optional<Range> mass;
};

struct CashDraft {
  Quantity by, amount;
};

struct RequestDraft : DrawOptionsDraft {
  std::string format, currency;
  std::vector<CurrencyWorth> exchange;
  std::vector<LotDraft> lots;
  std::optional<Quantity> period;
  std::vector<CapacityDraft> capacity;
  std::vector<BuyerDraft> buyers;
  std::vector<CashDraft> cash;
  std::vector<AnalyteQuantity> on_hand;
  std::optional<std::int64_t> most_joined, looked_at, threads;
  std::optional<Quantity> time, gap;
  std::optional<bool> candidates;
  std::optional<Preference> prefer;
  char of_the_plan = 0;
};

/// A field that the plan's own reader reads.
Form<char> read_elsewhere() {
  return {[](const Value&, const Place&, Reader&, char&) {}, [](SchemaBook&) { return Json::object(); }};
}

Form<std::int64_t> divisible_form() {
  return {[](const Value& value, const Place& place, Reader& reader, std::int64_t& out) {
            static const auto number = whole_number_form(1, 10);
            number.read(value, place, reader, out);
            if (out % 3 == 0 || out == 7)
              reader.complain(Code::range, place,
                              "a lot is parted into 2, 4, 5, 8 or 10 equal parts, so that masses stay exact");
          },
          [](SchemaBook&) {
            return Json{{"enum", {1, 2, 4, 5, 8, 10, "1", "2", "4", "5", "8", "10"}}};
          }};
}

/// What the plan's reader reads of a lot stands beside these.
Fields<LotDraft> lot_fields() {
  return Fields<LotDraft>()
      .may("ready", &LotDraft::ready, quantity(Dimension::time))
      .may("divisible", &LotDraft::divisible, divisible_form())
      .may("must", &LotDraft::must, boolean_form())
      .may("alone", &LotDraft::alone, boolean_form())
      .may("routes", &LotDraft::routes, route_names_form());
}

/// All that may stand in a lot, which neither of its two readers knows alone.
const std::vector<std::string>& names_in_a_lot() {
  static const std::vector<std::string> names = [] {
    const Json lot = allocation_schema()["properties"]["lots"]["additionalProperties"];
    std::vector<std::string> found;
    for (const std::string& name : lot["properties"].names())
      if (name != "note") found.push_back(name);
    return found;
  }();
  return names;
}

Form<LotDraft> lot_form() {
  static const Fields<LotDraft> fields = lot_fields();
  return {[](const Value& value, const Place& place, Reader& reader, LotDraft& out) {
            if (value.kind != Value::Kind::object) return;  // told by the plan's reader
            Value own;
            own.kind = Value::Kind::object;
            for (std::size_t i = 0; i < value.names.size(); ++i) {
              const std::string& name = value.names[i];
              if (is_one_of(own_lot_fields, name)) {
                own.names.push_back(name);
                own.items.push_back(value.items[i]);
              } else if (name != "note" && !is_one_of(names_in_a_lot(), name)) {
                reader.complain(Code::unknown_field, Place(place, name),
                                "there is no field " + name + " here" + nearest_text(name, names_in_a_lot()));
              }
            }
            fields.read(own, place, reader, out);
          },
          [](SchemaBook& book) { return fields.schema(book); }};
}

template <class T>
Form<std::vector<T>> named(Form<T> item, std::string T::*name, const std::string& wanted) {
  return map_of<T>(
      std::move(item), [name](Reader&, const std::string& key, T& out) { out.*name = key; }, wanted);
}

Form<CapacityDraft> capacity_form() {
  return Fields<CapacityDraft>()
      .may("hours", &CapacityDraft::hours, quantity(Dimension::time))
      .may("melts", &CapacityDraft::melts, whole_number_form(0, 1'000'000))
      .form("an object such as {\"hours\": \"120 h\"}");
}

Form<BuyerDraft> buyer_form() {
  static const Form<CountRange> counts = Fields<CountRange>()
                                             .may("min", &CountRange::min, whole_number_form(0, 1'000'000))
                                             .may("max", &CountRange::max, whole_number_form(0, 1'000'000))
                                             .form("an object with min and max");
  static const Form<Range> masses = Fields<Range>()
                                        .may("min", &Range::min, quantity(Dimension::mass))
                                        .may("max", &Range::max, quantity(Dimension::mass))
                                        .form("an object with min and max");
  return Fields<BuyerDraft>()
      .may("shipments", &BuyerDraft::shipments, counts)
      .may("mass", &BuyerDraft::mass, masses)
      .form("an object such as {\"mass\": {\"min\": \"500 kg\"}}");
}

Form<CashDraft> cash_form() {
  return Fields<CashDraft>()
      .need("by", &CashDraft::by, quantity(Dimension::time))
      .need("amount", &CashDraft::amount, quantity(Dimension::money))
      .form("an object with by and amount");
}

const Fields<RequestDraft>& request_fields() {
  static const Fields<RequestDraft> made = [] {
    Fields<RequestDraft> fields;
    fields.need("format", &RequestDraft::format, format_form(allocation_format))
        .need("currency", &RequestDraft::currency, currency_form())
        .may("exchange", &RequestDraft::exchange, exchange_form());
    for (const char* name : plan_fields)
      if (std::string_view(name) != "currency" && std::string_view(name) != "exchange")
        fields.may(name, &RequestDraft::of_the_plan, read_elsewhere());
    fields
        .need("lots", &RequestDraft::lots, named(lot_form(), &LotDraft::name, "an object from names to lots"))
        .may("period", &RequestDraft::period, quantity(Dimension::time, Allowed::positive))
        .may("capacity", &RequestDraft::capacity,
             named(capacity_form(), &CapacityDraft::step, "an object from steps to what they can do"))
        .may("buyers", &RequestDraft::buyers,
             named(buyer_form(), &BuyerDraft::terms, "an object from terms to what the buyer takes"))
        .may("cash", &RequestDraft::cash, list_of(cash_form()))
        .may("on_hand", &RequestDraft::on_hand, analyte_quantities(quantity(Dimension::mass)))
        .may("most_joined", &RequestDraft::most_joined, whole_number_form(1, 20))
        .may("looked_at", &RequestDraft::looked_at, whole_number_form(0, 20'000'000))
        .may("time", &RequestDraft::time, quantity(Dimension::time, Allowed::positive))
        .may("gap", &RequestDraft::gap, quantity(Dimension::share))
        .may("threads", &RequestDraft::threads, whole_number_form(1, 256))
        .may("candidates", &RequestDraft::candidates, boolean_form())
        .may("prefer", &RequestDraft::prefer,
             choice<Preference>({{"mean", Preference::mean}, {"worst 5 % mean", Preference::worst_mean}}));
    return with_draw_fields(fields);
  }();
  return made;
}

// ---- The plan in it --------------------------------------------------------------------------------

Value object_value() {
  Value object;
  object.kind = Value::Kind::object;
  return object;
}
Value text_value(std::string text) {
  Value value;
  value.kind = Value::Kind::text;
  value.text = std::move(text);
  return value;
}
void put(Value& object, std::string name, Value value) {
  object.names.push_back(std::move(name));
  object.items.push_back(std::move(value));
}

/// The lot as a plan has it.
Value plain_lot(const Value& lot) {
  if (lot.kind != Value::Kind::object) return lot;
  Value plain = object_value();
  for (std::size_t i = 0; i < lot.names.size(); ++i)
    if (!is_one_of(own_lot_fields, lot.names[i])) put(plain, lot.names[i], lot.items[i]);
  return plain;
}

Value blended(std::vector<Value> lots) {
  Value lot = object_value(), parts;
  parts.kind = Value::Kind::list;
  parts.items = std::move(lots);
  put(lot, "parts", std::move(parts));
  return lot;
}

/// A plan with everything that the request shares with one, and this lot.
Value plan_with(const Value& request, Value lot) {
  Value plan = object_value();
  put(plan, "format", text_value("buttonworth-plan/1"));
  for (std::size_t i = 0; i < request.names.size(); ++i)
    if (is_one_of(plan_fields, request.names[i])) put(plan, request.names[i], request.items[i]);
  put(plan, "lot", std::move(lot));
  return plan;
}

/// Lots by name, notes left out.
std::vector<std::pair<std::string, const Value*>> lots_of(const Value& request) {
  std::vector<std::pair<std::string, const Value*>> lots;
  const Value* const stated = request.find("lots");
  if (stated == nullptr || stated->kind != Value::Kind::object) return lots;
  for (std::size_t i = 0; i < stated->names.size(); ++i)
    if (stated->names[i] != "note") lots.emplace_back(stated->names[i], &stated->items[i]);
  return lots;
}

Value whole_plan(const Value& request) {
  std::vector<Value> lots;
  for (const auto& [name, lot] : lots_of(request)) lots.push_back(plain_lot(*lot));
  return plan_with(request, blended(std::move(lots)));
}

/// What is said of the plan, said of the request: its lots stand by name there.
std::string with_lots_named(std::string text, const Value& request) {
  static const std::string parts = "/lot/parts/";
  const auto lots = lots_of(request);
  for (std::size_t at = text.find(parts); at != text.npos; at = text.find(parts, at + 1)) {
    const char *const start = text.data() + at, *const last = text.data() + text.size();
    std::size_t lot = 0;
    const auto [end, fault] = std::from_chars(start + parts.size(), last, lot);
    if (fault != std::errc{} || lot >= lots.size()) continue;
    text.replace(at, static_cast<std::size_t>(end - start), "/lots" + pointer_step(lots[lot].first));
  }
  return text;
}
Complaint in_request(const Complaint& one, const Value& request) {
  const bool of_all = one.pointer == "/lot" || one.pointer == "/lot/parts";
  return {one.code, of_all ? "/lots" : with_lots_named(one.pointer, request),
          with_lots_named(one.text, request)};
}

/// The other way round, for what is to be drawn.
std::string in_plan(const std::string& pointer, const Value& request) {
  const auto lots = lots_of(request);
  for (std::size_t i = 0; i < lots.size(); ++i) {
    const std::string start = "/lots" + pointer_step(lots[i].first);
    if (pointer == start || pointer.starts_with(start + '/'))
      return "/lot/parts/" + std::to_string(i) + pointer.substr(start.size());
  }
  return pointer;
}

// ---- The plan of a shipment ------------------------------------------------------------------------

/// "806 kg" × 3 ÷ 4.
void scale_text(Value& value, const Decimal& share) {
  value.text = std::string(without_spaces(value.text));
  const NumberText number = read_number(value.text, no_limits().numbers);
  value.text = to_text(Decimal(number.value * share), full_digits) + value.text.substr(number.length);
}

void scale_quantity(Value& value, const Decimal& share) {
  if (value.kind == Value::Kind::text) return scale_text(value, share);
  for (std::size_t i = 0; i < value.names.size(); ++i) {
    if (!is_one_of(std::array{"value", "sd", "median", "low", "mode", "high", "values"}, value.names[i]))
      continue;
    Value& item = value.items[i];
    if (item.kind == Value::Kind::text) scale_text(item, share);
    for (Value& one : item.items) scale_text(one, share);
  }
}

/// Every mass in a lot and its parts.
void scale_lot(Value& lot, const Decimal& share) {
  if (Value* const mass = lot.find("wet_mass")) scale_quantity(*mass, share);
  if (Value* const parts = lot.find("parts"))
    for (Value& part : parts->items) scale_lot(part, share);
}

std::shared_ptr<const Plan> plan_of(const Value& request, const std::vector<std::uint32_t>& parts,
                                    const Shares& shares) {
  const auto lots = lots_of(request);
  std::vector<Value> joined;
  for (const Share& share : shares) {
    joined.push_back(plain_lot(*lots[share.lot].second));
    if (share.parts < parts[share.lot])
      scale_lot(joined.back(), Decimal(share.parts) / Decimal(parts[share.lot]));
  }
  Value lot = joined.size() == 1 ? std::move(joined.front()) : blended(std::move(joined));
  static const DocumentLimits limits = no_limits();
  PlanReading reading = read_plan(plan_with(request, std::move(lot)), limits);
  if (reading.plan == nullptr)
    throw Error(reading.complaints.front().code, reading.complaints.front().text,
                reading.complaints.front().pointer);
  return reading.plan;
}

// ---- Names and figures -----------------------------------------------------------------------------

class RequestReader {
 public:
  RequestReader(const Value& request, const DocumentLimits& limits) : request_(request), reader_(limits) {}

  AllocationReading read() {
    RequestDraft draft;
    if (require_kind(request_, Value::Kind::object, Place(), reader_,
                     "an object: lots, steps, terms, routes"))
      request_fields().read(request_, Place(), reader_, draft);
    const Value* const lots = request_.find("lots");
    if (lots != nullptr && lots->kind == Value::Kind::object && lots_of(request_).empty())
      reader_.complain(Code::range, Place(Place(), "lots"),
                       "there are no lots to allocate: each stands under its name, as in "
                       "{\"K-1\": {\"wet_mass\": \"640 kg\", \"assays\": {\"Au\": \"850 g/t\"}}}");
    const bool draws = draft.draws.has_value();
    PlanReading plan{nullptr, {}};
    if (request_.kind == Value::Kind::object) plan = read_plan(whole_plan(request_), reader_.limits, draws);
    for (const Complaint& one : plan.complaints) add(in_request(one, request_));
    if (plan.plan != nullptr) fill(draft, plan.plan);
    if (!reader_.complaints.empty()) return {std::nullopt, std::move(reader_.complaints)};
    return {std::move(out_), {}};
  }

 private:
  /// What the plan's reader says, but for what was told already of the same place.
  void add(Complaint complaint) {
    const bool had =
        std::any_of(reader_.complaints.begin(), reader_.complaints.end(), [&](const Complaint& other) {
          return other.pointer == complaint.pointer &&
                 (other.text == complaint.text || complaint.code == Code::unknown_field);
        });
    if (!had && (complaint.pointer != "/lots" || !lots_of(request_).empty()))
      reader_.take(std::move(complaint));
  }

  double figure(Quantity quantity) const { return to_double(reader_.worth(quantity)); }
  std::optional<double> figure(const std::optional<Quantity>& quantity) const {
    if (!quantity) return std::nullopt;
    return figure(*quantity);
  }
  static std::optional<double> figure(const std::optional<std::int64_t>& count) {
    if (!count) return std::nullopt;
    return static_cast<double>(*count);
  }

  template <class T, class Name>
  std::optional<std::size_t> find(const std::vector<T>& things, const std::string& name, const Place& place,
                                  const char* what, Name name_of) {
    std::vector<std::string> known;
    for (std::size_t i = 0; i < things.size(); ++i) {
      if (name_of(things[i]) == name) return i;
      known.push_back(name_of(things[i]));
    }
    reader_.complain(Code::name, place,
                     std::string("there are no ") + what + " named " + name + nearest_text(name, known));
    return std::nullopt;
  }

  void fill(const RequestDraft& draft, const std::shared_ptr<const Plan>& plan) {
    out_.plan = plan;
    const Place root;
    for (const LotDraft& lot : draft.lots) fill_lot(lot, Place(root, "lots"));
    out_.period = figure(draft.period);
    for (const CapacityDraft& one : draft.capacity) fill_capacity(one, Place(root, "capacity"));
    for (const BuyerDraft& one : draft.buyers) fill_buyer(one, Place(root, "buyers"));
    for (const CashDraft& one : draft.cash) out_.cash.push_back({figure(one.by), figure(one.amount)});
    for (const AnalyteQuantity& one : draft.on_hand) fill_metal(one, Place(root, "on_hand"));
    fill_options(draft);
    std::vector<std::uint32_t> parts;
    for (const OfferedLot& lot : out_.lots) parts.push_back(lot.parts);
    out_.plan_of = [request = request_, parts](const Shares& shares) {
      return buttonworth::plan_of(request, parts, shares);
    };
  }

  void fill_lot(const LotDraft& draft, const Place& lots) {
    const Place place(lots, draft.name);
    OfferedLot lot;
    lot.name = draft.name;
    lot.ready = figure(draft.ready).value_or(0);
    lot.parts = static_cast<std::uint32_t>(draft.divisible.value_or(1));
    lot.must = draft.must.value_or(false);
    lot.alone = draft.alone.value_or(false);
    lot.routes.assign(out_.plan->routes.size(), !draft.routes);
    if (draft.routes)
      for (std::size_t r : routes_named(*draft.routes, *out_.plan, Place(place, "routes"), reader_))
        lot.routes[r] = true;
    out_.lots.push_back(std::move(lot));
  }

  void fill_capacity(const CapacityDraft& draft, const Place& capacity) {
    const Place place(capacity, draft.step);
    const auto step =
        find(out_.plan->steps, draft.step, place, "steps", [](const Step& one) { return one.basics.name; });
    if (!step) return;
    if (draft.melts && std::get_if<Melt>(&out_.plan->steps[*step].kind) == nullptr)
      reader_.complain(Code::conflict, Place(place, "melts"), draft.step + " does not melt: give it hours");
    Capacity one{*step, std::nullopt, figure(draft.melts)};
    if (draft.hours) one.hours = figure(*draft.hours) * 24;
    out_.capacities.push_back(one);
  }

  void fill_buyer(const BuyerDraft& draft, const Place& buyers) {
    const Place place(buyers, draft.terms);
    const auto terms =
        find(out_.plan->terms, draft.terms, place, "terms", [](const Terms& one) { return one.name; });
    if (!terms) return;
    const CountRange shipments = draft.shipments.value_or(CountRange());
    const Range mass = draft.mass.value_or(Range());
    BuyerLimits one{*terms, figure(shipments.min), figure(shipments.max), figure(mass.min), figure(mass.max)};
    auto require_order = [&](const char* name, const std::optional<double>& least,
                             const std::optional<double>& most) {
      if (least && most && *least > *most)
        reader_.complain(Code::range, Place(place, name), "min lies above max: nothing could be sent");
    };
    require_order("shipments", one.least_shipments, one.most_shipments);
    require_order("mass", one.least_mass, one.most_mass);
    out_.buyers.push_back(one);
  }

  void fill_metal(const AnalyteQuantity& draft, const Place& on_hand) {
    const std::string& name = reader_.analytes[draft.analyte];
    const auto metal = find(out_.plan->analytes, name, Place(on_hand, name), "analytes",
                            [](const std::string& one) { return one; });
    if (metal) out_.on_hand.push_back({static_cast<Analyte>(*metal), figure(draft.quantity)});
  }

  void fill_options(const RequestDraft& draft) {
    AllocateOptions& options = out_.options;
    if (draft.most_joined) options.most_joined = static_cast<std::size_t>(*draft.most_joined);
    options.looked_at = draft.looked_at.value_or(options.looked_at);
    if (draft.time) options.seconds = figure(*draft.time) * 86400;
    if (draft.gap) options.gap = figure(*draft.gap);
    options.threads = static_cast<int>(draft.threads.value_or(1));
    options.lists_candidates = draft.candidates.value_or(false);
    if (draft.draws) fill_draws(draft);
    else refuse_what_is_about_draws(draft);
  }

  void refuse_what_is_about_draws(const RequestDraft& draft) {
    const std::pair<const char*, bool> stated[] = {
        {"seed", draft.seed.has_value()},         {"method", draft.method.has_value()},
        {"correlate", !draft.correlated.empty()}, {"same", !draft.same.empty()},
        {"averaged", !draft.averaged.empty()},    {"prefer", draft.prefer.has_value()}};
    for (const auto& [name, is_stated] : stated)
      if (is_stated)
        reader_.complain(Code::conflict, Place(Place(), name),
                         std::string(name) + " is about draws: say how many, as in \"draws\": 256");
  }

  void fill_draws(RequestDraft draft) {
    for (auto& one : draft.correlated)
      for (std::string& pointer : one.of) pointer = in_plan(pointer, request_);
    for (auto& list : draft.same)
      for (std::string& pointer : list) pointer = in_plan(pointer, request_);
    for (auto& one : draft.averaged) one.of = in_plan(one.of, request_);
    const std::size_t told = reader_.complaints.size();
    const DrawOptionsReader draws(*out_.plan, reader_);
    DrawsWanted wanted{draws.numbers(draft), draws.together(draft), draft.prefer.value_or(Preference::mean)};
    out_.options.draws = std::move(wanted);
    for (std::size_t i = told; i < reader_.complaints.size(); ++i)
      reader_.complaints[i].text = with_lots_named(reader_.complaints[i].text, request_);
  }

  const Value& request_;
  Reader reader_;
  Allocation out_;
};

}  // namespace

AllocationReading read_allocation(const Value& document, const DocumentLimits& limits) {
  return RequestReader(document, limits).read();
}

// ---- The schema -----------------------------------------------------------------------------------------

/// The plan's schema with the request's own fields in place of the lot, and a lot's own beside its others.
Json allocation_schema() {
  Json schema = plan_schema();
  schema["title"] = "A Buttonworth allocation, format 1";
  SchemaBook book;
  const Json own = request_fields().schema(book);
  Json& properties = schema["properties"];
  Json lot = properties["lot"];
  for (const char* field : {"apart", "credited"}) lot["properties"].erase(field);
  const Json own_of_a_lot = lot_fields().schema(book);
  lot["properties"].update(own_of_a_lot["properties"]);
  properties.erase("lot");
  for (const std::string& name : own["properties"].names())
    if (!is_one_of(plan_fields, name)) properties[name] = own["properties"][name];
  properties["lots"]["additionalProperties"] = lot;
  properties["lots"]["minProperties"] = 1;
  Json required = Json::array();
  for (const Json& name : schema["required"]) required.push_back(name.is("lot") ? Json("lots") : name);
  schema["required"] = required;
  schema["definitions"].update(book.definitions);
  return schema;
}

}  // namespace buttonworth
