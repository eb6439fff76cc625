// The book of a month as a document and as tables.
#pragma once

#include "book/month.hpp"
#include "document/csv_writer.hpp"
#include "document/form.hpp"
#include "document/json_text.hpp"
#include "document/month_document.hpp"

namespace buttonworth {

/// The deliveries of a book, written as they are settled: nothing of them is kept but their text.
class DeliveriesText {
 public:
  DeliveriesText(BookWishes wishes, std::vector<std::string> metals, std::string currency);
  void add(const Statement& statement);

  std::string take_list();  ///< as a JSON list
  std::string take_csv() { return csv_.take(); }

 private:
  void write_list(const Statement& statement);
  void write_csv(const Statement& statement);

  BookWishes wishes_;
  std::vector<std::string> metals_;
  JsonText list_;
  CsvWriter csv_;
};

/// The answer's JSON text. `buyers` in the heading's order.
std::string book_text(const Book& book, const MonthReading& month, DeliveriesText& deliveries);

/// The JSON Schema (draft 7) of the answer.
Json book_schema();

}  // namespace buttonworth
