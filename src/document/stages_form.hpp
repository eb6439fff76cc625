// Stages or nodes as they stand in a document, and the streams that are placed at them by name.
#pragma once

#include "document/form.hpp"
#include "material/stages.hpp"

namespace buttonworth {

struct WorkStageDraft {
  std::string what;
  std::vector<std::string> in, out;
};

/// An object with what, in and out, each of these a stream at least.
Form<WorkStageDraft> work_stage_form();

/// The stages with their streams by number. A complaint stands at the name that is wrong: no such stream, or
/// one that stands twice on a side or on both sides of one stage. `word` is what the document calls a stage.
std::vector<WorkStage> placed(const std::vector<WorkStageDraft>& stages,
                              const std::vector<std::string>& streams, const char* word, const Place& place,
                              Reader& reader);

}  // namespace buttonworth
