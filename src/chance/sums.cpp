#include "chance/sums.hpp"

#include <algorithm>

namespace buttonworth {
namespace {

template <class T>
void add_each(std::vector<T>& to, const std::vector<T>& more) {
  for (std::size_t i = 0; i < to.size(); ++i) to[i] += more[i];
}

}  // namespace

Histogram::Histogram(std::vector<double> sample) : counts_(steps) {
  if (sample.empty()) return;
  std::sort(sample.begin(), sample.end());
  const std::size_t tail = sample.size() / 200;
  const double low = sample[tail], high = sample[sample.size() - 1 - tail];
  const double width = high > low ? high - low : std::max(1.0, std::abs(low));
  low_ = low - width;
  per_step_ = static_cast<double>(steps) / (3 * width);
}

void Histogram::add(const Histogram& other) { add_each(counts_, other.counts_); }

std::pair<std::size_t, std::int64_t> Histogram::step_at(std::int64_t rank) const {
  std::int64_t before = 0;
  std::size_t step = 0;
  while (step + 1 < steps && before + counts_[step] < rank) before += counts_[step++];
  return {step, before};
}

void ClassSums::add(const ClassSums& other) { add_each(sums_, other.sums_); }

Moments Moments::of(const std::vector<double>& values) {
  Moments all{static_cast<double>(values.size()), 0, 0};
  for (double value : values) all.mean += value / all.count;
  for (double value : values) all.squares += (value - all.mean) * (value - all.mean);
  return all;
}

void Moments::add(const Moments& more) {
  if (more.count == 0) return;
  const double whole = count + more.count, apart = more.mean - mean;
  squares += more.squares + apart * apart * count * more.count / whole;
  mean += apart * more.count / whole;
  count = whole;
}

double share_between(const std::vector<ClassOfDraws>& classes, double mean, double squares, double counted) {
  double between = 0, used = 0;
  for (const ClassOfDraws& one : classes) {
    between += one.count * (one.mean - mean) * (one.mean - mean);
    used += one.count > 0;
  }
  if (squares <= 0) return 0;
  const double within = std::max(0.0, squares - between) / std::max(1.0, counted - used);
  return std::max(0.0, (between - (used - 1) * within) / squares);
}

void PartSums::clear() {
  counted = broken = 0;
  best = 0;
  std::fill(sum.begin(), sum.end(), 0.0);
  std::fill(squares.begin(), squares.end(), 0.0);
  std::fill(times_best.begin(), times_best.end(), 0);
  std::fill(times_refused.begin(), times_refused.end(), 0);
  classes.clear();
}

void PartSums::add(const PartSums& other) {
  counted += other.counted;
  broken += other.broken;
  best += other.best;
  add_each(sum, other.sum);
  add_each(squares, other.squares);
  add_each(times_best, other.times_best);
  add_each(times_refused, other.times_refused);
  classes.add(other.classes);
}

void PartSums::take(const DrawBlock& block, const std::vector<double>& centres, std::size_t dimensions) {
  std::vector<double> centred(block.routes);
  for (std::size_t draw = 0; draw < block.count; ++draw) {
    if (block.broken[draw]) {
      ++broken;
      continue;
    }
    ++counted;
    take_draw(block.worth_of(draw), &block.refused[draw * block.routes], centres, centred);
    for (std::size_t d = 0; d < dimensions; ++d) {
      double* const sums = classes.at(d, block.classes[d * block.count + draw]);
      sums[0] += 1;
      for (std::size_t r = 0; r < centred.size(); ++r) sums[1 + r] += centred[r];
    }
  }
}

/// The best of a draw is worth no less than any, refused ones counting 0, and is not refused itself.
void PartSums::take_draw(const double* worth, const std::uint8_t* refused, const std::vector<double>& centres,
                         std::vector<double>& centred) {
  std::size_t most = 0;
  for (std::size_t r = 0; r < centred.size(); ++r) {
    centred[r] = worth[r] - centres[r];
    sum[r] += centred[r];
    squares[r] += centred[r] * centred[r];
    times_refused[r] += refused[r];
    const bool more = above(worth[r], worth[most]), instead = refused[most] && !refused[r];
    if (more || (instead && same(worth[r], worth[most]))) most = r;
  }
  best += worth[most] - centres[0];
  times_best[most] += !refused[most];
}

}  // namespace buttonworth
