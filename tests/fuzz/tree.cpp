#include "tree.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace fuzz {
namespace {

constexpr int deepest = 600;

class TreeReader {
 public:
  explicit TreeReader(std::string_view text) : text_(text) {}

  std::optional<Tree> read() {
    Tree tree;
    if (!value(tree, 0)) return std::nullopt;
    skip_blanks();
    if (at_ != text_.size()) return std::nullopt;
    return tree;
  }

 private:
  bool value(Tree& tree, int depth) {
    skip_blanks();
    if (at_ == text_.size() || depth > deepest) return false;
    if (text_[at_] != '{' && text_[at_] != '[') return token(tree.token);
    tree.kind = text_[at_] == '{' ? Tree::Kind::object : Tree::Kind::list;
    return items(tree, text_[at_++] == '{' ? '}' : ']', depth);
  }
  bool items(Tree& tree, char end, int depth) {
    if (takes(end)) return true;
    do {
      if (end == '}' && !name(tree)) return false;
      if (!value(tree.items.emplace_back(), depth + 1)) return false;
    } while (takes(','));
    return takes(end);
  }
  bool name(Tree& tree) {
    skip_blanks();
    return token(tree.names.emplace_back()) && tree.names.back().front() == '"' && takes(':');
  }
  bool token(std::string& out) {
    const std::size_t from = at_;
    if (at_ < text_.size() && text_[at_] == '"') {
      for (++at_; at_ < text_.size() && text_[at_] != '"'; ++at_)
        if (text_[at_] == '\\') ++at_;
      if (at_ >= text_.size()) return false;
      ++at_;
    } else {
      at_ = std::min(text_.find_first_of(",:]} \t\r\n\"[{", at_), text_.size());
    }
    out = text_.substr(from, at_ - from);
    return !out.empty();
  }
  bool takes(char wanted) {
    skip_blanks();
    if (at_ == text_.size() || text_[at_] != wanted) return false;
    ++at_;
    return true;
  }
  void skip_blanks() { at_ = std::min(text_.find_first_not_of(" \t\r\n", at_), text_.size()); }

  std::string_view text_;
  std::size_t at_ = 0;
};

void write(const Tree& tree, std::string& text) {
  if (tree.kind == Tree::Kind::scalar) {
    text += tree.token;
    return;
  }
  const bool is_object = tree.kind == Tree::Kind::object;
  text += is_object ? '{' : '[';
  for (std::size_t i = 0; i < tree.items.size(); ++i) {
    if (i > 0) text += ", ";
    if (is_object) text += tree.names[i] + ": ";
    write(tree.items[i], text);
  }
  text += is_object ? '}' : ']';
}

}  // namespace

const Tree* Tree::find(std::string_view name) const {
  const auto found = std::find(names.begin(), names.end(), fuzz::quoted(name));
  return found == names.end() ? nullptr : &items[static_cast<std::size_t>(found - names.begin())];
}

void Tree::set(std::string_view name, Tree value) {
  remove(name);
  names.push_back(fuzz::quoted(name));
  items.push_back(std::move(value));
}

void Tree::remove(std::string_view name) {
  const std::string token = fuzz::quoted(name);
  for (std::size_t i = names.size(); i-- > 0;)
    if (names[i] == token) {
      names.erase(names.begin() + static_cast<std::ptrdiff_t>(i));
      items.erase(items.begin() + static_cast<std::ptrdiff_t>(i));
    }
}

Tree scalar(std::string token) {
  Tree tree;
  tree.token = std::move(token);
  return tree;
}

std::optional<Tree> read_tree(std::string_view text) { return TreeReader(text).read(); }

std::string write_tree(const Tree& tree) {
  std::string text;
  write(tree, text);
  return text;
}

std::optional<std::string> text_of(const Tree& tree) {
  if (tree.kind != Tree::Kind::scalar || tree.token.front() != '"') return std::nullopt;
  const auto read = nlohmann::json::parse(tree.token, nullptr, false);
  return read.is_string() ? std::optional(read.get<std::string>()) : std::nullopt;
}

std::string quoted(std::string_view text) {
  return nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace fuzz
