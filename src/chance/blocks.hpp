// Blocks of draws over threads: worked out by whoever is free, merged in the order of the draws.
#pragma once

#include <condition_variable>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "chance/model.hpp"
#include "quantity/watch.hpp"

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

/// Takes turns: block after block is handed out, worked on in any order and merged in order.
class Turns {
 public:
  Turns(std::size_t blocks, const Watch& watch, std::int64_t done_before, std::int64_t total)
      : blocks_(blocks), watch_(watch), done_before_(done_before), total_(total) {}

  /// Runs `take(state, number)` and then, in order, `merge(state, number)` for every block. A state is made
  /// by `make()` for each thread. The calling thread works too, tells the progress and asks whether to stop.
  template <class Make, class Take, class Merge>
  void run(int threads, Make make, Take take, Merge merge) {
    auto work = [&](bool calling) {
      try {
        auto state = make();
        while (const auto number = next()) {
          take(state, *number);
          if (!await(*number)) return;
          merge(state, *number);
          pass_on(*number, calling);
        }
      } catch (...) {
        give_up(std::current_exception());
      }
    };
    {
      std::vector<std::jthread> others;
      try {
        for (int i = 1; i < threads; ++i) others.emplace_back(work, false);
      } catch (...) {
        give_up(std::current_exception());
      }
      work(true);
    }
    if (failure_) std::rethrow_exception(failure_);
    tell(blocks_);  // another thread may have had the last block
  }

 private:
  std::optional<std::size_t> next();
  bool await(std::size_t number);
  void pass_on(std::size_t number, bool calling);
  void tell(std::size_t done);
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
