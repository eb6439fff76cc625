#include "document/contract_reader.hpp"

#include <algorithm>

#include "document/return_document.hpp"

namespace buttonworth {
namespace {

const Place& buyers_place() {
  static const Place root;
  static const Place buyers(root, "buyers");
  return buyers;
}

/// A delivery among others: its terms are its buyer's, a price may be its own.
struct ListedDelivery : StatedDelivery {
  std::vector<AnalyteQuantity> prices;
};

const Form<ListedDelivery>& listed_delivery_form() {
  static const Form<ListedDelivery> form =
      Fields<ListedDelivery>()
          .need("id", &ListedDelivery::id, text_form())
          .need("buyer", &ListedDelivery::buyer, text_form())
          .need("arrived", &ListedDelivery::arrived, day_form())
          .need("delivered", &ListedDelivery::delivered, delivered_masses_form(LimitOf::buyer))
          .may("assays", &ListedDelivery::assays, delivered_assays_form(LimitOf::buyer))
          .may("prices", &ListedDelivery::prices, analyte_quantities(quantity(Dimension::price)))
          .may("stage", &ListedDelivery::provisional, stage_form())
          .may("previous", &ListedDelivery::previous, previous_form())
          .form("an object: a delivery");
  return form;
}

Form<std::vector<std::pair<Analyte, ContractLimit>>> assay_limits_form() {
  using Limit = std::pair<Analyte, ContractLimit>;
  const auto limit = contract_limit(Dimension::grade);
  const Form<Limit> one{[limit](const Value& value, const Place& place, Reader& reader, Limit& out) {
                          limit.read(value, place, reader, out.second);
                        },
                        limit.schema};
  return map_of<Limit>(
      one, [](Reader& reader, const std::string& name, Limit& out) { out.first = reader.analyte(name); },
      "an object from analytes to limits");
}

template <class T>
std::vector<std::string> names_of(const std::vector<T>& list, const std::vector<std::string>& analytes) {
  std::vector<std::string> names;
  for (const T& one : list) names.push_back(analytes[one.analyte]);
  return names;
}

const ContractLimit* limit_in(const std::optional<ContractLimit>& limit) { return limit ? &*limit : nullptr; }

}  // namespace

Form<ContractLimits> contract_limits_form() {
  return Fields<ContractLimits>()
      .may("wet_mass", &ContractLimits::wet_mass, contract_limit(Dimension::mass))
      .may("moisture", &ContractLimits::moisture, contract_limit(Dimension::share))
      .may("gross", &ContractLimits::gross, contract_limit(Dimension::mass))
      .may("melted", &ContractLimits::melted, contract_limit(Dimension::mass))
      .may("assays", &ContractLimits::assays, assay_limits_form())
      .form("an object of limits");
}

Form<std::vector<Analyte>> metals_form() {
  const Form<Analyte> metal{
      [](const Value& value, const Place& place, Reader& reader, Analyte& out) {
        if (require_kind(value, Value::Kind::text, place, reader, "a metal such as \"Au\""))
          out = reader.analyte(value.text);
      },
      text_form().schema};
  const auto list = list_of(metal);
  return {[list](const Value& value, const Place& place, Reader& reader, std::vector<Analyte>& out) {
            list.read(value, place, reader, out);
            std::vector<Analyte> seen;
            for (std::size_t i = 0; i < out.size(); ++i) {
              if (value.items[i].kind != Value::Kind::text) continue;  // no metal, as was said
              if (std::find(seen.begin(), seen.end(), out[i]) != seen.end())
                reader.complain(Code::repeated, Place(place, i),
                                reader.analytes[out[i]] + " stands here twice");
              seen.push_back(out[i]);
            }
          },
          [list](SchemaBook& book) {
            Json schema = list.schema(book);
            schema["uniqueItems"] = true;
            return schema;
          }};
}

Json listed_delivery_schema(SchemaBook& book) { return listed_delivery_form().schema(book); }

ContractReader::ContractReader(const Reader& heading, std::string name)
    : name_(std::move(name)), place_(buyers_place(), name_), reader_(heading) {
  reader_.complaints.clear();
}

void ContractReader::hand_over_complaints(Reader& to) {
  for (Complaint& one : reader_.complaints) to.take(std::move(one));
  reader_.complaints.clear();
}

// ---- The contract ----------------------------------------------------------------------------

void ContractReader::begin(BuyersContract contract) {
  contract_ = std::move(contract);
  pricing_.emplace(contract_, place_, reader_);
  pricing_->check();
  delivery_.currency = reader_.currency;
  delivery_.terms = contract_.terms;
  delivery_.terms.name = name_;
  for (Analyte metal : contract_.credits) check_credit(metal);
  contract_end_ = reader_.mark();
}

/// What is credited is paid at no price: nothing may hang on its value.
void ContractReader::check_credit(Analyte metal) {
  const std::string& name = reader_.analytes[metal];
  const Place credits(place_, "credits"), terms(place_, "terms");
  bool paid = false;
  for (Payable& pay : delivery_.terms.pay) {
    if (pay.analyte != metal) continue;
    paid = true;
    Value nothing;
    nothing.kind = Value::Kind::text;
    nothing.text = "0 " + reader_.currency + "/ozt";
    quantity(Dimension::price).read(nothing, credits, reader_, pay.own_price.emplace());
  }
  if (!paid)
    reader_.complain(Code::name, credits, "the terms do not pay " + name + ", so it cannot be credited");
  for (const Charge& charge : contract_.terms.charges)
    if (charge.basis == ChargeBasis::payable_value)
      reader_.complain(
          Code::conflict, terms,
          "the charge " + charge.what + " is on payable value, which " + name + " that is credited has not");
  for (const Participation& shared : contract_.terms.participation)
    if (shared.analyte == metal)
      reader_.complain(Code::conflict, terms, "there is no participation in " + name + " that is credited");
}

std::vector<std::string> ContractReader::credited() const {
  std::vector<std::string> names;
  for (Analyte metal : contract_.credits) names.push_back(reader_.analytes[metal]);
  return names;
}
std::vector<std::string> ContractReader::analytes() const {
  std::vector<std::string> names;
  for (Analyte one : analytes_of(contract_.terms)) names.push_back(reader_.analytes[one]);
  for (const std::string& one : names_of(contract_.terms.deemed, reader_.analytes)) names.push_back(one);
  return names;
}
std::vector<std::string> ContractReader::paid() const {
  return names_of(contract_.terms.pay, reader_.analytes);
}

MoneyRounding ContractReader::rounding() const {
  const Rounding& stated = contract_.terms.rounding;
  if (!stated.money) return {};
  return {reader_.worth(*stated.money), stated.mode};
}

// ---- Deliveries ------------------------------------------------------------------------------

void ContractReader::hand_over_tables() {
  std::swap(delivery_.quantities, reader_.quantities);
  std::swap(delivery_.analytes, reader_.analytes);
  lent_ = !lent_;
}

const Delivery* ContractReader::lent() {
  hand_over_tables();
  return &delivery_;
}

bool ContractReader::read(const Value& value, const Place& place) {
  if (lent_) hand_over_tables();
  reader_.wind_back(contract_end_);
  const std::size_t told_before = reader_.told();
  ListedDelivery stated;
  listed_delivery_form().read(value, place, reader_, stated);
  if (reader_.told() > told_before) return false;
  take_limits(stated, place);
  check_delivery(stated, contract_.terms, value, place, reader_);
  check_previous(value, reader_.currency, place, reader_);
  if (reader_.told() > told_before) return false;
  pricing_->price(stated.prices, stated.arrived, delivery_);
  buttonworth::take(std::move(stated), delivery_);
  delivery_.pointer = place.pointer();
  return reader_.told() == told_before;
}

void ContractReader::take_limits(StatedDelivery& stated, const Place& place) {
  const Place delivered(place, "delivered"), assays(place, "assays");
  const ContractLimits& limits = contract_.limits;
  auto one = [&](std::optional<ExchangedQuantity>& figure, const std::optional<ContractLimit>& limit,
                 const char* name) {
    if (figure) take_limit(limit_in(limit), Place(delivered, name), reader_, *figure);
  };
  one(stated.delivered.wet_mass, limits.wet_mass, "wet_mass");
  one(stated.delivered.moisture, limits.moisture, "moisture");
  one(stated.delivered.gross, limits.gross, "gross");
  one(stated.delivered.melted, limits.melted, "melted");
  for (DeliveredAssay& assay : stated.assays) {
    const auto known = std::find_if(limits.assays.begin(), limits.assays.end(),
                                    [&](const auto& limit) { return limit.first == assay.analyte; });
    take_limit(known == limits.assays.end() ? nullptr : &known->second,
               Place(assays, reader_.analytes[assay.analyte]), reader_, assay.found);
  }
}

const Delivery* ContractReader::delivery(const Value& value, const Place& place) {
  return read(value, place) ? lent() : nullptr;
}

const Delivery* ContractReader::returned(const Value& delivery, const Place& place, const Value& theirs,
                                         const Place& theirs_at, BuyersReturn& out) {
  if (!read(delivery, place) || !read_listed_return(theirs, theirs_at, reader_, delivery_, out))
    return nullptr;
  return lent();
}

// ---- All of them -----------------------------------------------------------------------------

std::optional<std::size_t> Contracts::find(const Value& entry, const Place& place, Reader& reader) const {
  const Value* buyer = entry.find("buyer");
  if (buyer == nullptr || buyer->kind != Value::Kind::text) {
    reader.complain(Code::missing_field, place, "the field buyer is missing");
    return std::nullopt;
  }
  const auto found = numbers_.find(buyer->text);
  if (found != numbers_.end()) return found->second;
  std::vector<std::string> names;
  for (const auto& contract : contracts_) names.push_back(contract->name());
  reader.complain(Code::name, Place(place, "buyer"),
                  "there is no buyer " + buyer->text + nearest_text(buyer->text, names));
  return std::nullopt;
}

namespace {
std::vector<std::string> each_once(std::vector<std::string> names) {
  std::vector<std::string> once;
  for (std::string& name : names)
    if (std::find(once.begin(), once.end(), name) == once.end()) once.push_back(std::move(name));
  return once;
}
}  // namespace

std::vector<std::string> Contracts::analytes() const {
  std::vector<std::string> names;
  for (const auto& contract : contracts_)
    for (std::string& name : contract->analytes()) names.push_back(std::move(name));
  return each_once(std::move(names));
}
std::vector<std::string> Contracts::paid() const {
  std::vector<std::string> names;
  for (const auto& contract : contracts_)
    for (std::string& name : contract->paid()) names.push_back(std::move(name));
  return each_once(std::move(names));
}

}  // namespace buttonworth
