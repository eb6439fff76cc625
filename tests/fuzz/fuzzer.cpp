// What libFuzzer calls. BUTTONWORTH_FUZZ_TARGET names the target.
#include <cstdio>
#include <cstdlib>
#include <cstring>

#include "mutate.hpp"
#include "target.hpp"

extern "C" size_t LLVMFuzzerMutate(uint8_t* data, size_t size, size_t most);

namespace {

const fuzz::Target* target = nullptr;

/// A text in the place of an input; 0 where there is no room for it.
size_t put(const std::string& text, uint8_t* data, size_t most) {
  if (text.empty() || text.size() > most) return 0;
  std::memcpy(data, text.data(), text.size());
  return text.size();
}

std::string_view view(const uint8_t* data, size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

}  // namespace

extern "C" int LLVMFuzzerInitialize(int*, char***) {
  const char* name = std::getenv("BUTTONWORTH_FUZZ_TARGET");
  target = name != nullptr ? fuzz::target_named(name) : nullptr;
  if (target != nullptr) return 0;
  std::fprintf(stderr, "BUTTONWORTH_FUZZ_TARGET is to be one of:");
  for (const fuzz::Target& one : fuzz::targets()) std::fprintf(stderr, " %s", one.name);
  std::fprintf(stderr, "\n");
  std::exit(2);
}

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  target->run(view(data, size));
  return 0;
}

extern "C" size_t LLVMFuzzerCustomMutator(uint8_t* data, size_t size, size_t most, unsigned int seed) {
  fuzz::Random random(seed + 1);
  const bool by_bytes = target->form == fuzz::Target::Form::bytes || random() % 16 == 0;
  const size_t made =
      by_bytes ? 0 : put(fuzz::changed(view(data, size), {}, random, LLVMFuzzerMutate), data, most);
  return made != 0 ? made : LLVMFuzzerMutate(data, size, most);
}

extern "C" size_t LLVMFuzzerCustomCrossOver(const uint8_t* a, size_t a_size, const uint8_t* b, size_t b_size,
                                            uint8_t* out, size_t most, unsigned int seed) {
  fuzz::Random random(seed + 1);
  if (target->form == fuzz::Target::Form::json)
    return put(fuzz::changed(view(a, a_size), view(b, b_size), random, LLVMFuzzerMutate), out, most);
  std::string joined{view(a, a_size == 0 ? 0 : random() % a_size)};  // the head of one, the tail of the other
  joined += view(b, b_size).substr(b_size == 0 ? 0 : random() % b_size);
  return put(joined, out, most);
}
