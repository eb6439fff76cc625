// Compiled with -O3 -mavx2 and the project's own flags: the compiler makes vectors of the loops.
//
// Draws go through in blocks that fit the nearest cache, and each stage of the plan is one loop over a block
// with no branch in it. Figures are those of examples/demo/plan.json: the check against the library's worths
// tells when the plan has moved. Kilograms, shares of 1, US dollars, days.
#include "demo_loop.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "process/curve.hpp"

namespace speed {
namespace {

constexpr std::size_t block = 128;
using Column = double[block];

constexpr double ozt = 0.0311034768, cad = 0.725, edge = 1e-12;
constexpr double labour = 29 * cad, two_men = 58 * cad, diesel = 1.32;
constexpr double magic = 6755399441055744.0;  // what is added to it loses its fraction

const double log_day = std::log(1.22) / 365;
double later(double days) { return std::exp(-log_day * days); }

// ---- Numbers -----------------------------------------------------------------------------------------

/// e to the power of x, |x| < 700: the series to x^13 on what is left of whole powers of two.
inline double power(double x) {
  const double k = (x * 1.4426950408889634074 + magic) - magic;
  const double r = (x - k * 0.693147180369123816490) - k * 1.90821492927058770002e-10;
  const double q = r * r;
  double even = 1.0 / 479001600, odd = 1.0 / 6227020800;
  even = even * q + 1.0 / 3628800;
  odd = odd * q + 1.0 / 39916800;
  even = even * q + 1.0 / 40320;
  odd = odd * q + 1.0 / 362880;
  even = even * q + 1.0 / 720;
  odd = odd * q + 1.0 / 5040;
  even = even * q + 1.0 / 24;
  odd = odd * q + 1.0 / 120;
  even = even * q + 0.5;
  odd = odd * q + 1.0 / 6;
  even = even * q + 1.0;
  odd = odd * q + 1.0;
  const auto bits = std::bit_cast<std::int64_t>(k + magic);
  return (even + odd * r) * std::bit_cast<double>((bits + 1023) << 52);
}

/// The nearest whole number, half to even: one instruction.
inline double nearest(double x) { return __builtin_rint(x); }
inline double most(double a, double b) { return a > b ? a : b; }
inline double least(double a, double b) { return a < b ? a : b; }
inline double absolute(double x) { return std::fabs(x); }

/// Half to even; what lies within an edge's width of a tie is on it.
inline double whole(double x) {
  const double twice = x + x, near = nearest(twice);
  const double settled = absolute(twice - near) <= absolute(twice) * edge ? near * 0.5 : x;
  return nearest(settled);
}
inline double cents(double x) { return whole(x * 100) * 0.01; }
inline double down(double x) { return __builtin_floor(x * (1 + edge)); }
inline double ceiling(double x) { return __builtin_ceil(x * (1 - edge)); }

// ---- Sales -------------------------------------------------------------------------------------------

/// When a sale's money comes, as factors of the present value on the day it is ready.
struct Paying {
  double last, sooner, interest, royalty, levy;

  Paying(double transit, double final, double advance, double after, double rate)
      : last(later(transit + final)),
        sooner(advance * (later(transit + after) - last)),
        interest(advance * rate * (final - after) / 365),
        royalty(0.03 * later(transit + final + 30)),
        levy(0.015 * (later(transit + final + 45) - 0.60 * later(transit + final + 195))) {}

