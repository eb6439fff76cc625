// Stages that streams go into and come out of.
#pragma once

#include <string>
#include <vector>

namespace buttonworth {

/// Streams by their place in a list. A stream stands on at most one `in` and one `out`, never of the same
/// stage.
struct WorkStage {
  std::string what;
  std::vector<std::size_t> in, out;
};

/// Where each stream stands.
struct StreamEnds {
  std::vector<bool> goes_in, comes_out;

  StreamEnds(const std::vector<WorkStage>& stages, std::size_t streams)
      : goes_in(streams, false), comes_out(streams, false) {
    for (const WorkStage& stage : stages) {
      for (std::size_t stream : stage.in) goes_in[stream] = true;
      for (std::size_t stream : stage.out) comes_out[stream] = true;
    }
  }
  bool only_in(std::size_t stream) const { return goes_in[stream] && !comes_out[stream]; }
  bool only_out(std::size_t stream) const { return comes_out[stream] && !goes_in[stream]; }
  bool nowhere(std::size_t stream) const { return !comes_out[stream] && !goes_in[stream]; }
};

}  // namespace buttonworth
