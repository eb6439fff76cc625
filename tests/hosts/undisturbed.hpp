// All questions once in an undisturbed program, and again in another surrounding: the same bytes.
#pragma once

#include <gtest/gtest.h>

#include "questions.hpp"

namespace hosts {

/// Questions and what they come to; made before anything is changed.
struct Undisturbed {
  std::vector<Question> questions = all_questions();
  std::vector<std::string> answers;

  Undisturbed() {
    for (const Question& one : questions) answers.push_back(answer(linked(), one));
  }
};
inline const Undisturbed& undisturbed() {
  static const Undisturbed made;
  return made;
}

/// Answers to all questions, in whatever surrounding this is called.
inline std::vector<std::string> answers_here() {
  std::vector<std::string> answers;
  answers.reserve(undisturbed().questions.size());
  for (const Question& one : undisturbed().questions) answers.push_back(answer(linked(), one));
  return answers;
}

/// To be called when the surrounding is the usual one again.
inline void expect_undisturbed(const std::vector<std::string>& answers) {
  const Undisturbed& expected = undisturbed();
  ASSERT_EQ(answers.size(), expected.answers.size());
  int shown = 0;
  for (std::size_t i = 0; i < answers.size() && shown < 5; ++i) {
    if (answers[i] == expected.answers[i]) continue;
    ++shown;
    std::size_t at = 0;
    while (at < answers[i].size() && answers[i][at] == expected.answers[i][at]) ++at;
    const std::size_t from = at > 60 ? at - 60 : 0;
    ADD_FAILURE() << expected.questions[i].name << ": "
                  << testing::PrintToString(answers[i].substr(from, 120)) << "\ninstead of\n"
                  << testing::PrintToString(expected.answers[i].substr(from, 120));
  }
}

}  // namespace hosts
