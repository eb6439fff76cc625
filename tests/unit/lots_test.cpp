// Many lots valued by one plan: each as the document with its values, in any pieces, at values and drawn.
#include <cmath>
#include <map>
#include <numeric>

#include "chance/lot_model.hpp"
#include "chance/lot_values.hpp"
#include "chance/simulate.hpp"
#include "chance/worths.hpp"
#include "placed.hpp"
#include "plan_generator.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

// ---- Lots ---------------------------------------------------------------------------------------------

/// Columns by their pointers, and what they came to.
struct Lots {
  std::shared_ptr<const Plan> plan;
  std::vector<std::string> places;
  std::vector<std::vector<double>> numbers;
  std::vector<bool> relative;
  LotOptions options;

  std::size_t rows() const { return numbers.front().size(); }
  std::size_t routes() const { return options.routes.empty() ? plan->routes.size() : options.routes.size(); }
};
struct Valued {
  LotValues told;
  std::vector<double> means, sds;

  double mean(std::size_t row, std::size_t route = 0) const {
    return means[row * told.routes.size() + route];
  }
  double sd(std::size_t row, std::size_t route = 0) const { return sds[row * told.routes.size() + route]; }
};

/// The rows from one to before another, numbered as in the whole.
Valued valued(const Lots& lots, std::size_t from, std::size_t to) {
  std::vector<LotColumn> columns;
  for (std::size_t c = 0; c < lots.places.size(); ++c)
    columns.push_back({quantity_at(*lots.plan, lots.places[c]), lots.relative.empty() || lots.relative[c],
                       lots.numbers[c].data() + from, 1});
  LotOptions options = lots.options;
  options.first += static_cast<std::int64_t>(from);
  Valued out;
  out.means.assign((to - from) * lots.routes(), 7);
  out.sds = out.means;
  out.told = value_lots(*lots.plan, options, columns, to - from, {out.means.data(), out.sds.data()}, Watch{});
  return out;
}
Valued valued(const Lots& lots) { return valued(lots, 0, lots.rows()); }

OrderedJson pays(const char* metal) {
  return {{"buys", "concentrate"}, {"pay", {{metal, OrderedJson::object()}}}};
}

/// Of the lot's 1 t each g/t is 1 g, at 1 USD/g 1 USD; a second route leaves 1000 USD whatever the lot holds.
OrderedJson by_assay_or_fixed(const OrderedJson& assay) {
  OrderedJson fixed = pays("Au");
  fixed["deemed"]["Au"] = "1000 g/t";
  return {{"format", "buttonworth-plan/1"},
          {"currency", "USD"},
          {"discount", "0 %/a"},
          {"prices", {{"Au", "1 USD/g"}}},
          {"lot", {{"wet_mass", "1 t"}, {"assays", {{"Au", assay}}}}},
          {"steps", OrderedJson::object()},
          {"terms", {{"by assay", pays("Au")}, {"fixed", fixed}}},
          {"routes", {{"by assay", {{"sell", "by assay"}}}, {"fixed", {{"sell", "fixed"}}}}}};
}
const char* const gold = "/lot/assays/Au";

Lots lots_of(const OrderedJson& document, const std::map<std::string, std::vector<double>>& columns) {
  Lots lots{placed_plan(document), {}, {}, {}, {}};
  for (const auto& [place, numbers] : columns) {
    lots.places.push_back(place);
    lots.numbers.push_back(numbers);
  }
  return lots;
}
Lots drawn(Lots lots, std::size_t draws, std::uint64_t seed = 1) {
  lots.options.draws = draws;
  lots.options.seed = seed;
  return lots;
}

// ---- At the lots' own values --------------------------------------------------------------------------

/// The random plans of which the comparison can be made, with a few of their quantities in columns around the
/// plan's own values.
struct RandomLots {
  Random random;
  explicit RandomLots(std::uint64_t seed) : random(seed) {}

  struct One {
    OrderedJson document;
    Lots lots;
    std::vector<HeldRoute> held;
  };
  One next(std::size_t rows, double apart, bool best_cut = false) {
    for (;;) {
      One one{random_plan(random, {.best_cut = best_cut}), {}, {}};
      one.lots.plan = placed_plan(one.document);
      const Prepared<double> means(*one.lots.plan);
      try {
        one.held = hold_cuts(compare<double>(means, {false, {}}, Watch{}));
      } catch (const Error&) {
        continue;
      }
      add_columns(one.lots, rows, apart);
      if (!one.lots.places.empty()) return one;
    }
  }

