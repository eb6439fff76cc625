#include "chance/sobol.hpp"

#include <boost/random/detail/sobol_table.hpp>
#include <cstddef>
#include <string>

#include "chance/uniform.hpp"
#include "quantity/error.hpp"

namespace buttonworth {

using Tables = boost::random::detail::qrng_tables::sobol;

const std::uint32_t sobol_dimensions = Tables::max_dimension;

namespace {
constexpr int bits = 52;

/// The first digit after the binary point is the highest of the 52.
std::uint64_t digit(int row) { return std::uint64_t{1} << (bits - 1 - row); }
/// All bits where that digit is 1, none where it is 0.
std::uint64_t where(std::uint64_t number, int row) { return -(number >> (bits - 1 - row) & 1); }

/// Bratley and Fox, "Algorithm 659", ACM TOMS 14 (1988), section 2: each direction from as many before it as
/// the primitive polynomial has degree.
void extend(std::array<std::uint64_t, bits>& direction, std::uint32_t polynomial) {
  const int degree = static_cast<int>(std::bit_width(polynomial)) - 1;
  for (int j = degree; j < bits; ++j) {
    std::uint64_t next = direction[static_cast<std::size_t>(j - degree)];
    next ^= next >> degree;
    for (int k = 1; k < degree; ++k)
      if (polynomial >> (degree - k) & 1) next ^= direction[static_cast<std::size_t>(j - k)];
    direction[static_cast<std::size_t>(j)] = next;
  }
}
}  // namespace

SobolDimension plain_sobol(std::uint32_t dimension) {
  if (dimension >= sobol_dimensions)
    throw Error(Code::limit, "Sobol's points have at most " + std::to_string(sobol_dimensions) +
                                 " dimensions here, one for each uncertain quantity: take \"philox\"");
  SobolDimension one;
  if (dimension == 0) {
    for (int j = 0; j < bits; ++j) one.direction[static_cast<std::size_t>(j)] = digit(j);
    return one;
  }
  const std::uint32_t polynomial = Tables::polynomial(dimension - 1);
  for (int j = 0; j < static_cast<int>(std::bit_width(polynomial)) - 1; ++j)
    one.direction[static_cast<std::size_t>(j)] =
        std::uint64_t{Tables::minit(dimension - 1, static_cast<std::size_t>(j))} << (bits - 1 - j);
  extend(one.direction, polynomial);
  return one;
}

SobolDimension scrambled_sobol(std::uint32_t dimension, std::uint64_t seed, std::uint32_t scrambling) {
  const SobolDimension plain = plain_sobol(dimension);
  auto random = [&](int i) {
    return philox_pair(seed, dimension, static_cast<std::uint64_t>(i / 2),
                       scrambling + 1)[static_cast<std::size_t>(i % 2)];
  };
  std::array<std::uint64_t, bits> columns{};  // of the matrix, by the digit they take
  for (int row = 0; row < bits; ++row) {
    const std::uint64_t line = random(row);
    columns[static_cast<std::size_t>(row)] |= digit(row);
    for (int before = 0; before < row; ++before)
      columns[static_cast<std::size_t>(before)] |= digit(row) & where(line, before);
  }
  SobolDimension scrambled;
  scrambled.shift = random(bits);
  scrambled.direction.fill(0);
  for (std::size_t j = 0; j < bits; ++j)
    for (std::size_t k = 0; k <= j; ++k)  // a direction has no digit beyond its own
      scrambled.direction[j] ^= columns[k] & where(plain.direction[j], static_cast<int>(k));
  return scrambled;
}

}  // namespace buttonworth
