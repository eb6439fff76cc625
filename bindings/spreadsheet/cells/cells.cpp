#include "cells.hpp"

#include "arguments.hpp"

namespace cells {
namespace {

#include "functions.inc"

std::string in_capitals(std::string text) {
  for (char& c : text)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return text;
}

/// The arguments as many as there are names for them.
void demand_count(const Function& function, const std::vector<Cells>& arguments) {
  const auto& known = function.arguments;
  if (arguments.size() > known.size() && (known.empty() || known.back().kind != Kind::rest))
    throw Trouble{Fault::argument,
                  std::string(function.name) + " takes " + std::to_string(known.size()) + " arguments"};
}

Cells faulty(Fault fault, const std::string& text, std::string* why) {
  if (why != nullptr && why->empty()) *why = text;
  return Cells(fault);
}

/// The one cell of an argument; null where what stands for it is to be taken.
const Cell* one_cell(const Call& call, std::size_t k) {
  const Argument& argument = call.function.arguments[k];
  const Cells* range = stated(call, k);
  if (range != nullptr && !range->is_one())
    throw Trouble{Fault::argument, std::string(argument.name) + " is to be one cell"};
  const Cell* one = range != nullptr ? &range->at(0, 0) : nullptr;
  if (argument.has_otherwise) return one != nullptr && !is_empty(*one) ? one : nullptr;
  if (one == nullptr) throw Trouble{Fault::missing, left_out(argument)};
  return one;
}

}  // namespace

std::span<const Function> functions() { return table; }

const Function* find(std::string_view name) {
  for (const Function& one : table)
    if (one.name == name) return &one;
  return nullptr;
}

Cells evaluate(const Function& function, std::vector<Cells> arguments, std::string* why) noexcept {
  try {
    try {
      demand_count(function, arguments);
      return function.work({function, arguments, why});
    } catch (const Trouble& trouble) {
      return faulty(trouble.fault, trouble.text, why);
    } catch (const std::exception& error) {
      return faulty(Fault::internal, error.what(), why);
    }
  } catch (...) {
    return Cells(Fault::internal);
  }
}

std::string text_of(const Call& call, std::size_t k) {
  const Argument& argument = call.function.arguments[k];
  const Cell* one = one_cell(call, k);
  if (one == nullptr) return argument.otherwise_text;
  if (const std::string* text = std::get_if<std::string>(one)) return *text;
  throw Trouble{Fault::argument, std::string(argument.name) + " is to be a text, in quotes"};
}

double number_of(const Call& call, std::size_t k) {
  const Argument& argument = call.function.arguments[k];
  const Cell* one = one_cell(call, k);
  if (one == nullptr) return argument.otherwise_number;
  const auto number = number_in(call, argument, one);
  if (const Fault* fault = std::get_if<Fault>(&number)) throw Trouble{*fault, left_out(argument)};
  return std::get<double>(number);
}

Cells work_explain(const Call& call) {
  const std::string name = in_capitals(text_of(call, 0));
  const Function* explained = find(name);
  if (explained == nullptr) {
    std::string known;
    for (const Function& one : table) (known += known.empty() ? "" : ", ") += one.name;
    return Cells("there is no function " + name + "; there is " + known);
  }
  std::string why;
  evaluate(*explained, {call.arguments.begin() + 1, call.arguments.end()}, &why);
  return Cells(why);
}

Cells work_version(const Call&) { return Cells(std::string(bw_version())); }

Cells work_path(const Call&) {
  const std::string path = library_path();
  return path.empty() ? Cells(Fault::missing) : Cells(path);
}

}  // namespace cells