  double present_value(double payable, double proceeds) const {
    const double positive = most(proceeds, 0);
    return proceeds * last + positive * (sooner - levy) - payable * royalty;
  }
  double with_interest(double payable, double proceeds) const {
    const double positive = most(proceeds, 0);
    return (proceeds - cents(positive * interest)) * last + positive * (sooner - levy) - payable * royalty;
  }
};

const Paying smelter(12, 60, 0.85, 10, 0.09), refiner(4, 35, 0.80, 7, 0.08), bars(4, 12, 0.90, 1, 0),
    town(1, 0, 0, 0, 0), camp(0, 0, 0, 0, 0), collector(3, 75, 0.30, 2, 0);

struct Stream {
  Column dry, wet, moisture, gold, silver, arsenic, antimony, lead, discount;
};
/// What a sale, or a way, is worth, and whether it is refused.
struct Worth {
  Column value, refused;
};
struct Prices {
  const double *gold, *silver;
};

[[gnu::noinline]] void to_smelter(const Stream& in, const Prices& price, std::size_t n, Worth& out) {
  const Paying paying = smelter;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double settled = in.dry[i] * 0.995, per_dry = 1 / in.dry[i];
    const double gold = whole(in.gold[i] * per_dry * 1e7) * 1e-7;
    const double silver = whole(in.silver[i] * per_dry * 1e6) * 1e-6;
    const double arsenic = whole(in.arsenic[i] * per_dry * 1e4) * 1e-4;
    const double antimony = whole(in.antimony[i] * per_dry * 1e4) * 1e-4;
    const double lead = whole(in.lead[i] * per_dry * 1e4) * 1e-4;
    double refused = settled < 20 * (1 - edge) ? 1 : 0;
    refused = gold < 50e-6 * (1 - edge) ? 1 : refused;
    refused = arsenic > 0.015 * (1 + edge) ? 1 : refused;
    refused = in.moisture[i] > 0.08 * (1 + edge) ? 1 : refused;

    double share = gold >= 20e-6 * (1 - edge) ? 0.90 : 0;
    share = gold >= 100e-6 * (1 - edge) ? 0.94 : share;
    share = gold >= 500e-6 * (1 - edge) ? 0.955 : share;
    const double gold_paid = most(least(share * gold, gold - 2e-6), 0) * settled;
    const double silver_paid = most(least(0.80 * silver, silver - 40e-6), 0) * settled;
    const double payable = cents(gold_paid * price.gold[i]) + cents(silver_paid * price.silver[i]);
    double proceeds = payable - cents(gold_paid * (7.50 / 0.0311035));
    proceeds -= cents(silver_paid * (0.60 / 0.0311035));
    proceeds -= cents(most(settled * 0.620, 120));
    proceeds -= 620;
    proceeds -= cents(most(in.wet[i] * 0.940, 150));
    proceeds -= cents(payable * 0.0025);
    const double steps = most(down((arsenic + antimony - 0.002) * 1000), 0);
    proceeds -= cents(settled * (steps * 0.0035));
    const double over = most(least(lead, 0.02) - 0.005, 0) + 2 * most(lead - 0.02, 0);
    proceeds -= cents(settled * over);  // 0.001 USD/kg for each 0.1 %
    out.value[i] = paying.with_interest(payable, proceeds) * in.discount[i];
    out.refused[i] = refused;
  }
}

[[gnu::noinline]] void to_refiner(const Stream& in, const Prices& price, std::size_t n, Worth& out) {
  const Paying paying = refiner;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double dry = in.dry[i], per_dry = 1 / dry;
    const double gold = whole(in.gold[i] * per_dry * 1e7) * 1e-7;
    const double silver = in.silver[i] * per_dry, arsenic = in.arsenic[i] * per_dry;
    double refused = dry < 10 * (1 - edge) ? 1 : 0;
    refused = gold < 300e-6 * (1 - edge) ? 1 : refused;
    refused = arsenic > 0.03 * (1 + edge) ? 1 : refused;
    refused = in.moisture[i] > 0.18 * (1 + edge) ? 1 : refused;

    double share = gold >= 300e-6 * (1 - edge) ? 0.945 : 0;
    share = gold >= 1000e-6 * (1 - edge) ? 0.955 : share;
    share = gold >= 5000e-6 * (1 - edge) ? 0.965 : share;
    const double gold_paid = share * gold * dry;
    const double silver_paid = most(least(0.70 * silver, silver - 50e-6), 0) * dry;
    const double payable = cents(gold_paid * price.gold[i]) + cents(silver_paid * price.silver[i]);
    double proceeds = payable - cents(gold_paid * (9 / ozt));
    proceeds -= cents(dry * 0.880);
    proceeds -= 980;
    proceeds -= cents(most(in.wet[i] * 0.700, 220));
    proceeds -= cents(dry * most(arsenic - 0.005, 0) * 8);  // 0.008 USD/kg for each 0.1 %
    out.value[i] = paying.with_interest(payable, proceeds) * in.discount[i];
    out.refused[i] = refused;
  }
}

