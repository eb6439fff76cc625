#include "document/stages_form.hpp"

#include <unordered_map>

namespace buttonworth {
namespace {

/// Gives the stages their streams. What is wrong is told at the name that is.
class Placing {
 public:
  Placing(const std::vector<std::string>& streams, const char* word, Reader& reader)
      : streams_(streams), word_(word), reader_(reader), in_(streams.size()), out_(streams.size()) {
    for (std::size_t i = 0; i < streams.size(); ++i) numbers_.emplace(streams[i], i);
  }

  std::vector<WorkStage> run(const std::vector<WorkStageDraft>& drafts, const Place& place) {
    std::vector<WorkStage> made;
    for (std::size_t i = 0; i < drafts.size(); ++i) {
      const Place at(place, i), in(at, "in"), out(at, "out");
      WorkStage& stage = made.emplace_back(WorkStage{drafts[i].what, {}, {}});
      for (std::size_t k = 0; k < drafts[i].in.size(); ++k)
        put(drafts[i].in[k], i + 1, in_, stage.in, Place(in, k));
      for (std::size_t k = 0; k < drafts[i].out.size(); ++k)
        put(drafts[i].out[k], i + 1, out_, stage.out, Place(out, k));
    }
    return made;
  }

 private:
  using StageOf = std::vector<std::size_t>;  // of each stream, counted from 1; 0 for none

  void put(const std::string& name, std::size_t stage, StageOf& side, std::vector<std::size_t>& streams,
           const Place& place) {
    const auto found = numbers_.find(name);
    if (found == numbers_.end())
      return reader_.complain(Code::name, place, "there is no stream " + name + nearest_text(name, streams_));
    const std::size_t stream = found->second;
    if (side[stream] != 0)
      reader_.complain(Code::conflict, place,
                       name + " stands twice on this side: a stream goes into one " + word_ +
                           " at most and comes out of one; make two streams of what is shared out");
    side[stream] = stage;
    if (in_[stream] == out_[stream])
      reader_.complain(Code::conflict, place,
                       name + " goes in and comes out of one " + word_ + ": weigh it twice, or leave it out");
    streams.push_back(stream);
  }

  const std::vector<std::string>& streams_;
  std::string word_;
  Reader& reader_;
  std::unordered_map<std::string, std::size_t> numbers_;
  StageOf in_, out_;
};

}  // namespace

Form<WorkStageDraft> work_stage_form() {
  const auto names = list_of(text_form(), 1);
  return Fields<WorkStageDraft>()
      .need("what", &WorkStageDraft::what, text_form())
      .need("in", &WorkStageDraft::in, names)
      .need("out", &WorkStageDraft::out, names)
      .form("an object with what, in and out");
}

std::vector<WorkStage> placed(const std::vector<WorkStageDraft>& stages,
                              const std::vector<std::string>& streams, const char* word, const Place& place,
                              Reader& reader) {
  return Placing(streams, word, reader).run(stages, place);
}

}  // namespace buttonworth
