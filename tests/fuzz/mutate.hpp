// How inputs in JSON are changed: as trees, in the words of the format.
#pragma once

#include <random>
#include <string>
#include <string_view>
#include <vector>

namespace fuzz {

using Random = std::minstd_rand;
/// Changes bytes in place, of `size` up to `most`; the size after it.
using ChangeBytes = std::size_t (*)(unsigned char* bytes, std::size_t size, std::size_t most);

/// The names and values that the schemas of all documents know, in quotes.
std::vector<std::string> words_of_the_format();

/// A text changed in one place or several, with values of the other text among what is put there; empty where
/// it is no JSON.
std::string changed(std::string_view text, std::string_view other, Random& random, ChangeBytes change_bytes);

}  // namespace fuzz