 private:
  void add_columns(Lots& lots, std::size_t rows, double apart) {
    std::vector<const StatedQuantity*> stated;
    for (std::size_t i = 1; i < lots.plan->quantities.size(); ++i)
      if (!lots.plan->quantities.at(i).place.empty()) stated.push_back(&lots.plan->quantities.at(i));
    random.shuffle(stated);
    stated.resize(std::min<std::size_t>(stated.size(), 6));
    for (const StatedQuantity* one : stated) {
      lots.places.push_back(one->place);
      std::vector<double>& numbers = lots.numbers.emplace_back();
      const double own = to_double(Decimal(one->mean / one->unit_factor));
      for (std::size_t row = 0; row < rows; ++row) numbers.push_back(own * random.real(1 - apart, 1 + apart));
    }
  }
};

/// The document with one lot's values, for certain.
OrderedJson at_row(OrderedJson document, const Lots& lots, std::size_t row) {
  for (std::size_t c = 0; c < lots.places.size(); ++c) {
    const StatedQuantity& stated = lots.plan->quantities[quantity_at(*lots.plan, lots.places[c])];
    document[OrderedJson::json_pointer(lots.places[c])] =
        text_of(Decimal(lots.numbers[c][row]), stated.unit.c_str());
  }
  return document;
}

enum class Left { figures, unreadable, impossible };
/// What the routes leave at the cuts held, NaN where one is refused; or why nothing is left.
Left left_by(const OrderedJson& document, const std::vector<HeldRoute>& held, std::vector<double>& worths) {
  for (const Complaint& one : complaints_of(document.dump()))
    if (one.code == Code::range && one.text.find("is not allowed here") != one.text.npos)
      return Left::unreadable;
  if (!complaints_of(document.dump()).empty()) return Left::impossible;
  worths.clear();
  try {
    const auto plan = plan_from(document);
    const Prepared<double> prepared(*plan);
    const Figures<double> figures(plan->quantities, plan->analytes, plan->currency);
    for (std::size_t r = 0; r < held.size(); ++r)
      worths.push_back(route_worth(prepared, plan->routes[r], held[r].held, figures).value_or(std::nan("")));
  } catch (const Error&) {
    return Left::impossible;
  }
  return Left::figures;
}

TEST(Lots, ALotIsTheDocumentWithItsValues) {
  RandomLots random(31);
  std::map<Left, int> seen;
  int refused = 0;
  constexpr std::size_t rows = 12;
  for (int i = 0; i < 500; ++i) {
    const auto one = random.next(rows, i % 3 == 0 ? 1.2 : 0.3, i % 10 == 0);
    const Valued got = valued(one.lots);
    const double size = std::max(1.0, to_double(contained_value(*one.lots.plan)));
    for (std::size_t row = 0; row < rows; ++row) {
      const OrderedJson document = at_row(one.document, one.lots, row);
      std::vector<double> expected;
      const Left left = left_by(document, one.held, expected);
      ++seen[left];
      for (std::size_t r = 0; r < one.held.size(); ++r) {
        const double mean = got.mean(row, r);
        if (left == Left::unreadable) EXPECT_TRUE(std::isnan(mean)) << mean << document.dump();
        if (left == Left::impossible) EXPECT_EQ(mean, -HUGE_VAL) << document.dump();
        if (left != Left::figures) continue;
        refused += std::isnan(expected[r]);
        EXPECT_EQ(std::isnan(mean), std::isnan(expected[r])) << i << ' ' << row << document.dump();
        // Products of constants are rounded once more on the tape.
        if (!std::isnan(mean))
          EXPECT_NEAR(mean, expected[r], 1e-12 * std::max(size, std::abs(expected[r]))) << document.dump();
      }
    }
  }
  EXPECT_GE(seen[Left::figures], 1000);
  EXPECT_GE(seen[Left::unreadable], 100);
  EXPECT_GE(seen[Left::impossible], 100);
  EXPECT_GE(refused, 100);
}

