// The vectors and the documents they hold, as tests read them.
#pragma once

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "buttonworth.h"

namespace vectors {

using Json = nlohmann::ordered_json;

inline Json read_file(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("there is no file " + path);
  return Json::parse(file);
}

/// The vectors of core.json, read once.
inline const Json& core() {
  static const Json file = read_file(BUTTONWORTH_VECTORS "/core.json");
  return file;
}
/// Whether what is tested has the call of a vector: the library of schedules is built where it is wanted.
inline bool is_there(const Json& vector) {
#ifdef BUTTONWORTH_SCHEDULE
  return vector.contains("call");
#else
  return vector.at("call") != "allocate";
#endif
}
inline bool is_bad(const Json& vector) { return vector.contains("error") || vector.contains("errors"); }

/// The document of a vector as text, as it is to be handed over.
inline std::string request_text(const Json& vector) {
  return vector.contains("text") ? vector.at("text").get<std::string>() : vector.at("request").dump();
}

/// What a call came to: its answer, or the errors it reported together.
struct Outcome {
  bw_status status = BW_OK;
  std::string text;  ///< of the answer
  Json answer;
  Json errors;
};

/// The call that a vector names, as a host makes it: c_calls.cpp through the C interface.
Outcome call(const Json& vector, const Json& options);

}  // namespace vectors
