// A split: hand magnets and screens, with outputs the user names.
#pragma once

#include <optional>

#include "process/step.hpp"

namespace buttonworth {

struct SplitOutput {
  std::string name;
  std::optional<Quantity> mass;  ///< share of the feed's dry mass; none: takes what is left
  struct Share {
    Analyte analyte;
    Quantity share;  ///< of that analyte; an analyte not named follows the mass
  };
  std::vector<Share> shares;
};

struct Split {
  std::vector<SplitOutput> outputs;  ///< exactly one takes what is left
  std::size_t rest = 0;              ///< which
};

inline StreamKind after_split(StreamKind kind) {
  return kind == StreamKind::concentrate ? StreamKind::split_output : kind;
}

/// What the others leave goes to the output that takes the rest. Whether they take more than there is.
template <class N>
Mask<N> leave_rest(const Split& split, const Stream<N>& feed, const N& taken,
                   const Contents<N>& content_taken, Outputs<N>& outputs) {
  Mask<N> too_much = above(taken, feed.dry);
  const auto nothing_left = same(feed.dry, taken);
  Stream<N>& rest = outputs[split.rest];
  rest.dry = remainder_of(feed.dry, taken);
  Stream<N>& other = outputs[split.rest == 0 ? outputs.size() - 1 : 0];
  for (std::size_t a = 0; a < feed.content.size(); ++a) {
    too_much = either(too_much, above(content_taken[a], feed.content[a]));
    // Where the shares are the whole by an edge's width, what they leave of an analyte goes along, so
    // that mass and content are nothing together and no metal is lost.
    const auto goes_along = both(nothing_left, same(feed.content[a], content_taken[a]));
    other.content[a] += choose(goes_along, N(feed.content[a] - content_taken[a]), N(0));
    rest.content[a] = choose(goes_along, N(0), content_left(feed.content[a], content_taken[a]));
  }
  return too_much;
}

template <class N, class Record>
Outputs<N> run_split(const StepBasics& step, const Split& split, const Stream<N>& feed, Quantity day,
                     const Scenario<N>& s, Record& record) {
  Work<N> work;
  work.at = &step.name;
  work.feed = feed.dry;
  work.hours = hours_at_rate(step, feed.dry, s);
  pay_costs(step, feed, work, s, record);

  Outputs<N> outputs(split.outputs.size(),
                     ready_output(step, feed, work.hours, day, s, after_split(feed.kind)));
  N taken(0);
  Contents<N> content_taken(feed.content.size(), N(0));
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    if (i == split.rest) continue;
    const N& share = s[*split.outputs[i].mass];
    outputs[i].dry = feed.dry * share;
    for (std::size_t a = 0; a < feed.content.size(); ++a) outputs[i].content[a] = feed.content[a] * share;
    for (const auto& named : split.outputs[i].shares)
      outputs[i].content[named.analyte] = feed.content[named.analyte] * s[named.share];
    taken += outputs[i].dry;
    add_to(content_taken, outputs[i].content);
  }
  const auto too_much = leave_rest(split, feed, taken, content_taken, outputs);
  record.impossible(too_much, [&](const auto&) {
    return Error(Code::split, "step " + step.name + " takes more than 100 % of its feed or of an analyte");
  });
  for (std::size_t i = 0; i < outputs.size(); ++i) {
    outputs[i].water = ratio(N(feed.water * outputs[i].dry), feed.dry);
    record.impossible(holds_too_much(outputs[i]), [&](const auto&) {
      return Error(Code::split, "output " + split.outputs[i].name + " of step " + step.name +
                                    " would hold more analytes than mass: raise its share of the mass or "
                                    "lower its shares of the analytes");
    });
  }
  note_work(record, std::move(work));
  return outputs;
}

}  // namespace buttonworth
