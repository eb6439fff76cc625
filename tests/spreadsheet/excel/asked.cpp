// The vectors' calls as a program in VBA makes them.
#include "library.hpp"
#include "vector_file.hpp"

namespace vectors {
namespace {

using excel::Text;
using excel::Value;

const excel::Library& library() {
  static const excel::Library loaded;
  return loaded;
}

Outcome outcome(std::intptr_t session, bw_status status, const std::string& text) {
  Value line, list;
  EXPECT_EQ(library().last_error(session, &line, &list), BW_OK);
  EXPECT_EQ(line.text().empty(), status == BW_OK) << line.text();
  EXPECT_EQ(library().close(session), BW_OK);
  return {status, text, status == BW_OK ? Json::parse(text) : Json(), Json::parse(list.text())};
}

Outcome formula(const Json& request) {
  const std::intptr_t session = library().open();
  std::vector<Value> numbers;
  for (const Json& one : request.at("arguments")) numbers.emplace_back(one.get<double>());
  double result = 0;
  const Text name(request.at("name").get<std::string>());
  const Value arguments = excel::list(std::move(numbers));
  const bw_status status = library().formula(session, name.pointer(), &arguments, &result);
  return outcome(session, status, (status == BW_OK ? Json(Json(result).dump()) : Json()).dump());
}

}  // namespace

Outcome call(const Json& vector, const Json& options) {
  if (vector.at("call") == "formula") return formula(vector.at("request"));
  const std::intptr_t session = library().open();
  Value answer;
  const Text name(vector.at("call").get<std::string>()), request(request_text(vector)),
      chosen(options.is_null() ? std::string() : options.dump());
  const bw_status status =
      library().ask(session, name.pointer(), request.pointer(), chosen.pointer(), &answer);
  return outcome(session, status, answer.text());
}

}  // namespace vectors