[[gnu::noinline]] void bar_to_refiner(const Stream& in, const Prices& price, std::size_t n, Worth& out) {
  const Paying paying = bars;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double melted = in.dry[i] * (1 - 0.018), settled = most(melted - 0.003, 0), per_melted = 1 / melted;
    const double gold = whole(in.gold[i] * (1 - 0.0004) * per_melted * 1e4) * 1e-4;
    const double silver = whole(in.silver[i] * (1 - 0.002) * per_melted * 1e3) * 1e-3;
    const double arsenic = in.arsenic[i] * per_melted;
    double refused = gold < 0.400 * (1 - edge) ? 1 : 0;
    refused = arsenic > 0.006 * (1 + edge) ? 1 : refused;
    const double payable =
        cents(gold * 0.993 * settled * price.gold[i]) + cents(silver * 0.95 * settled * price.silver[i]);
    double proceeds = payable - cents(in.dry[i] * (0.95 / ozt));
    proceeds -= 240 + 310;
    proceeds -= cents(payable * 0.0020);
    double rate = arsenic <= 0.006 * (1 + edge) ? 0.80 / ozt : 0;
    rate = arsenic <= 0.002 * (1 + edge) ? 0.30 / ozt : rate;
    rate = arsenic <= 0.0005 * (1 + edge) ? 0 : rate;
    proceeds -= cents(settled * rate);
    out.value[i] = paying.present_value(payable, proceeds) * in.discount[i];
    out.refused[i] = refused;
  }
}

// ---- Steps -------------------------------------------------------------------------------------------

constexpr double rise = 100 - 12;

/// Litres of diesel to bring a feed to this moisture; it is wetter in every draw.
inline double litres(double dry, double water, double left) {
  const double kilojoules =
      (water - left) * (2256.4 + 4.19 * rise) + dry * (0.75 * rise) + left * (4.19 * rise);
  return kilojoules * (1 / 3600.0 / 0.30 / 10);
}

struct Lot {
  Column dry, water, gold, silver, arsenic, antimony, lead, sulphur, iron;
};

[[gnu::noinline]] void blend(const LoopDraws& draws, std::size_t at, std::size_t n, Lot& lot,
                             double* broken) {
  const double* wet_0 = draws.input[2] + at;
  const double* moisture_0 = draws.input[3] + at;
  const double* gold_0 = draws.input[4] + at;
  const double* wet_1 = draws.input[5] + at;
  const double* moisture_1 = draws.input[6] + at;
  const double* gold_1 = draws.input[7] + at;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double water_0 = wet_0[i] * moisture_0[i], water_1 = wet_1[i] * moisture_1[i];
    const double dry_0 = wet_0[i] - water_0, dry_1 = wet_1[i] - water_1;
    lot.dry[i] = dry_0 + dry_1;
    lot.water[i] = water_0 + water_1;
    lot.gold[i] = dry_0 * gold_0[i] + dry_1 * gold_1[i];
    lot.silver[i] = dry_0 * 168e-6 + dry_1 * 121e-6;
    lot.arsenic[i] = dry_0 * 0.0046 + dry_1 * 0.00371;
    lot.antimony[i] = dry_0 * 0.0005 + dry_1 * 0.0004;
    lot.lead[i] = dry_0 * 0.0038 + dry_1 * 0.002911;
    lot.sulphur[i] = dry_0 * 0.052 + dry_1 * 0.04411;
    lot.iron[i] = dry_0 * 0.39 + dry_1 * 0.415;
    const double named = lot.gold[i] + lot.silver[i] + lot.arsenic[i] + lot.antimony[i] + lot.lead[i] +
                         lot.sulphur[i] + lot.iron[i];
    broken[i] = named > lot.dry[i] * (1 + edge) ? 1 : 0;
  }
}

/// The lot as it lies.
[[gnu::noinline]] void as_it_lies(const Lot& lot, std::size_t n, Stream& out) {
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    out.dry[i] = lot.dry[i];
    out.wet[i] = lot.dry[i] + lot.water[i];
    out.moisture[i] = lot.water[i] / out.wet[i];
    out.gold[i] = lot.gold[i];
    out.silver[i] = lot.silver[i];
    out.arsenic[i] = lot.arsenic[i];
    out.antimony[i] = lot.antimony[i];
    out.lead[i] = lot.lead[i];
    out.discount[i] = 1;
  }
}

