// Tries a target with files again, without a fuzzer: replay TARGET FILE-OR-FOLDER…
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>
#include <string>

#include "check.hpp"
#include "target.hpp"

namespace {

void add_files(const std::filesystem::path& path, std::set<std::filesystem::path>& files) {
  if (!std::filesystem::is_directory(path)) {
    if (std::filesystem::exists(path)) files.insert(path);
    return;
  }
  for (const auto& entry : std::filesystem::recursive_directory_iterator(path))
    if (entry.is_regular_file()) files.insert(entry.path());
}

void run(const fuzz::Target& target, const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  const std::string input{std::istreambuf_iterator<char>(file), {}};
  std::fprintf(stderr, "%s\n", path.c_str());  // the last one said is the one that failed
  target.run(input);
}

/// Whether the words name every target there is and no other, so that none goes untried.
bool are_all(int count, char** words) {
  std::set<std::string> told(words, words + count), known;
  for (const fuzz::Target& one : fuzz::targets()) known.insert(one.name);
  return told == known;
}

}  // namespace

int main(int count, char** words) {
  if (count > 1 && std::string(words[1]) == "--are") return are_all(count - 2, words + 2) ? 0 : 1;
  const fuzz::Target* target = count > 2 ? fuzz::target_named(words[1]) : nullptr;
  if (target == nullptr) {
    std::fprintf(stderr, "replay TARGET FILE-OR-FOLDER...; the targets are");
    for (const fuzz::Target& one : fuzz::targets()) std::fprintf(stderr, " %s", one.name);
    std::fprintf(stderr, "\n");
    return 2;
  }
  std::set<std::filesystem::path> files;
  for (int i = 2; i < count; ++i) add_files(words[i], files);
  for (const auto& file : files) run(*target, file);
  std::printf("%s: %zu inputs, %lld answers, all as promised\n", target->name, files.size(),
              static_cast<long long>(fuzz::answered()));
  return fuzz::answered() > 0 ? 0 : 1;  // inputs that are all refused try next to nothing
}
