#include "chance/blocks.hpp"

#include <algorithm>
#include <utility>

namespace buttonworth {

BlockPlaces::BlockPlaces(std::int64_t draws)
    : part_draws_(draws / static_cast<std::int64_t>(part_count)),
      per_part_((static_cast<std::size_t>(part_draws_) + block_draws - 1) / block_draws) {}

BlockPlace BlockPlaces::operator[](std::size_t number) const {
  const std::size_t part = number / per_part_, within = number % per_part_;
  const auto start = static_cast<std::int64_t>(within * block_draws);
  const std::int64_t left = part_draws_ - start;
  return {number, part, static_cast<std::int64_t>(part) * part_draws_ + start,
          static_cast<std::size_t>(std::min<std::int64_t>(left, block_draws))};
}

std::optional<std::size_t> Turns::next() {
  const std::scoped_lock lock(mutex_);
  if (failure_ || handed_out_ == blocks_) return std::nullopt;
  return handed_out_++;
}

void Turns::tell() {
  watch_.keep_going();
  std::size_t done = 0;
  {
    const std::scoped_lock lock(mutex_);
    done = turn_;
  }
  if (std::exchange(told_, done) != done)
    watch_.progress(done_before_ + static_cast<std::int64_t>(done), total_);
}

void Turns::give_up(std::exception_ptr why) {
  {
    const std::scoped_lock lock(mutex_);
    if (!failure_) failure_ = std::move(why);
  }
  turned_.notify_all();
}

}  // namespace buttonworth