/// The lot out of the pan for sale, and what that cost.
[[gnu::noinline]] void dried_for_sale(const Lot& lot, std::size_t n, Stream& out, double* cost) {
  constexpr double to = 0.06 / 0.94, stays = 1 - 0.0015;
  const double per_hour = log_day / 9;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double hours = lot.dry[i] * (1 / 70.0), left = lot.dry[i] * to;
    cost[i] = litres(lot.dry[i], lot.water[i], left) * diesel + hours * labour;
    out.dry[i] = lot.dry[i] * stays;
    out.wet[i] = out.dry[i] + left * stays;
    out.moisture[i] = left * stays / out.wet[i];
    out.gold[i] = lot.gold[i] * stays;
    out.silver[i] = lot.silver[i] * stays;
    out.arsenic[i] = lot.arsenic[i] * stays;
    out.antimony[i] = lot.antimony[i] * stays;
    out.lead[i] = lot.lead[i] * stays;
    out.discount[i] = power(-hours * per_hour);
  }
}

/// Dried for the hand magnet and split: what is left, cost less the credit for the magnetics.
[[gnu::noinline]] void magnetics_off(const Lot& lot, const Prices& price, std::size_t n, Stream& out,
                                     double* cost, double* broken) {
  constexpr double to = 0.004 / 0.996, stays = 1 - 0.011 / 3, taken = 0.38;
  const double per_hour = log_day / 9, credit = 0.60 * later(20);
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double hours = lot.dry[i] * (1 / 55.0), left = lot.dry[i] * to;
    const double dry = lot.dry[i] * stays, ready = power(-hours * per_hour), by_magnet = dry * (1 / 45.0);
    const double gold = lot.gold[i] * stays, silver = lot.silver[i] * stays, arsenic = lot.arsenic[i] * stays;
    const double antimony = lot.antimony[i] * stays, lead = lot.lead[i] * stays;
    const double sulphur = lot.sulphur[i] * stays, iron = lot.iron[i] * stays;
    const double split = ready * power(-by_magnet * per_hour);
    cost[i] = litres(lot.dry[i], lot.water[i], left) * diesel + hours * labour + by_magnet * labour * ready -
              gold * 0.007 * credit * price.gold[i] * split;
    out.dry[i] = dry * (1 - taken);
    out.wet[i] = (dry + left * stays) * (1 - taken);
    out.moisture[i] = left * stays * (1 - taken) / out.wet[i];
    out.gold[i] = gold * (1 - 0.007);
    out.silver[i] = silver * (1 - 0.008);
    out.arsenic[i] = arsenic * (1 - 0.04);
    out.antimony[i] = antimony * (1 - 0.04);
    out.lead[i] = lead * (1 - 0.03);
    out.discount[i] = split;
    const double magnetics =
        gold * 0.007 + silver * 0.008 + (arsenic + antimony) * 0.04 + (lead + sulphur) * 0.03 + iron * 0.63;
    const double rest = gold + silver + arsenic + antimony + lead + sulphur + iron - magnetics;
    broken[i] = magnetics > dry * taken * (1 + edge) ? 1 : broken[i];
    broken[i] = rest > out.dry[i] * (1 + edge) ? 1 : broken[i];
  }
}

/// What of the lot comes with a cumulative pull: shares of certain curves beforehand.
struct Cut {
  double pull, logit, arsenic, sulphur, iron;
  explicit Cut(double y) : pull(y), logit(std::log(y / (1 - y))) {
    using buttonworth::monotone_cubic;
    const auto at = [y](const std::vector<double>& recovery) {
      const auto pieces = monotone_cubic<double>({0, 0.01, 0.03, 0.07, 0.12, 1}, recovery);
      std::size_t k = pieces.size() - 1;
      while (y < pieces[k].start) --k;
      return pieces[k].at(y);
    };
    arsenic = at({0, 0.05, 0.14, 0.28, 0.41, 1});
    sulphur = at({0, 0.026, 0.075, 0.165, 0.265, 1});
    iron = at({0, 0.011, 0.035, 0.088, 0.156, 1});
  }
};
struct Taken {
  Column dry, gold, silver, arsenic, antimony, lead, sulphur, iron, gangue;
};

/// `curves`: gold's two logit constants and lead's odds.
struct Curves {
  const double *a, *b, *odds;
};

