// Buyers of a book: each one's contract, and the deliveries that are read under it.
#pragma once

#include <map>
#include <memory>

#include "book/month.hpp"
#include "book/reconcile.hpp"
#include "document/delivery_form.hpp"
#include "document/terms_form.hpp"

namespace buttonworth {

struct ContractLimits {
  std::optional<ContractLimit> wet_mass, moisture, gross, melted;
  std::vector<std::pair<Analyte, ContractLimit>> assays;
};

struct BuyersContract : StatedContract {
  ContractLimits limits;
  std::vector<Analyte> credits;  ///< metals that are credited instead of paid
};

Form<ContractLimits> contract_limits_form();
/// A list of metals.
Form<std::vector<Analyte>> metals_form();
/// Of a delivery among others.
Json listed_delivery_schema(SchemaBook& book);

/// The fields of a buyer's contract that every document of many deliveries has.
template <class T>
Fields<T> contract_fields() {
  return Fields<T>()
      .need("terms", &T::terms, terms_form())
      .may("prices", &T::prices, analyte_quantities(quantity(Dimension::price)))
      .may("quotes", &T::quotes, quotes_form())
      .may("period", &T::periods, periods_form())
      .may("limits", &T::limits, contract_limits_form())
      .may("credits", &T::credits, metals_form());
}

/// Reads one buyer's deliveries. What they state stands in tables of this buyer's own, behind what his
/// contract states, and is forgotten when the next one is read.
class ContractReader {
 public:
  /// `heading` has read the document's currency and what others are worth.
  ContractReader(const Reader& heading, std::string name);
  ContractReader(const ContractReader&) = delete;
  ContractReader& operator=(const ContractReader&) = delete;

  const std::string& name() const { return name_; }
  const Place& place() const { return place_; }
  /// What the contract is read with; complaints stay in it until they are handed over.
  Reader& reader() { return reader_; }
  void hand_over_complaints(Reader& to);
  /// The contract is read: from here on its deliveries are.
  void begin(BuyersContract contract);

  /// The delivery, until the next is read; null where it is not in order.
  const Delivery* delivery(const Value& value, const Place& place);
  /// The delivery with what its buyer returned; null where either is not in order.
  const Delivery* returned(const Value& delivery, const Place& place, const Value& theirs,
                           const Place& theirs_at, BuyersReturn& out);

  std::vector<std::string> credited() const;
  std::vector<std::string> analytes() const;  ///< that the terms name
  std::vector<std::string> paid() const;
  MoneyRounding rounding() const;

 private:
  bool read(const Value& value, const Place& place);
  void take_limits(StatedDelivery& stated, const Place& place);
  void check_credit(Analyte metal);
  void hand_over_tables();  // to the delivery, or back
  const Delivery* lent();

  std::string name_;
  Place place_;
  Reader reader_;
  BuyersContract contract_;
  std::optional<Pricing> pricing_;
  Reader::Mark contract_end_;
  Delivery delivery_;
  bool lent_ = false;  // the tables are with the delivery
};

/// The buyers of a document, in its order.
class Contracts {
 public:
  void add(std::unique_ptr<ContractReader> contract) {
    numbers_.emplace(contract->name(), contracts_.size());
    contracts_.push_back(std::move(contract));
  }
  /// The number of the buyer that an entry names; nothing, with a complaint, where it names none of them.
  std::optional<std::size_t> find(const Value& entry, const Place& place, Reader& reader) const;
  ContractReader& operator[](std::size_t number) { return *contracts_[number]; }
  /// Analytes that any of the terms name.
  std::vector<std::string> analytes() const;
  /// Metals that any of them pays, in the order they are first named.
  std::vector<std::string> paid() const;

 private:
  std::vector<std::unique_ptr<ContractReader>> contracts_;
  std::map<std::string, std::size_t> numbers_;
};

/// A buyer as read, with the reader of his deliveries.
template <class T>
struct ReadBuyer {
  std::unique_ptr<ContractReader> contract;
  T stated;
};

/// An object from names to buyers.
template <class T>
Form<std::vector<ReadBuyer<T>>> buyers_form(Form<T> buyer) {
  using Buyers = std::vector<ReadBuyer<T>>;
  return {[buyer](const Value& value, const Place& place, Reader& reader, Buyers& out) {
            if (!require_kind(value, Value::Kind::object, place, reader, "an object from names to buyers"))
              return;
            each_member(value, place, [&](const std::string& name, const Value& member, const Place& at) {
              if (name.empty()) reader.complain(Code::name, at, "an empty name: give it one");
              ReadBuyer<T>& one = out.emplace_back();
              one.contract = std::make_unique<ContractReader>(reader, name);
              buyer.read(member, at, one.contract->reader(), one.stated);
              one.contract->hand_over_complaints(reader);
            });
            if (out.empty()) reader.complain(Code::range, place, "there is no buyer: state one at least");
          },
          [buyer](SchemaBook& book) {
            return Json{{"type", "object"},
                        {"minProperties", 1},
                        {"properties", {{"note", Json::object()}}},
                        {"propertyNames", {{"minLength", 1}}},
                        {"additionalProperties", buyer.schema(book)}};
          }};
}

}  // namespace buttonworth
