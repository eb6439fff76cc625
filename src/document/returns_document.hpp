// What buyers returned over many lots, as documents.
#pragma once

#include <unordered_map>

#include "book/returns.hpp"
#include "document/contract_reader.hpp"
#include "document/entries.hpp"
#include "document/json_text.hpp"

namespace buttonworth {

inline constexpr const char* returns_format = "buttonworth-returns/1";

/// Reads the lots and their returns, and reconciles each as it is met.
class ReturnsReading {
 public:
  ReturnsReading(const Value& request, const DocumentLimits& limits, const Watch& watch);
  ReturnsReading(const ReturnsReading&) = delete;
  ReturnsReading& operator=(const ReturnsReading&) = delete;

  std::vector<Complaint>& complaints() { return reader_.complaints; }
  /// The answer's JSON text.
  std::string text();

  static Json schema(SchemaBook& book);

 private:
  struct Request;
  /// A delivery waits as it was written until its return is met.
  struct Lot {
    std::size_t buyer;
    Value stated;
    std::size_t index;
    bool returned = false;
  };

  void take_delivery(const Value& entry, const Place& place, std::size_t index);
  void take_return(const Value& entry, const Place& place);
  void reconcile_lot(Lot& lot, const Value& theirs, const Place& place);
  void check_others();
  void write_buyer(std::size_t number);
  void write_figure(const FigureOverLots& figure);

  Reader reader_;
  Contracts contracts_;
  std::vector<std::string> names_;
  std::vector<BuyersReturns> buyers_;
  std::vector<Lot> lots_;
  std::unordered_map<std::string, std::size_t> numbers_;
  JsonText lots_text_, out_;
};

/// The JSON Schemas (draft 7).
Json returns_schema();
Json reconciliations_schema();

}  // namespace buttonworth