[[gnu::noinline]] void pulled(const Cut& cut, const Lot& lot, const Curves& curves, std::size_t n, Taken& out,
                              double* broken) {
  const double y = cut.pull, logit = cut.logit, arsenic = cut.arsenic, sulphur = cut.sulphur, iron = cut.iron;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double by_logit = 1 / (1 + power(-(curves.a[i] + curves.b[i] * logit)));
    const double mass = lot.dry[i] * y, cap = mass * 0.870, capped = cap / lot.gold[i];
    const double share = by_logit * lot.gold[i] > cap ? capped : by_logit;
    const double odds = curves.odds[i] * y;
    out.dry[i] = mass;
    out.gold[i] = lot.gold[i] * share;
    out.silver[i] = lot.silver[i] * share;
    out.arsenic[i] = lot.arsenic[i] * arsenic;
    out.antimony[i] = lot.antimony[i] * arsenic;
    out.lead[i] = lot.lead[i] * (odds / (1 - y + odds));
    out.sulphur[i] = lot.sulphur[i] * sulphur;
    out.iron[i] = lot.iron[i] * iron;
    const double rest = mass - (out.gold[i] + out.silver[i] + out.arsenic[i] + out.antimony[i] + out.lead[i] +
                                out.sulphur[i] + out.iron[i]);
    const double gangue = lot.dry[i] - (lot.gold[i] + lot.silver[i] + lot.arsenic[i] + lot.antimony[i] +
                                        lot.lead[i] + lot.sulphur[i] + lot.iron[i]);
    out.gangue[i] = rest;
    broken[i] = rest < mass * -edge ? 1 : broken[i];
    broken[i] = rest > gangue * (1 + edge) ? 1 : broken[i];
  }
}

/// A table's concentrate as it is sold: wet.
[[gnu::noinline]] void as_sold(const Taken& in, double moisture, const double* ready, std::size_t n,
                               Stream& out) {
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double water = in.dry[i] * (moisture / (1 - moisture));
    out.dry[i] = in.dry[i];
    out.wet[i] = in.dry[i] + water;
    out.moisture[i] = water / out.wet[i];
    out.gold[i] = in.gold[i];
    out.silver[i] = in.silver[i];
    out.arsenic[i] = in.arsenic[i];
    out.discount[i] = ready[i];
  }
}

/// Concentrate through the pan and the furnace: the bar, cost less the credit for the slag.
[[gnu::noinline]] void melted(const Taken& in, const double* ready, const Prices& price,
                              const double* slag_gold, std::size_t n, Stream& bar, double* cost,
                              double* broken) {
  constexpr double wet = 0.16 / 0.84, to = 0.003 / 0.997, stays = 1 - 0.001, slag_silver = 60e-6;
  constexpr double flux = 0.45 + 0.30 + 0.16 + 0.1733;
  constexpr double flux_stays = 0.45 + 0.30 * 0.584774 + 0.16 * 0.465841 + 0.1733;
  constexpr double flux_cost = 0.45 * 2.60 + 0.30 * 1.10 + 0.16 * 3.10 + 0.1733 * 0.70;
  const double per_hour = log_day / 9, credit = 0.60 * later(20);
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double hours = in.dry[i] * (1 / 20.0);
    const double fuel = litres(in.dry[i], in.dry[i] * wet, in.dry[i] * to);
    const double dried = ready[i] * power(-hours * per_hour), charge = in.dry[i] * stays;
    const double gold = in.gold[i] * stays, silver = in.silver[i] * stays, arsenic = in.arsenic[i] * stays;
    const double antimony = in.antimony[i] * stays, lead = in.lead[i] * stays;
    const double sulphur = in.sulphur[i] * stays, iron = in.iron[i] * stays;

    const double bar_lead = lead * 0.06, bar_arsenic = arsenic * 0.002, bar_antimony = antimony * 0.04,
                 bar_iron = iron * 0.0005;
    const double fume = arsenic * 0.95 + antimony * 0.15 + lead * 0.08 + sulphur * 0.48;
    const double gangue = charge - fume - (bar_lead + bar_arsenic + bar_antimony + bar_iron);
    const double slag = (gangue + charge * flux_stays - (gold + silver)) / (1 - (slag_gold[i] + slag_silver));
    const double in_slag = slag * slag_gold[i], silver_in_slag = slag * slag_silver;
    const double bar_gold = gold - in_slag, bar_silver = silver - silver_in_slag;
    broken[i] = in_slag > gold * (1 + edge) ? 1 : broken[i];
    broken[i] = silver_in_slag > silver * (1 + edge) ? 1 : broken[i];
    broken[i] = slag < charge * -edge ? 1 : broken[i];

    const double melts = ceiling(charge * ((1 + flux) / 2.1 / (9 * 0.70)));
    const double poured = dried * power(-melts * 1.25 * per_hour);
    cost[i] = (fuel * diesel + hours * labour) * ready[i] +
              (melts * (1.25 * two_men + 34 + 18) + charge * flux_cost) * dried -
              in_slag * credit * price.gold[i] * poured;
    bar.dry[i] = bar_gold + bar_silver + bar_arsenic + bar_antimony + bar_lead + bar_iron;
    bar.gold[i] = bar_gold;
    bar.silver[i] = bar_silver;
    bar.arsenic[i] = bar_arsenic;
    bar.discount[i] = poured;
  }
}

