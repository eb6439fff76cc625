// What is asked of the library in every surrounding: what the vectors state, the demonstration's documents by
// every call, and names that are not ASCII. An answer is one text with all that a host is told.
#pragma once

#include <string>
#include <vector>

#include "library.hpp"

namespace hosts {

struct Question {
  std::string name;
  std::string call;     ///< as vectors name them, and a few more (questions.cpp)
  std::string text;     ///< the plan or the request
  std::string options;  ///< of calls on a plan; a table of a month; arguments of a formula
};

const std::vector<Question>& vector_questions();
const std::vector<Question>& demonstration_questions();
const std::vector<Question>& foreign_questions();
/// As deep as documents and routes may be, and deeper.
const std::vector<Question>& deep_questions();
/// One that takes its time, and what it finds by then is not the same twice.
const Question& demonstration_month_of_lots();
/// Those that come to the same every time.
std::vector<Question> all_questions();

/// Status, answer, plan, errors and numbers, as a host gets them.
std::string answer(const Library& library, bw_context* context, const Question& question);
/// The same by a context of its own.
std::string answer(const Library& library, const Question& question);

}  // namespace hosts
