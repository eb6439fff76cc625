#include "answers.hpp"

#include <algorithm>

namespace cells {
namespace {

std::string text_of(const Cell& cell, const char* name, std::size_t row) {
  if (const std::string* text = std::get_if<std::string>(&cell)) return *text;
  if (const double* number = std::get_if<double>(&cell)) return decimal(*number);
  if (const Fault* fault = std::get_if<Fault>(&cell))
    throw Trouble{*fault, std::string(name) + ": row " + std::to_string(row + 1) + " is itself an error"};
  return {};
}

void add_sized(std::string& key, std::string_view text) {
  const std::size_t size = text.size();
  key.append(reinterpret_cast<const char*>(&size), sizeof size).append(text);
}

/// What tells one question from another: of a thousand cells with one document this is most of the work.
std::string key_of(const Question& question) {
  std::string key;
  key.reserve(64 * question.document.values.size());
  add_sized(key, question.call);
  add_sized(key, question.options);
  key += static_cast<char>('0' + std::min<std::size_t>(question.document.columns, 9));
  for (const Cell& cell : question.document.values) {
    key += static_cast<char>('0' + cell.index());
    if (const std::string* text = std::get_if<std::string>(&cell)) add_sized(key, *text);
    if (const double* number = std::get_if<double>(&cell))
      key.append(reinterpret_cast<const char*>(number), sizeof *number);
    if (const Fault* fault = std::get_if<Fault>(&cell))
      key += static_cast<char>('0' + static_cast<int>(*fault));
  }
  return key;
}

/// The call that a document's format asks for; a wrong version of it is for that call to tell.
std::string call_for(const bw_answer* document) {
  char format[80];
  if (bw_answer_string(context(), document, "/format", format, sizeof format, nullptr) != BW_OK)
    throw Trouble{Fault::argument, "a row /format is wanted, such as buttonworth-plan/1"};
  const std::string_view stated(format);
  const std::string name(stated.substr(0, stated.find('/')));
  static const std::unordered_map<std::string, std::string> calls{
      {"buttonworth-plan", "compare"},     {"buttonworth-delivery", "settle"},
      {"buttonworth-return", "reconcile"}, {"buttonworth-returns", "reconcile"},
      {"buttonworth-month", "book"},       {"buttonworth-dispute", "dispute"},
      {"buttonworth-call", "metal_call"}};
  const auto found = calls.find(name);
  return found != calls.end() ? found->second : "bench";
}

using Rows = std::vector<std::pair<std::string, std::string>>;

/// The rows of a range: pointer, value, and in a third column the unit of the value.
Rows rows_of(const Cells& range, const char* name) {
  if (range.columns != 2 && range.columns != 3)
    throw Trouble{
        Fault::argument,
        std::string(name) + " is to be a range of two columns, pointer and value, or three with units"};
  Rows rows;
  rows.reserve(range.rows);
  for (std::size_t row = 0; row < range.rows; ++row) {
    std::string value = text_of(range.at(row, 1), name, row);
    const std::string unit = range.columns == 3 ? text_of(range.at(row, 2), name, row) : "";
    if (!unit.empty()) (value += ' ') += unit;
    rows.emplace_back(text_of(range.at(row, 0), name, row), std::move(value));
    if ((rows.back().first + rows.back().second).find('\0') != std::string::npos)
      throw Trouble{Fault::argument,
                    std::string(name) + ": row " + std::to_string(row + 1) + " holds a zero character"};
  }
  return rows;
}

Answer answer_to(const Question& question) {
  const Answer document = document_of(question.document, question.name);
  std::size_t size = 0;
  const char* text = bw_answer_text(document.get(), &size);
  const std::string call = question.call == "by format" ? call_for(document.get()) : question.call;
  bw_answer* made = nullptr;
  check(run(*find_job(call), context(), {text, size}, question.options, &made));
  return Answer(made);
}

std::shared_ptr<const Kept> worked(const Question& question) {
  try {
    return std::make_shared<const Kept>(Kept{answer_to(question), {}});
  } catch (const Trouble& trouble) {
    return std::make_shared<const Kept>(Kept{nullptr, trouble});
  }
}

}  // namespace

Answer document_of(const Cells& range, const char* name) {
  const Rows rows = rows_of(range, name);
  std::vector<const char*> pointers, values;
  for (const auto& [pointer, value] : rows) {
    pointers.push_back(pointer.c_str());
    values.push_back(value.c_str());
  }
  bw_answer* made = nullptr;
  check(bw_read_rows(context(), pointers.data(), values.data(), rows.size(), &made));
  return Answer(made);
}

std::shared_ptr<const Kept> Answers::ask(const Question& question) {
  std::string key = key_of(question);
  std::promise<std::shared_ptr<const Kept>> mine;
  {
    std::unique_lock lock(mutex_);
    if (const auto found = by_key_.find(key); found != by_key_.end()) {
      entries_.splice(entries_.begin(), entries_, found->second);
      const Promise promise = found->second->promise;
      lock.unlock();
      return promise.get();
    }
    entries_.push_front({key, mine.get_future().share(), key.size()});
    bytes_ += key.size();  // of what stands in the list, whether its name can be kept or not
    by_key_.emplace(entries_.front().key, entries_.begin());
  }
  try {
    const auto kept = worked(question);
    mine.set_value(kept);
    if (kept->answer == nullptr && kept->trouble.fault == Fault::internal) forget(key);
    else weigh(key, *kept);
    return kept;
  } catch (...) {  // no memory: those who wait hear of it too
    mine.set_exception(std::current_exception());
    forget(key);
    throw;
  }
}

/// Counts an answer's size, twice as its tree is kept beside it, and makes room.
void Answers::weigh(const std::string& key, const Kept& kept) {
  std::size_t size = kept.trouble.text.size();
  if (kept.answer != nullptr) bw_answer_text(kept.answer.get(), &size);
  const std::lock_guard lock(mutex_);
  if (const auto found = by_key_.find(key); found != by_key_.end()) {
    found->second->bytes += 2 * size;
    bytes_ += 2 * size;
  }
  while (entries_.size() > 1 && (entries_.size() > most_ || bytes_ > most_bytes_))
    erase(std::prev(entries_.end()));
}

/// What failed by no fault of the cell's may go well the next time.
void Answers::forget(const std::string& key) {
  const std::lock_guard lock(mutex_);
  if (const auto found = by_key_.find(key); found != by_key_.end()) erase(found->second);
}

void Answers::erase(Entries::iterator entry) {
  bytes_ -= entry->bytes;
  by_key_.erase(entry->key);
  entries_.erase(entry);
}

Answers& answers() {
  static Answers kept(256, std::size_t{64} << 20);
  return kept;
}

}  // namespace cells