/// Middlings of two pulls through their pan.
[[gnu::noinline]] void middlings_dried(const Taken& first, const Taken& second, const double* ready,
                                       std::size_t n, Stream& out, double* cost) {
  constexpr double wet = 0.18 / 0.82, to = 0.06 / 0.94, stays = 1 - 0.001;
  const double per_hour = log_day / 9;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double dry = second.dry[i] - first.dry[i], hours = dry * (1 / 35.0), left = dry * to;
    cost[i] = (litres(dry, dry * wet, left) * diesel + hours * labour) * ready[i];
    out.dry[i] = dry * stays;
    out.wet[i] = (dry + left) * stays;
    out.moisture[i] = left * stays / out.wet[i];
    out.gold[i] = (second.gold[i] - first.gold[i]) * stays;
    out.silver[i] = (second.silver[i] - first.silver[i]) * stays;
    out.arsenic[i] = (second.arsenic[i] - first.arsenic[i]) * stays;
    out.antimony[i] = (second.antimony[i] - first.antimony[i]) * stays;
    out.lead[i] = (second.lead[i] - first.lead[i]) * stays;
    out.discount[i] = ready[i] * power(-hours * per_hour);
  }
}

// ---- Ways --------------------------------------------------------------------------------------------

/// What does not hang on the lot: pieces sold in three ways.
struct Nuggets {
  Column collected, in_town, melted;
};

[[gnu::noinline]] void sell_nuggets(const Prices& price, std::size_t n, Nuggets& out) {
  constexpr double mass = 0.2643, gold = mass * 0.872, silver = mass * 0.106;
  constexpr double bar_gold = gold * 0.999, bar_silver = silver * 0.995, bar = bar_gold + bar_silver;
  constexpr double melted = bar * (1 - 0.018), settled = melted - 0.003;
  const double gold_assay = whole(bar_gold * (1 - 0.0004) / melted * 1e4) * 1e-4;
  const double silver_assay = whole(bar_silver * (1 - 0.002) / melted * 1e3) * 1e-3;
  const double hours = 40 / 60.0, ready = later(hours / 9), cost = hours * labour + 12 + mass * 0.10 * 2.60;
  const double gold_paid = gold_assay * 0.993 * settled, silver_paid = silver_assay * 0.95 * settled;
  const double fixed = cents(bar * (0.95 / ozt)) + 240 + 310;
  const Paying by_collector = collector, by_town = town, by_refiner = bars;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double value = price.gold[i] * (gold * 1.07);
    out.collected[i] = by_collector.present_value(value, value * (1 - 0.06) - 85);
    const double counted = price.gold[i] * (mass * 0.850 * 0.92);
    out.in_town[i] = by_town.present_value(counted, counted);
    const double payable = cents(price.gold[i] * gold_paid) + cents(price.silver[i] * silver_paid);
    const double proceeds = payable - fixed - cents(payable * 0.0020);
    out.melted[i] = by_refiner.present_value(payable, proceeds) * ready - cost;
  }
}

[[gnu::noinline]] void put(const Worth& worth, const double* cost, const double* nuggets, std::size_t n,
                           double* out) {
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i)
    out[i] = worth.refused[i] > 0 ? 0 : worth.value[i] - cost[i] + nuggets[i];
}

