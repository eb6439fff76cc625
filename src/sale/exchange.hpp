// The exchange: what seller and buyer each found, and what is settled between them.
#pragma once

#include <optional>

#include "quantity/edge.hpp"

namespace buttonworth {

/// What a contract says of an umpire's figure.
enum class UmpireRule {
  umpire,  ///< it settles
  middle,  ///< the middle one of the three settles
  nearer,  ///< the mean of it and the nearer party's settles
};

enum class SettledBy { single, mean, umpire, middle, nearer };

enum class Party { seller, buyer, both };

/// What two parties found, each the mean of its determinations.
template <Scalar N>
struct Findings {
  N seller, buyer;
  N limit;  ///< largest difference that settles at the mean, itself included
  std::optional<N> umpire;
  std::optional<UmpireRule> rule;
};

template <Scalar N>
struct Agreement {
  N settled = N(0);
  SettledBy how = SettledBy::single;
  bool open = false;  ///< an umpire is wanted; the mean stands meanwhile
  std::optional<Party> umpire_paid_by;
};

/// The party farther from the umpire pays it.
template <Scalar N>
Party payer(const N& from_seller, const N& from_buyer) {
  if (same(from_seller, from_buyer)) return Party::both;
  return from_seller > from_buyer ? Party::seller : Party::buyer;
}

template <Scalar N>
N middle_of(const N& a, const N& b, const N& c) {
  return most(least(a, b), least(most(a, b), c));
}

template <Scalar N>
Agreement<N> umpired(const Findings<N>& found, const N& umpire, UmpireRule rule) {
  using std::abs;
  const N from_seller = abs(N(found.seller - umpire)), from_buyer = abs(N(found.buyer - umpire));
  const Party farther = payer(from_seller, from_buyer);
  switch (rule) {
    case UmpireRule::umpire: return {umpire, SettledBy::umpire, false, farther};
    case UmpireRule::middle:
      return {middle_of(found.seller, found.buyer, umpire), SettledBy::middle, false, farther};
    case UmpireRule::nearer: break;
  }
  const N settled = farther == Party::both     ? umpire
                    : farther == Party::seller ? N((umpire + found.buyer) * N(0.5))
                                               : N((umpire + found.seller) * N(0.5));
  return {settled, SettledBy::nearer, false, farther};
}

/// A limit that is stated as a share is one of the mean of both.
template <Scalar N>
N relative_limit(const N& share, const N& seller, const N& buyer) {
  return share * (seller + buyer) * N(0.5);
}

/// Whether the two are within the limit, which settles at their mean.
template <Scalar N>
bool within_limit(const Findings<N>& found) {
  using std::abs;
  return at_most(N(abs(N(found.seller - found.buyer))), found.limit);
}

/// A rule must be there where an umpire is and the limit is passed.
template <Scalar N>
Agreement<N> agree(const Findings<N>& found) {
  const N mean = (found.seller + found.buyer) * N(0.5);
  if (within_limit(found)) return {mean, SettledBy::mean, false, {}};
  if (!found.umpire) return {mean, SettledBy::mean, true, {}};
  return umpired(found, *found.umpire, *found.rule);
}

}  // namespace buttonworth
