// Blocks of draws over threads: worked out by whoever is free, merged in the order of the draws.
#pragma once

#include <condition_variable>
#include <exception>
#include <map>
#include <memory>
#include <mutex>
#include <system_error>
#include <thread>
#include <vector>

#include "chance/model.hpp"
#include "quantity/quiet_watch.hpp"

namespace buttonworth {

struct BlockPlace {
  std::size_t number;  ///< among all blocks
  std::size_t part;
  std::int64_t first;  ///< draw
  std::size_t count;
};

/// The blocks of a simulation: none reaches from one part into the next.
class BlockPlaces {
 public:
  explicit BlockPlaces(std::int64_t draws);
  std::size_t size() const { return part_count * per_part_; }
  BlockPlace operator[](std::size_t number) const;

 private:
  std::int64_t part_draws_;
  std::size_t per_part_;
};

/// Takes turns: blocks are handed out, worked on by whoever is free and merged in order.
class Turns {
 public:
  Turns(std::size_t blocks, const Watch& watch, std::int64_t done_before, std::int64_t total)
      : blocks_(blocks), watch_(watch), done_before_(done_before), total_(total) {}

  /// Runs `take(state, number)` and then, in order, `merge(state, number)` for every block. States are made
  /// by `make()` and used again. The calling thread works too, tells the progress and asks whether to stop.
  template <class Make, class Take, class Merge>
  void run(int threads, Make make, Take take, Merge merge) {
    using State = decltype(make());
    Waiting<State> waiting{static_cast<std::size_t>(threads), {}, {}};
    auto work = [&](bool calling) {
      try {
        while (const auto number = next()) {
          auto state = spare(waiting);
          if (!state) state = std::make_unique<State>(make());
          take(*state, *number);
          hand_in(std::move(state), *number, waiting, merge);
          if (calling) tell();
        }
      } catch (...) {
        give_up(std::current_exception());
      }
    };
    {
      std::vector<std::jthread> others;
      try {
        for (int i = 1; i < threads; ++i) others.emplace_back(work, false);
      } catch (const std::system_error&) {
        // The system gives no more threads: those that are there do the work, to the same end.
      } catch (...) {
        give_up(std::current_exception());
      }
      work(true);
    }
    if (failure_) std::rethrow_exception(failure_);
    tell();  // another thread may have had the last block
  }

 private:
  /// States whose turn has not come, and those that are free.
  template <class State>
  struct Waiting {
    std::size_t most;
    std::map<std::size_t, std::unique_ptr<State>> by_number;
    std::vector<std::unique_ptr<State>> free;
  };

  template <class State>
  std::unique_ptr<State> spare(Waiting<State>& waiting) {
    const std::scoped_lock lock(mutex_);
    if (waiting.free.empty()) return nullptr;
    auto state = std::move(waiting.free.back());
    waiting.free.pop_back();
    return state;
  }

  /// Whoever comes when it is his turn merges all whose turn it is by then; meanwhile it is nobody else's.
  /// Nobody runs far ahead of the rest.
  template <class State, class Merge>
  void hand_in(std::unique_ptr<State> state, std::size_t number, Waiting<State>& waiting, Merge merge) {
    std::unique_lock lock(mutex_);
    waiting.by_number.emplace(number, std::move(state));
    while (!failure_ && !waiting.by_number.empty() && waiting.by_number.begin()->first == turn_) {
      auto due = std::move(waiting.by_number.extract(waiting.by_number.begin()).mapped());
      lock.unlock();
      merge(*due, turn_);
      lock.lock();
      ++turn_;
      waiting.free.push_back(std::move(due));
      turned_.notify_all();
    }
    turned_.wait(lock, [&] { return failure_ || waiting.by_number.size() <= waiting.most; });
  }

  std::optional<std::size_t> next();
  void tell();
  void give_up(std::exception_ptr why);

  const std::size_t blocks_;
  const Watch& watch_;
  const std::int64_t done_before_, total_;
  std::mutex mutex_;
  std::condition_variable turned_;
  std::size_t handed_out_ = 0, turn_ = 0;
  std::size_t told_ = 0;  // the calling thread's
  std::exception_ptr failure_;
};

}  // namespace buttonworth