TEST(Lots, AreCountedByHand) {
  // Gold worth 1 USD a gram in 1 t; the other route leaves 1000 USD.
  OrderedJson document = by_assay_or_fixed("1200 g/t");
  document["terms"]["by assay"]["accepts"]["mass"] = {{"min", "500 kg"}};
  document["terms"]["fixed"]["accepts"]["mass"] = {{"max", "2 t"}};
  const Lots lots = lots_of(document, {{gold, {1500, 500, 1000, 900, 900, 1e6 + 1, NAN, 700}},
                                       {"/lot/wet_mass", {1, 1, 1, 0.25, 3, 1, 1, -1}}});
  const Valued got = valued(lots);
  const std::vector<double> expected{1500, 1000, 500, 1000, 1000, 1000, NAN, 250,
                                     2700, NAN,  NAN, NAN,  NAN,  NAN,  NAN, NAN};
  ASSERT_EQ(got.means.size(), expected.size());
  for (std::size_t i = 0; i < expected.size(); ++i) {
    if (std::isnan(expected[i])) EXPECT_TRUE(std::isnan(got.means[i])) << i;
    else EXPECT_NEAR(got.means[i], expected[i], 1e-9) << i;
    if (!std::isnan(expected[i])) EXPECT_EQ(got.sds[i], 0) << i;
  }
  const LotValues& told = got.told;
  EXPECT_EQ(told.rows, 8);
  EXPECT_EQ(told.counted, 5);
  EXPECT_EQ(told.unreadable, 3);
  EXPECT_EQ(told.impossible, 0);
  EXPECT_EQ(told.refused, 0);
  EXPECT_EQ(told.routes[0].best, 3) << "equal ones: the first";
  EXPECT_EQ(told.routes[1].best, 2);
  EXPECT_EQ(told.routes[0].refused, 1);
  EXPECT_EQ(told.routes[1].refused, 1);
  EXPECT_EQ(static_cast<double>(told.routes[0].sum), (1500 + 500 + 1000 + 2700) * 1e4);
  EXPECT_EQ(static_cast<double>(told.routes[0].best_sum), (1500 + 1000 + 2700) * 1e4);
  EXPECT_EQ(static_cast<double>(told.routes[1].best_sum), (1000 + 250) * 1e4);
  EXPECT_EQ(static_cast<double>(told.sum), (1500 + 1000 + 1000 + 250 + 2700) * 1e4);
  ASSERT_EQ(told.left_out.size(), 3U);
  const auto& [first, second, third] = std::tie(told.left_out[0], told.left_out[1], told.left_out[2]);
  EXPECT_EQ(first.row, 5);
  EXPECT_EQ(first.column, 0U);
  EXPECT_EQ(first.number, 1e6 + 1);
  EXPECT_EQ(second.row, 6);
  EXPECT_TRUE(std::isnan(second.number));
  EXPECT_EQ(third.row, 7);
  EXPECT_EQ(third.column, 1U);
}

TEST(Lots, ThatBreakPhysicsSayWhy) {
  OrderedJson document = by_assay_or_fixed("1200 g/t");
  document["lot"]["assays"]["Fe"] = "40 %";
  Lots lots = lots_of(document, {{gold, {1200, 7e5, 5e5, 7e5}}, {"/lot/assays/Fe", {40, 40, 50, 20}}});
  lots.options.first = 100;
  const Valued got = valued(lots);
  EXPECT_EQ(got.told.impossible, 1);
  EXPECT_EQ(got.told.counted, 3);
  EXPECT_EQ(got.mean(1), -HUGE_VAL);
  EXPECT_EQ(got.mean(2), 5e5) << "100 % of assays are still a lot";
  ASSERT_EQ(got.told.left_out.size(), 1U);
  EXPECT_EQ(got.told.left_out[0].row, 101);
  EXPECT_EQ(got.told.left_out[0].column, std::nullopt);
  EXPECT_EQ(got.told.left_out[0].reason, "lot: the assays add up to more than 100 %");
}