[[gnu::noinline]] void to_the_camp(const Lot& lot, const Prices& price, const Nuggets& nuggets, std::size_t n,
                                   double* out) {
  const Paying paying = camp;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double payable = down(lot.dry[i] * (900e-6 * 0.90) * price.gold[i]);
    out[i] = paying.present_value(payable, payable) + nuggets.in_town[i];
  }
}

/// The table's own cost, and the discount of what comes from it.
[[gnu::noinline]] void over_the_table(const Lot& lot, std::size_t n, double* cost, double* ready) {
  const double per_hour = log_day / 9;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double hours = lot.dry[i] * (1 / 65.0);
    cost[i] = hours * labour + 70;
    ready[i] = power(-hours * per_hour);
  }
}

/// A bar sold, with middlings and tailings sent back.
[[gnu::noinline]] void put_bar(const Worth& bar, const double* melt_cost, const double* table_cost,
                               const Lot& lot, const Taken& first, const Taken& second, const double* ready,
                               const Prices& price, const double* nuggets, std::size_t n, double* out) {
  const double sent_back = later(20);
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double credit = ((second.gold[i] - first.gold[i]) * 0.70 + (lot.gold[i] - second.gold[i]) * 0.58) *
                          price.gold[i] * ready[i] * sent_back;
    const double worth = bar.value[i] - melt_cost[i] - table_cost[i] + credit + nuggets[i];
    out[i] = bar.refused[i] > 0 ? 0 : worth;
  }
}

/// The same with the middlings sold.
[[gnu::noinline]] void put_both(const Worth& bar, const Worth& middlings, const double* melt_cost,
                                const double* pan_cost, const double* table_cost, const Lot& lot,
                                const Taken& second, const double* ready, const Prices& price,
                                const double* nuggets, std::size_t n, double* out) {
  const double sent_back = later(20);
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double credit = (lot.gold[i] - second.gold[i]) * 0.58 * price.gold[i] * ready[i] * sent_back;
    const double worth =
        bar.value[i] + middlings.value[i] - melt_cost[i] - pan_cost[i] - table_cost[i] + credit + nuggets[i];
    out[i] = bar.refused[i] + middlings.refused[i] > 0 ? 0 : worth;
  }
}

[[gnu::noinline]] void sell_in_town(const Stream& bar, const Prices& price, std::size_t n, Worth& out) {
  const Paying paying = town;
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double payable = bar.dry[i] * (0.760 * 0.94) * price.gold[i];
    out.value[i] = paying.present_value(payable, payable) * bar.discount[i];
    out.refused[i] = 0;
  }
}

/// Concentrate sold, tailings sent back.
[[gnu::noinline]] void put_rich(const Worth& sand, const double* table_cost, const Lot& lot,
                                const Taken& taken, const double* ready, const Prices& price,
                                const double* nuggets, std::size_t n, double* out) {
  const double sent_back = later(20);
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) {
    const double credit = (lot.gold[i] - taken.gold[i]) * 0.58 * price.gold[i] * ready[i] * sent_back;
    out[i] = sand.refused[i] > 0 ? 0 : sand.value[i] - table_cost[i] + credit + nuggets[i];
  }
}

/// Middlings' gangue is no less than nothing.
[[gnu::noinline]] void test_middlings(const Taken& first, const Taken& second, std::size_t n,
                                      double* broken) {
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i)
    broken[i] = first.gangue[i] > second.gangue[i] + first.dry[i] * edge ? 1 : broken[i];
}

/// Room for one block.
struct Loop {
  Lot lot;
  Nuggets nuggets;
  Stream stream, bar;
  Worth worth, more;
  Taken first, second;
  Column cost, melt_cost, table_cost, ready, broken;
};

/// A table's cuts, with its middlings.
struct Tabled {
  Cut first, second;
  explicit Tabled(double pull) : first(pull), second(pull + 0.05) {}
};
struct Cuts {
  Tabled at_the_shifts_cut, best, middlings_sold, nuggets_melted;
  Cut rich;
  bool nuggets_alone;  ///< whether the nuggets' being melted leaves the best cut where it is
  explicit Cuts(const LoopPulls& pulls)
      : at_the_shifts_cut(pulls.at_the_shifts_cut),
        best(pulls.best),
        middlings_sold(pulls.middlings_sold),
        nuggets_melted(pulls.nuggets_melted),
        rich(pulls.rich),
        nuggets_alone(pulls.best == pulls.nuggets_melted) {}
};

