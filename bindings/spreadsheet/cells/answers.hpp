// Answers to documents, kept by what was asked: a thousand cells that ask the same evaluate it once.
#pragma once

#include <future>
#include <list>
#include <mutex>
#include <unordered_map>
#include <utility>

#include "core.hpp"

namespace cells {

/// The document that a range states, as JSON text in the answer; `name` is what the function calls it.
Answer document_of(const Cells& range, const char* name);

/// What is asked: one of the C interface's calls, or "by format", of the document that a range holds.
struct Question {
  std::string call;
  std::string options;
  const Cells& document;
  const char* name = "document";  ///< what the function calls it
};

/// What came of it: an answer, or the trouble instead.
struct Kept {
  Answer answer;
  Trouble trouble;
};

/// The last answers, of no more than a stated number and size together. Whoever asks what is being worked out
/// already waits for it.
class Answers {
 public:
  Answers(std::size_t most, std::size_t most_bytes) : most_(most), most_bytes_(most_bytes) {}
  std::shared_ptr<const Kept> ask(const Question& question);

 private:
  using Promise = std::shared_future<std::shared_ptr<const Kept>>;
  struct Entry {
    std::string key;
    Promise promise;
    std::size_t bytes;
  };
  using Entries = std::list<Entry>;

  void weigh(const std::string& key, const Kept& kept);
  void forget(const std::string& key);
  void erase(Entries::iterator entry);

  std::size_t most_, most_bytes_, bytes_ = 0;
  std::mutex mutex_;
  Entries entries_;  ///< the last asked first
  std::unordered_map<std::string_view, Entries::iterator> by_key_;
};

/// Those of this process.
Answers& answers();

}  // namespace cells