TEST(Lots, OnlyTheFirstRowsLeftOutAreTold) {
  std::vector<double> assays(10'000, 1200);
  for (std::size_t row = 40; row < assays.size(); row += 7) assays[row] = -1;
  const Valued got = valued(lots_of(by_assay_or_fixed("1200 g/t"), {{gold, assays}}));
  EXPECT_EQ(got.told.unreadable, (10'000 - 40 + 6) / 7);
  ASSERT_EQ(got.told.left_out.size(), 10U);
  for (std::size_t i = 0; i < 10; ++i)
    EXPECT_EQ(got.told.left_out[i].row, static_cast<std::int64_t>(40 + 7 * i));
}

/// What is left at the cuts held is compared above; here, that it is said.
TEST(Lots, CutsThatAreHeldAreTold) {
  RandomLots random(33);
  int cautions = 0;
  for (int i = 0; i < 10; ++i) {
    auto one = random.next(3, 0.1, true);
    const Valued got = valued(one.lots);
    for (const Caution& caution : got.told.cautions)
      cautions += caution.what.find("which was found for the plan's own lot") != std::string::npos;
  }
  EXPECT_GE(cautions, 10);
}

TEST(Lots, NoRowsAndNoColumnsAreNoTrouble) {
  const auto plan = placed_plan(by_assay_or_fixed("1200 g/t"));
  const LotValues none = value_lots(*plan, {}, {}, 0, {}, Watch{});
  EXPECT_EQ(none.rows, 0);
  EXPECT_EQ(none.routes.size(), 2U);
  const LotValues plans = value_lots(*plan, {}, {}, 3, {}, Watch{});
  EXPECT_EQ(static_cast<double>(plans.sum), 3 * 1200e4) << "three lots as the plan's own";
}

// ---- Sums ---------------------------------------------------------------------------------------------

struct Sums {
  std::vector<TenThousandths> money;
  std::vector<std::int64_t> counts;
  explicit Sums(const LotValues& told) : money(told.draws) {
    money.push_back(told.sum);
    counts = {told.rows, told.counted, told.refused, told.impossible, told.unreadable, told.impossible_draws};
    for (const RouteOfLots& route : told.routes) {
      money.insert(money.end(), {route.sum, route.best_sum});
      counts.insert(counts.end(), {route.best, route.refused});
    }
    counts.insert(counts.end(), told.held.begin(), told.held.end());
  }
  void add(const Sums& more) {
    for (std::size_t i = 0; i < money.size(); ++i) money[i] += more.money[i];
    for (std::size_t i = 0; i < counts.size(); ++i) counts[i] += more.counts[i];
  }
  friend bool operator==(const Sums&, const Sums&) = default;
};

/// In pieces cut at these rows.
void expect_same_in_pieces(const Lots& lots, const std::vector<std::size_t>& cuts) {
  const Valued whole = valued(lots);
  Valued pieces;
  std::optional<Sums> sums;
  std::size_t from = 0;
  for (std::size_t to : cuts) {
    const Valued piece = valued(lots, from, to);
    pieces.means.insert(pieces.means.end(), piece.means.begin(), piece.means.end());
    pieces.sds.insert(pieces.sds.end(), piece.sds.begin(), piece.sds.end());
    if (sums) sums->add(Sums(piece.told));
    else sums.emplace(piece.told);
    from = to;
  }
  EXPECT_TRUE(same_bits(whole.means, pieces.means));
  EXPECT_TRUE(same_bits(whole.sds, pieces.sds));
  EXPECT_EQ(Sums(whole.told), *sums);
}

TEST(Lots, InAnyPiecesAreTheSame) {
  RandomLots random(34);
  for (int i = 0; i < 12; ++i) {
    auto one = random.next(9000, 0.4, i % 6 == 0);
    one.lots.options.first = i;  // odd and even
    if (i % 2 == 0) one.lots = drawn(one.lots, 17, 3);
    expect_same_in_pieces(one.lots, {1, 2, 255, 4097, 4100, 8191, 9000});
  }
}

TEST(Lots, AnyNumberOfThreadsGivesTheSameBits) {
  RandomLots random(35);
  for (int i = 0; i < 6; ++i) {
    auto one = random.next(20'000, 0.4);
    if (i % 2 == 0) one.lots = drawn(one.lots, 16);
    const Valued alone = valued(one.lots);
    for (int threads : {2, 5}) {
      one.lots.options.threads = threads;
      const Valued together = valued(one.lots);
      EXPECT_TRUE(same_bits(alone.means, together.means));
      EXPECT_TRUE(same_bits(alone.sds, together.sds));
      EXPECT_EQ(Sums(alone.told), Sums(together.told));
      EXPECT_EQ(alone.told.left_out.size(), together.told.left_out.size());
    }
  }
}

/// Sums in decimals of the figures as they are handed out.
TEST(Lots, SumsAreThoseOfTheRoundedFigures) {
  std::vector<double> assays(5000);
  Random random(36);
  for (double& one : assays) one = random.real(0, 3000);
  const Valued got = valued(lots_of(by_assay_or_fixed("1200 g/t"), {{gold, assays}}));
  Decimal sum = 0;
  for (std::size_t row = 0; row < assays.size(); ++row)
    sum += floor(Decimal(Decimal(std::max(got.mean(row, 0), got.mean(row, 1))) * 10'000 + Decimal("0.5")));
  EXPECT_EQ(Decimal(static_cast<double>(got.told.sum)), sum) << "below 2^53, so that the double is exact";
}

TEST(Lots, AmountsBelowZeroAreRoundedAwayFromIt) {
  OrderedJson document = by_assay_or_fixed("1200 g/t");
  document["terms"]["by assay"]["charges"] =
      OrderedJson::array({{{"what", "sampling"}, {"rate", "100 USD/lot"}}});
  // Each g/t is 1 USD, so these leave -99.99994, -99.99996, 0.00006 and 0.00004.
  const Valued got = valued(lots_of(document, {{gold, {0.00006, 0.00004, 100.00006, 100.00004}}}));
  EXPECT_EQ(static_cast<double>(got.told.routes[0].sum), -999999 - 1000000 + 1 + 0);
}

TEST(Lots, EveryInstructionSetGivesTheSameBits) {
#if defined(BUTTONWORTH_WIDE_LANES)
  if (!__builtin_cpu_supports("avx2")) GTEST_SKIP() << "this processor has no AVX2";
  const bool avx512 = __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq");
  RandomLots random(37);
  for (int i = 0; i < 20; ++i) {
    const auto one = random.next(lot_row, 0.3);
    const Plan& plan = *one.lots.plan;
    const Prepared<double> means(plan);
    const Drawing drawing(plan, {}, {8, 3, DrawMethod::philox});
    LotModel model;
    std::vector<Quantity> quantities;
    for (std::size_t k = 0; k < drawing.inputs().size(); ++k) {
      const Quantity q = drawing.inputs()[k].quantity;
      quantities.push_back(q);
      model.inputs.push_back({q, k % 2 == 0 ? std::optional(k) : std::nullopt, k, true, k % 4 == 0,
                              to_double(plan.quantities[q].mean), range_of(plan.quantities[q].allowed)});
    }
    const Program program = worth_program(means, quantities, one.held);
    model.drawing = &drawing;
    model.worths = &program;
    model.routes = one.held.size();
    model.draws = 5;
    LotRow a(model), b(model);
    for (LotRow* row : {&a, &b}) {
      row->first = 7;
      row->count = 201;
      for (std::size_t k = 0; k < model.inputs.size(); ++k)
        for (std::size_t lot = 0; lot < lot_row; ++lot)
          row->values[k * lot_row + lot] = model.inputs[k].mean * (0.7 + 0.002 * static_cast<double>(lot));
    }
    make_lot_worker_plain(model)->work(a);
    const auto expect_same = [&](const std::unique_ptr<LotWorker>& wide, const char* what) {
      wide->work(b);
      for (std::size_t draw = 0; draw < 5; ++draw)
        for (std::size_t r = 0; r < model.routes; ++r)
          EXPECT_TRUE(same_bits({a.worth_of(draw, r, model), a.worth_of(draw, r, model) + 201},
                                {b.worth_of(draw, r, model), b.worth_of(draw, r, model) + 201}))
              << what;
      EXPECT_EQ(a.times_broken, b.times_broken) << what;
      EXPECT_EQ(a.refused, b.refused) << what;
      EXPECT_EQ(a.held, b.held) << what;
    };
    expect_same(make_lot_worker_avx2(model), "AVX2");
    if (avx512) expect_same(make_lot_worker_avx512(model), "AVX-512");
  }
#else
  GTEST_SKIP() << "built for one instruction set alone";
#endif
}

// ---- Drawn --------------------------------------------------------------------------------------------

/// Where the lot is certain, a draw of the market is a simulation's by the same numbers.
TEST(LotsDrawn, MarketsAreTheSimulations) {
  OrderedJson document = by_assay_or_fixed("1200 g/t");
  document["prices"]["Au"] = {{"value", "1 USD/g"}, {"rsd", "20 %"}};
  document["terms"]["fixed"]["pay"]["Au"]["share"] = {{"low", "80 %"}, {"high", "100 %"}};
  const Lots lots = drawn(lots_of(document, {{"/lot/wet_mass", {1, 1}}}), 256, 9);
  const Valued got = valued(lots);
  SimulateOptions options;
  options.numbers = {256, 9, DrawMethod::philox};
  options.keep = true;
  const Simulation s = simulate(*lots.plan, options, Watch{});
  ASSERT_EQ(s.by_mean, 0U);
  double largest = 0;
  for (std::size_t draw = 0; draw < 256; ++draw) {
    const double worth = s.kept.by_name[0].second[draw];
    EXPECT_NEAR(static_cast<double>(got.told.draws[draw]), 2e4 * worth, 1 + 1e-9 * worth) << draw;
    largest = std::max(largest, worth);
  }
  EXPECT_GT(largest, 1500) << "draws that are apart";
  for (std::size_t r = 0; r < 2; ++r) {
    EXPECT_NEAR(got.mean(0, r), s.routes[r].mean, 1e-9 * s.routes[r].mean);
    EXPECT_NEAR(got.sd(1, r), s.routes[r].sd, 1e-9 * s.routes[r].mean);
  }
}

/// Mean and spread over lots and draws of 1 t at so many g/t, each with an error of its own.
void expect_spread(const OrderedJson& assay, bool relative, double value, double sd) {
  constexpr std::size_t rows = 4096, draws = 64;
  Lots lots = drawn(lots_of(by_assay_or_fixed(assay), {{gold, std::vector<double>(rows, value)}}), draws);
  lots.relative = {relative};
  const Valued got = valued(lots);
  double mean = 0, squares = 0;
  for (std::size_t row = 0; row < rows; ++row) {
    mean += got.mean(row) / rows;
    squares += got.sd(row) * got.sd(row) / rows;
  }
  // Of 262,144 draws, five standard errors.
  EXPECT_NEAR(mean, value, 5 * sd / 512) << assay.dump();
  EXPECT_NEAR(std::sqrt(squares), sd, 5 * sd / 700) << assay.dump();
}
TEST(LotsDrawn, SpreadsFollowTheSizeOrStay) {
  const OrderedJson rsd{{"value", "1000 g/t"}, {"rsd", "5 %"}}, sd{{"value", "1000 g/t"}, {"sd", "50 g/t"}};
  expect_spread(rsd, true, 1000, 50);
  expect_spread(rsd, true, 3000, 150);
  expect_spread(sd, false, 1000, 50);
  expect_spread(sd, false, 3000, 50);
  const OrderedJson even{{"low", "900 g/t"}, {"high", "1100 g/t"}};
  expect_spread(even, false, 2000, 200 / std::sqrt(12.0));
}

/// Errors of lots are their own, so the sum of n lots spreads by √n; a price is one for all, and spreads by
/// n.
TEST(LotsDrawn, LotsDifferAndTheMarketIsOne) {
  constexpr std::size_t rows = 1024, draws = 1024;
  const auto spread_of_sum = [&](OrderedJson document) {
    Lots lots = drawn(lots_of(document, {{"/lot/wet_mass", std::vector<double>(rows, 1)}}), draws);
    lots.options.routes = {0};
    const Valued got = valued(lots);
    std::vector<double> sums;
    for (TenThousandths sum : got.told.draws) sums.push_back(static_cast<double>(sum) / 1e4);
    const double mean = std::accumulate(sums.begin(), sums.end(), 0.0) / draws;
    double squares = 0;
    for (double one : sums) squares += (one - mean) * (one - mean);
    EXPECT_NEAR(mean, 1000 * rows, 8 * 50 * rows / std::sqrt(1.0 * draws));
    return std::sqrt(squares / (draws - 1));
  };
  const double own = spread_of_sum(by_assay_or_fixed({{"value", "1000 g/t"}, {"sd", "50 g/t"}}));
  EXPECT_NEAR(own, 50 * std::sqrt(1.0 * rows), 0.12 * 50 * std::sqrt(1.0 * rows));  // five standard errors
  OrderedJson market = by_assay_or_fixed("1000 g/t");
  market["prices"]["Au"] = {{"value", "1 USD/g"}, {"sd", "0.05 USD/g"}};
  EXPECT_NEAR(spread_of_sum(market), 50.0 * rows, 0.12 * 50 * rows);
}

TEST(LotsDrawn, BeyondTheRangeCountAsItsEnd) {
  // Normal about 10 g/t with an sd of 50: below 0 is P(z < -0.2) = 0.42074 (tables of the normal).
  Lots lots = drawn(lots_of(by_assay_or_fixed({{"value", "1000 g/t"}, {"sd", "50 g/t"}}),
                            {{gold, std::vector<double>(2048, 10)}}),
                    128);
  lots.relative = {false};
  const Valued got = valued(lots);
  const double all = 2048 * 128;
  EXPECT_NEAR(static_cast<double>(got.told.held[0]) / all, 0.42074, 5 * 0.5 / std::sqrt(all));
  // What is left of it: 10 P(z < 0.2) + 50 times the density at 0.2, 0.39104.
  const double mean = std::accumulate(got.means.begin(), got.means.end(), 0.0) - 2048 * got.mean(0, 1);
  EXPECT_NEAR(mean / 2048, 10 * 0.57926 + 50 * 0.39104, 5 * 30 / std::sqrt(all));
  EXPECT_EQ(got.told.impossible, 0);
}

/// The spread of a sum of two that go together: the root of 30² + 40² + 2 r 30 × 40.
TEST(LotsDrawn, WhatGoesTogetherInALotDoesSo) {
  OrderedJson document = by_assay_or_fixed({{"value", "1000 g/t"}, {"sd", "30 g/t"}});
  document["prices"]["Ag"] = "1 USD/g";
  document["lot"]["assays"]["Ag"] = {{"value", "1000 g/t"}, {"sd", "40 g/t"}};
  document["terms"]["by assay"]["pay"]["Ag"] = OrderedJson::object();
  for (const double r : {-0.8, 0.0, 0.8}) {
    Lots lots = drawn(lots_of(document, {{"/lot/wet_mass", std::vector<double>(2048, 1)}}), 128);
    lots.options.together.correlated = {
        {quantity_at(*lots.plan, gold), quantity_at(*lots.plan, "/lot/assays/Ag"), r}};
    const Valued got = valued(lots);
    double squares = 0;
    for (std::size_t row = 0; row < 2048; ++row) squares += got.sd(row) * got.sd(row) / 2048;
    const double sd = std::sqrt(30 * 30 + 40 * 40 + 2 * r * 30 * 40);
    EXPECT_NEAR(std::sqrt(squares), sd, 5 * sd / 700) << r;
  }
}

/// A recovery even from 50 to 100 % breaks physics above 80 %, in 4 draws of 10, the same for all lots.
OrderedJson breaking(const char* high) {
  OrderedJson plan = by_assay_or_fixed("100 g/t");
  plan["lot"]["assays"]["Ag"] = "5000 g/t";
  plan["prices"]["Ag"] = {{"low", "0.5 USD/g"}, {"high", "1.5 USD/g"}};
  plan["terms"] = {{"gold", pays("Au")}, {"silver", pays("Ag")}};
  plan["steps"]["table"] = {{"kind", "table"}, {"cut", {{"pull", "10 %"}}}};
  plan["steps"]["table"]["curve"]["Au"] =
      OrderedJson::array({OrderedJson::array({"10 %", OrderedJson{{"low", "50 %"}, {"high", high}}}),
                          OrderedJson::array({"20 %", "80 %"})});
  plan["steps"]["table"]["curve"]["Ag"] = {{"as", "gangue"}};
  plan["routes"] = {
      {"other", {{"sell", "silver"}}},
      {"tabled", {{"step", "table"}, {"concentrate", {{"sell", "gold"}}}, {"tailings", {{"keep", true}}}}}};
  return plan;
}
TEST(LotsDrawn, ImpossibleDrawsAreLeftOut) {
  const Lots lots = drawn(lots_of(breaking("100 %"), {{"/lot/wet_mass", {1, 1, 1}}}), 256, 5);
  const Valued got = valued(lots);
  SimulateOptions options;
  options.numbers = {256, 5, DrawMethod::philox};
  options.keep = true;
  const Simulation s = simulate(*lots.plan, options, Watch{});
  ASSERT_LT(s.counted, 200);
  EXPECT_EQ(got.told.impossible_draws, 3 * (256 - s.counted));
  EXPECT_EQ(got.told.impossible, 0);
  for (std::size_t r = 0; r < 2; ++r) {
    EXPECT_NEAR(got.mean(2, r), s.routes[r].mean, 1e-9 * s.routes[r].mean);
    EXPECT_NEAR(got.sd(2, r), s.routes[r].sd, 1e-9 * s.routes[r].mean);
  }
  for (std::size_t draw = 0; draw < 256; ++draw) {  // an impossible draw counts as the mean
    const double worth = s.kept.by_name[0].second[draw];
    EXPECT_NEAR(static_cast<double>(got.told.draws[draw]), 3e4 * (std::isnan(worth) ? got.mean(0) : worth),
                3);
  }
}
/// Taken where less than 65 % is recovered, refused up to 80 %, impossible beyond: 3, 3 and 4 in 10 draws.
TEST(LotsDrawn, ARefusalInAnImpossibleDrawIsNone) {
  OrderedJson document = breaking("100 %");
  document["terms"]["gold"]["accepts"]["Au"] = {{"max", "650 g/t"}};
  const Valued got = valued(drawn(lots_of(document, {{"/lot/wet_mass", {1}}}), 256, 5));
  EXPECT_EQ(got.told.routes[1].refused, 0);
  EXPECT_NEAR(got.mean(0, 1), 57.5 / 2, 5) << "57.5 g on average where it is taken, half of what is possible";
}

TEST(LotsDrawn, MoreThanHalfOfTheDrawsImpossibleIsAnImpossibleLot) {
  // Above 95 % of silver the grains of gold have no room: at 99.999 % hardly a draw has any.
  OrderedJson document = by_assay_or_fixed({{"value", "1000 g/t"}, {"rsd", "10 %"}});
  document["lot"]["assays"]["Fe"] = "40 %";
  const Lots lots =
      drawn(lots_of(document, {{gold, {1000, 1000, 1000}}, {"/lot/assays/Fe", {40, 99.95, 99.88}}}), 64);
  const Valued got = valued(lots);
  EXPECT_EQ(got.told.impossible, 1);
  EXPECT_EQ(got.told.counted, 2);
  EXPECT_EQ(got.mean(1), -HUGE_VAL);
  EXPECT_GT(got.told.impossible_draws, 0) << "1.2 g/kg of room, an sd of 0.1: some draws";
  EXPECT_LT(got.told.impossible_draws, 20);
}

TEST(LotsDrawn, HalfOfTheDrawsImpossibleIsStillALot) {
  // Gold fills what room there is in one draw of two, so of two draws none, one or both break in 1 : 2 : 1.
  OrderedJson document = by_assay_or_fixed({{"value", "1000 g/t"}, {"rsd", "10 %"}});
  document["lot"]["assays"]["Fe"] = "40 %";
  const std::vector<double> iron(1024, 99.9), assays(1024, 1000);
  const Valued got = valued(drawn(lots_of(document, {{gold, assays}, {"/lot/assays/Fe", iron}}), 2));
  EXPECT_NEAR(static_cast<double>(got.told.impossible), 256, 5 * 14) << "five standard deviations";
  EXPECT_EQ(got.told.impossible + got.told.counted, 1024);
  EXPECT_NEAR(static_cast<double>(got.told.impossible_draws), 512, 5 * 16);
}

TEST(LotsDrawn, RowsLeftOutAreInNoSum) {
  OrderedJson document = by_assay_or_fixed({{"value", "1000 g/t"}, {"rsd", "5 %"}});
  document["lot"]["assays"]["Fe"] = "40 %";
  const auto sums = [&](std::vector<double> assays, std::vector<double> iron) {
    return Sums(valued(drawn(lots_of(document, {{gold, assays}, {"/lot/assays/Fe", iron}}), 16)).told).money;
  };
  EXPECT_EQ(sums({1500, NAN, 1500}, {40, 40, 100}), sums({1500}, {40}));
}

TEST(LotsDrawn, HangOnSeedAndNumberAlone) {
  Lots lots = drawn(lots_of(by_assay_or_fixed({{"value", "1000 g/t"}, {"rsd", "5 %"}}),
                            {{gold, std::vector<double>(601, 1000)}}),
                    16);
  const Valued first = valued(lots);
  EXPECT_NE(first.mean(0), first.mean(1));
  for (const std::int64_t by : {1, 2, 37}) {
    lots.options.first = by;
    const Valued later = valued(lots);
    for (std::size_t row = static_cast<std::size_t>(by); row < 601; ++row)
      EXPECT_EQ(first.mean(row), later.mean(row - static_cast<std::size_t>(by))) << row;
  }
  lots.options.first = 0;
  lots.options.seed = 2;
  EXPECT_NE(valued(lots).mean(0), first.mean(0));
}

}  // namespace
}  // namespace buttonworth::test