/// The furnace's bar at one cut: `first` and `second` hold what was pulled.
void bar_at(const Tabled& cut, Loop& w, const Curves& curves, const Prices& price, const double* slag_gold,
            std::size_t n) {
  pulled(cut.first, w.lot, curves, n, w.first, w.broken);
  pulled(cut.second, w.lot, curves, n, w.second, w.broken);
  test_middlings(w.first, w.second, n, w.broken);
  melted(w.first, w.ready, price, slag_gold, n, w.bar, w.melt_cost, w.broken);
}

void work_block(const Cuts& cuts, const LoopDraws& draws, std::size_t at, std::size_t n, double* worth,
                std::uint8_t* broken) {
  static thread_local Loop w;
  const Prices price{draws.input[0] + at, draws.input[1] + at};
  const Curves curves{draws.input[8] + at, draws.input[9] + at, draws.input[10] + at};
  const double* slag_gold = draws.input[11] + at;
  auto out = [&](std::size_t route) { return worth + route * draws.count + at; };
  auto put_bar_with = [&](const double* nuggets, std::size_t route) {
    put_bar(w.worth, w.melt_cost, w.table_cost, w.lot, w.first, w.second, w.ready, price, nuggets, n,
            out(route));
  };
  static constexpr Column nothing{};

  sell_nuggets(price, n, w.nuggets);
  blend(draws, at, n, w.lot, w.broken);
  as_it_lies(w.lot, n, w.stream);
  to_smelter(w.stream, price, n, w.worth);
  put(w.worth, nothing, w.nuggets.collected, n, out(0));
  to_refiner(w.stream, price, n, w.worth);
  put(w.worth, nothing, w.nuggets.collected, n, out(2));
  to_the_camp(w.lot, price, w.nuggets, n, out(3));
  dried_for_sale(w.lot, n, w.stream, w.cost);
  to_smelter(w.stream, price, n, w.worth);
  put(w.worth, w.cost, w.nuggets.collected, n, out(1));
  magnetics_off(w.lot, price, n, w.stream, w.cost, w.broken);
  to_smelter(w.stream, price, n, w.worth);
  put(w.worth, w.cost, w.nuggets.collected, n, out(4));

  over_the_table(w.lot, n, w.table_cost, w.ready);
  bar_at(cuts.at_the_shifts_cut, w, curves, price, slag_gold, n);
  bar_to_refiner(w.bar, price, n, w.worth);
  put_bar_with(w.nuggets.collected, 5);
  sell_in_town(w.bar, price, n, w.worth);
  put_bar_with(w.nuggets.in_town, 9);
  bar_at(cuts.best, w, curves, price, slag_gold, n);
  bar_to_refiner(w.bar, price, n, w.worth);
  put_bar_with(w.nuggets.collected, 6);
  if (!cuts.nuggets_alone) {
    bar_at(cuts.nuggets_melted, w, curves, price, slag_gold, n);
    bar_to_refiner(w.bar, price, n, w.worth);
  }
  put_bar_with(w.nuggets.melted, 8);
  bar_at(cuts.middlings_sold, w, curves, price, slag_gold, n);
  bar_to_refiner(w.bar, price, n, w.worth);
  middlings_dried(w.first, w.second, w.ready, n, w.stream, w.cost);
  to_smelter(w.stream, price, n, w.more);
  put_both(w.worth, w.more, w.melt_cost, w.cost, w.table_cost, w.lot, w.second, w.ready, price,
           w.nuggets.collected, n, out(7));
  pulled(cuts.rich, w.lot, curves, n, w.first, w.broken);
  as_sold(w.first, 0.16, w.ready, n, w.stream);
  to_refiner(w.stream, price, n, w.worth);
  put_rich(w.worth, w.table_cost, w.lot, w.first, w.ready, price, w.nuggets.collected, n, out(10));
#pragma GCC ivdep
  for (std::size_t i = 0; i < n; ++i) broken[at + i] = w.broken[i] > 0;
}

}  // namespace

void work_demo_loop(const LoopPulls& pulls, const LoopDraws& draws, double* worth, std::uint8_t* broken) {
  const Cuts cuts(pulls);
  for (std::size_t at = 0; at < draws.count; at += block)
    work_block(cuts, draws, at, std::min(block, draws.count - at), worth, broken);
}

}  // namespace speed
