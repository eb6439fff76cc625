// A JSON text as a tree that keeps every token as it was written, repeated members too: what a JSON library
// would put right is what the fuzzers are after.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace fuzz {

struct Tree {
  enum class Kind { scalar, list, object };
  Kind kind = Kind::scalar;
  std::string token;               ///< of a scalar, as written
  std::vector<std::string> names;  ///< of an object, in quotes, as many as items
  std::vector<Tree> items;

  const Tree* find(std::string_view name) const;
  /// Puts a member in the place of those of that name.
  void set(std::string_view name, Tree value);
  void remove(std::string_view name);
};

Tree scalar(std::string token);

/// Nothing where the text is not JSON at all; tokens are not looked into.
std::optional<Tree> read_tree(std::string_view text);
std::string write_tree(const Tree& tree);

/// The text that a token in quotes stands for; nothing where it is none.
std::optional<std::string> text_of(const Tree& tree);
/// A text as a token in quotes. What is not UTF-8 is replaced.
std::string quoted(std::string_view text);

}  // namespace fuzz
