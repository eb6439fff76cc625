// A plan drawn many times: what the draws are, what is made of them, and what one more measurement is worth.
#include <sys/resource.h>

#include <algorithm>
#include <atomic>
#include <bit>
#include <chrono>
#include <cmath>
#include <fstream>
#include <functional>
#include <numeric>
#include <thread>

#include "chance/worth.hpp"
#include "chance/worths.hpp"
#include "placed.hpp"
#include "plan_generator.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

// ---- Plans --------------------------------------------------------------------------------------------

/// Of the lot's 1 t each g/t is 1 g, and at 1 USD/g 1 USD. Invented.
OrderedJson tonne(const OrderedJson& assays, const OrderedJson& terms, const OrderedJson& routes) {
  OrderedJson plan{{"format", "buttonworth-plan/1"}, {"currency", "USD"}, {"discount", "0 %/a"}};
  plan["lot"] = {{"wet_mass", "1 t"}, {"assays", assays}};
  for (const auto& [metal, assay] : assays.items()) plan["prices"][metal] = "1 USD/g";
  plan["steps"] = OrderedJson::object();
  plan["terms"] = terms;
  plan["routes"] = routes;
  return plan;
}
OrderedJson normal(const std::string& mean, const std::string& sd) {
  return {{"value", mean + " g/t"}, {"sd", sd + " g/t"}};
}
OrderedJson even(const std::string& low, const std::string& high, const char* unit = " g/t") {
  return {{"low", low + unit}, {"high", high + unit}};
}
OrderedJson pays(const char* metal) {
  return {{"buys", "concentrate"}, {"pay", {{metal, OrderedJson::object()}}}};
}

/// One buyer pays by assay, another 1000 USD whatever the lot holds.
OrderedJson by_assay_or_fixed(const OrderedJson& assay) {
  OrderedJson fixed = pays("Au");
  fixed["deemed"]["Au"] = "1000 g/t";
  return tonne({{"Au", assay}}, {{"by assay", pays("Au")}, {"fixed", fixed}},
               {{"by assay", {{"sell", "by assay"}}}, {"fixed", {{"sell", "fixed"}}}});
}

/// A recovery even from 50 to 100 %, which breaks physics above 80 %; another route is worth x USD, x the
/// same share of its own range, 0 to 100.
OrderedJson breaking() {
  OrderedJson plan = tonne({{"Au", "100 g/t"}, {"Ag", even("0", "100")}},
                           {{"gold", pays("Au")}, {"silver", pays("Ag")}}, {{"other", {{"sell", "silver"}}}});
  plan["steps"]["table"] = {{"kind", "table"}, {"cut", {{"pull", "10 %"}}}};
  plan["steps"]["table"]["curve"]["Au"] = OrderedJson::array(
      {OrderedJson::array({"10 %", even("50", "100", " %")}), OrderedJson::array({"20 %", "80 %"})});
  plan["steps"]["table"]["curve"]["Ag"] = {{"as", "gangue"}};
  plan["routes"]["tabled"] = {
      {"step", "table"}, {"concentrate", {{"sell", "gold"}}}, {"tailings", {{"keep", true}}}};
  return plan;
}

SimulateOptions of_draws(std::int64_t draws, DrawMethod method = DrawMethod::sobol, std::uint64_t seed = 1) {
  SimulateOptions options;
  options.numbers = {draws, seed, method};
  return options;
}
Simulation simulated(const Plan& plan, SimulateOptions options) { return simulate(plan, options, Watch{}); }

const std::vector<double>& kept(const Simulation& s, std::string_view name) {
  for (const auto& [title, values] : s.kept.by_name)
    if (title == name) return values;
  throw std::runtime_error("no draws of " + std::string(name));
}

/// Random plans with inputs, of which the comparison can be made.
struct RandomPlans {
  Random random;
  explicit RandomPlans(std::uint64_t seed) : random(seed) {}

  struct One {
    OrderedJson document;
    std::shared_ptr<const Plan> plan;
  };
  One next(bool best_cut = false) {
    for (;;) {
      One one{random_plan(random, {.best_cut = best_cut}), nullptr};
      one.plan = placed_plan(one.document);
      const Drawing drawing(*one.plan, {}, DrawNumbers{256, 1, DrawMethod::philox});
      if (drawing.inputs().size() < 2) continue;
      try {
        simulated(*one.plan, of_draws(256));
      } catch (const Error&) {
        continue;  // a route that cannot be worked out, or spreads that break most draws
      }
      return one;
    }
  }
};

// ---- The same bits ----------------------------------------------------------------------------------

std::vector<double> figures_of(const Simulation& s) {
  std::vector<double> all{static_cast<double>(s.draws), static_cast<double>(s.counted), s.worth_of_certainty,
                          s.worth_standard_error};
  for (std::size_t choice : {s.by_mean, s.by_worst_mean, s.by_mean_less_sd, s.preferred})
    all.push_back(static_cast<double>(choice));
  for (const RouteChance& r : s.routes)
    all.insert(all.end(), {r.plan.value_or(-1), r.mean, r.standard_error, r.sd, r.low, r.median, r.high,
                           r.worst_mean, r.best_share, r.refused_share, r.regret});
  if (s.lead)
    all.insert(all.end(), {static_cast<double>(s.lead->over), s.lead->mean, s.lead->standard_error,
                           s.lead->sd, s.lead->ahead});
  for (const InputChance& input : s.inputs)
    all.insert(all.end(), {static_cast<double>(input.quantities.front().index), input.cut_off, input.share,
                           input.worth, input.standard_error});
  return all;
}

void expect_same(const Simulation& a, const Simulation& b, const char* what) {
  EXPECT_TRUE(same_bits(figures_of(a), figures_of(b))) << what;
}

TEST(Simulate, AnyNumberOfThreadsGivesTheSameBits) {
  RandomPlans plans(21);
  for (int i = 0; i < 6; ++i) {
    const auto one = plans.next(i == 0);
    auto options = of_draws(65536, i % 2 == 0 ? DrawMethod::sobol : DrawMethod::philox, 5);
    options.prefer = i % 3 == 0   ? Preference::mean
                     : i % 3 == 1 ? Preference::worst_mean
                                  : Preference::mean_less_sd;
    options.keep = i == 1;
    const Simulation alone = simulated(*one.plan, options);
    for (int threads : {2, 7}) {
      options.threads = threads;
      const Simulation together = simulated(*one.plan, options);
      expect_same(alone, together, "threads");
      ASSERT_EQ(alone.kept.by_name.size(), together.kept.by_name.size());
      for (std::size_t k = 0; k < alone.kept.by_name.size(); ++k)
        EXPECT_TRUE(same_bits(alone.kept.by_name[k].second, together.kept.by_name[k].second));
    }
  }
}

TEST(Simulate, DrawsKeptOrNotGiveTheSameBits) {
  RandomPlans plans(22);
  for (int i = 0; i < 6; ++i) {
    const auto one = plans.next();
    auto options = of_draws(8192, i % 2 == 0 ? DrawMethod::sobol : DrawMethod::philox, 9);
    const Simulation without = simulated(*one.plan, options);
    options.keep = true;
    expect_same(without, simulated(*one.plan, options), "kept");
    EXPECT_TRUE(without.kept.by_name.empty());
  }
}

/// Sixteen routes: what a million draws of them take is more than is held in memory, unless they are kept.
TEST(Simulate, DrawsHeldInMemoryOrWorkedOutAnewGiveTheSameBits) {
  OrderedJson document = by_assay_or_fixed(normal("1010", "100"));
  for (int i = 0; i < 14; ++i) document["routes"]["again " + std::to_string(i)] = {{"sell", "by assay"}};
  const auto plan = placed_plan(document);
  auto options = of_draws(1 << 20);
  options.prefer = Preference::worst_mean;
  options.threads = 2;
  const Simulation anew = simulated(*plan, options);
  options.keep = true;
  expect_same(anew, simulated(*plan, options), "held");
}

TEST(Simulate, AnotherSeedGivesOtherDraws) {
  const auto plan = placed_plan(by_assay_or_fixed(normal("1010", "100")));
  for (DrawMethod method : {DrawMethod::sobol, DrawMethod::philox}) {
    auto options = of_draws(1024, method, 1);
    options.keep = true;
    const Simulation first = simulated(*plan, options);
    options.numbers.seed = std::uint64_t{1} << 32 | 1;
    const Simulation other = simulated(*plan, options);
    const auto &a = kept(first, "by assay"), &b = kept(other, "by assay");
    int equal = 0;
    for (std::size_t i = 0; i < a.size(); ++i) equal += a[i] == b[i];
    EXPECT_LE(equal, 1);
  }
}

// ---- Lanes ------------------------------------------------------------------------------------------

/// All that a worker needs, as a simulation has it.
struct Drawn {
  Prepared<double> means;
  Drawing drawing;
  Comparison<double> comparison;
  std::vector<HeldRoute> held;
  Program worths;
  DrawnPlan plan;
  Drawn(const Plan& of, DrawNumbers numbers)
      : means(of),
        drawing(of, {}, numbers),
        comparison(compare<double>(means, {false, {}}, Watch{})),
        held(hold_cuts(comparison)),
        worths(worth_program(means, drawing, held)),
        plan{&drawing, &worths, true} {}
};

void expect_same_blocks(const DrawBlock& a, const DrawBlock& b, const char* what) {
  EXPECT_TRUE(same_bits(a.worth, b.worth)) << what;
  EXPECT_TRUE(same_bits(a.values, b.values)) << what;
  EXPECT_EQ(a.refused, b.refused) << what;
  EXPECT_EQ(a.broken, b.broken) << what;
  EXPECT_EQ(a.classes, b.classes) << what;
}

TEST(Lanes, EveryInstructionSetGivesTheSameBits) {
#if defined(BUTTONWORTH_WIDE_LANES)
  const bool avx2 = __builtin_cpu_supports("avx2");
  const bool avx512 = __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq");
  if (!avx2) GTEST_SKIP() << "this processor has no AVX2";
  RandomPlans plans(23);
  for (int i = 0; i < 25; ++i) {
    const auto one = plans.next(i % 8 == 0);
    const Drawn drawn(*one.plan, {8192, 3, i % 2 == 0 ? DrawMethod::sobol : DrawMethod::philox});
    const auto plain = make_worker_plain(drawn.plan), wide = make_worker_avx2(drawn.plan);
    const auto wider = avx512 ? make_worker_avx512(drawn.plan) : nullptr;
    DrawBlock a, b;
    for (const auto& [first, count] : {std::pair{0, 1024}, {1024, 1}, {7 * 1024, 1001}}) {
      plain->work(first, static_cast<std::size_t>(count), a);
      wide->work(first, static_cast<std::size_t>(count), b);
      expect_same_blocks(a, b, "AVX2");
      if (wider == nullptr) continue;
      wider->work(first, static_cast<std::size_t>(count), b);
      expect_same_blocks(a, b, "AVX-512");
    }
  }
  if (!avx512) GTEST_SKIP() << "AVX2 alone was compared: this processor has no AVX-512";
#else
  GTEST_SKIP() << "built for one instruction set alone";
#endif
}

/// The document with every input at its value in one draw, for certain.
OrderedJson at_draw(OrderedJson document, const Plan& plan, const Simulation& s, std::size_t draw) {
  for (const InputChance& input : s.inputs)
    for (const Quantity& q : input.quantities) {
      const StatedQuantity& stated = plan.quantities[q];
      const double value = kept(s, stated.place)[draw];
      document[OrderedJson::json_pointer(stated.place)] =
          text_of(Decimal(Decimal(value) / stated.unit_factor), stated.unit.c_str());
    }
  return document;
}

/// What the routes leave at the cuts held; nothing where the draw is impossible.
std::optional<std::vector<double>> left_by(const OrderedJson& document, const std::vector<HeldRoute>& held) {
  if (!complaints_of(document.dump()).empty()) return std::nullopt;
  std::vector<double> worths;
  try {
    const auto plan = plan_from(document);
    const Prepared<double> prepared(*plan);
    const Figures<double> figures(plan->quantities, plan->analytes, plan->currency);
    for (std::size_t r = 0; r < held.size(); ++r)
      worths.push_back(route_worth(prepared, plan->routes[r], held[r].held, figures).value_or(0));
  } catch (const Error&) {
    return std::nullopt;
  }
  return worths;
}

TEST(Lanes, ADrawIsTheDocumentWithItsValues) {
  RandomPlans plans(24);
  int draws = 0, refused = 0;
  for (int i = 0; i < 60; ++i) {
    const auto one = plans.next(i % 10 == 0);
    auto options =
        of_draws(256, i % 2 == 0 ? DrawMethod::sobol : DrawMethod::philox, static_cast<std::uint64_t>(i));
    options.keep = true;
    const Simulation s = simulated(*one.plan, options);
    const Drawn drawn(*one.plan, options.numbers);
    const double size = to_double(contained_value(*one.plan));
    for (std::size_t draw = 0; draw < 256; draw += 13) {
      const auto expected = left_by(at_draw(one.document, *one.plan, s, draw), drawn.held);
      for (std::size_t r = 0; r < s.routes.size(); ++r) {
        const double found = s.kept.by_name[r].second[draw];
        ASSERT_EQ(std::isnan(found), !expected) << s.routes[r].route->name << one.document.dump(1);
        if (!expected) continue;
        EXPECT_NEAR(found, (*expected)[r], 1e-9 * std::max(size, std::abs(found)))
            << s.routes[r].route->name << ", draw " << draw
            << at_draw(one.document, *one.plan, s, draw).dump(1);
        ++draws;
        refused += found == 0;
      }
    }
  }
  EXPECT_GE(draws, 2000);
  EXPECT_GE(refused, 20);
}

// ---- What is made of the draws ------------------------------------------------------------------------

/// The same figures from the kept draws, sorted.
struct Plainly {
  std::vector<std::vector<double>> routes;  // draws that count, in their order
  std::size_t n = 0;

  explicit Plainly(const Simulation& s) {
    for (std::size_t r = 0; r < s.routes.size(); ++r) {
      auto& values = routes.emplace_back();
      for (double x : s.kept.by_name[r].second)
        if (!std::isnan(x)) values.push_back(x);
    }
    n = routes.front().size();
  }
  std::vector<double> sorted(std::size_t r) const {
    std::vector<double> values = routes[r];
    std::sort(values.begin(), values.end());
    return values;
  }
  static double mean(const std::vector<double>& values) {
    long double sum = 0;
    for (double x : values) sum += x;
    return static_cast<double>(sum / static_cast<long double>(values.size()));
  }
  double sd(std::size_t r) const {
    const double middle = mean(routes[r]);
    long double sum = 0;
    for (double x : routes[r]) sum += (x - middle) * (x - middle);
    return std::sqrt(static_cast<double>(sum / static_cast<long double>(n - 1)));
  }
  double regret(std::size_t r) const {
    long double sum = 0;
    for (std::size_t i = 0; i < n; ++i) {
      double most = routes[0][i];
      for (const auto& one : routes) most = std::max(most, one[i]);
      sum += most - routes[r][i];
    }
    return static_cast<double>(sum / static_cast<long double>(n));
  }
  std::size_t rank(std::size_t thousandths) const { return (n * thousandths + 999) / 1000; }
};

void expect_plainly(const Simulation& s) {
  const Plainly plainly(s);
  ASSERT_EQ(static_cast<std::int64_t>(plainly.n), s.counted);
  double largest = 0;
  for (const auto& values : plainly.routes)
    for (double x : values) largest = std::max(largest, std::abs(x));
  for (std::size_t r = 0; r < s.routes.size(); ++r) {
    const RouteChance& route = s.routes[r];
    const std::vector<double> sorted = plainly.sorted(r);
    const double size = std::max(std::abs(sorted.front()), std::abs(sorted.back()));
    SCOPED_TRACE(route.route->name);
    EXPECT_EQ(route.low, sorted[plainly.rank(25) - 1]);
    EXPECT_EQ(route.median, sorted[plainly.rank(500) - 1]);
    EXPECT_EQ(route.high, sorted[plainly.rank(975) - 1]);
    const std::vector<double> worst(sorted.begin(),
                                    sorted.begin() + static_cast<std::ptrdiff_t>(plainly.rank(50)));
    EXPECT_NEAR(route.worst_mean, Plainly::mean(worst), 1e-12 * size);
    EXPECT_NEAR(route.mean, Plainly::mean(sorted), 1e-12 * size);
    EXPECT_NEAR(route.sd, plainly.sd(r), 1e-10 * size);
    EXPECT_NEAR(route.regret, plainly.regret(r), 1e-12 * largest);
  }
  EXPECT_EQ(s.worth_of_certainty, s.routes[s.by_mean].regret);
}

TEST(Simulate, FiguresAreThoseOfTheDraws) {
  RandomPlans plans(25);
  for (int i = 0; i < 20; ++i) {
    const auto one = plans.next();
    auto options = of_draws(i % 2 == 0 ? 8192 : 5000, i % 2 == 0 ? DrawMethod::sobol : DrawMethod::philox);
    options.keep = true;
    expect_plainly(simulated(*one.plan, options));
  }
}

/// A draw's numbers are told by its place alone: also where an eighth of the draws begins with an odd one.
TEST(Simulate, ADrawIsTheSameHoweverManyThereAre) {
  const auto plan = placed_plan(by_assay_or_fixed(even("50", "100")));
  auto few = of_draws(264, DrawMethod::philox), many = of_draws(528, DrawMethod::philox);
  few.keep = many.keep = true;
  const Simulation of_few = simulated(*plan, few), of_many = simulated(*plan, many);
  for (const auto& [name, values] : of_few.kept.by_name)
    for (std::size_t i = 0; i < values.size(); ++i)
      EXPECT_EQ(values[i], kept(of_many, name)[i]) << name << ' ' << i;
}

/// Values far beyond the first block's, many that are equal, and draws left out.
TEST(Simulate, FiguresOfWhatIsHardToSort) {
  OrderedJson wild = by_assay_or_fixed({{"median", "10 g/t"}, {"gsd", "6"}});
  wild["terms"]["by assay"]["accepts"]["Au"]["min"] = "5 g/t";
  for (const OrderedJson& document :
       {wild, breaking(), by_assay_or_fixed(even("999.9999999", "1000.0000001"))}) {
    for (std::int64_t draws : {256, 65536}) {
      auto options = of_draws(draws);
      options.keep = true;
      expect_plainly(simulated(*placed_plan(document), options));
    }
  }
}

TEST(Simulate, ADrawThatBreaksPhysicsIsLeftOutOfEveryRoute) {
  const auto plan = placed_plan(breaking());
  auto options = of_draws(4096);
  options.keep = true;
  // The same share of both ranges: of the other route only what is worth less than 60 USD is left.
  options.together.same = {
      {quantity_at(*plan, "/steps/table/curve/Au/0/1"), quantity_at(*plan, "/lot/assays/Ag")}};
  const Simulation s = simulated(*plan, options);
  EXPECT_NEAR(static_cast<double>(s.counted) / 4096, 0.6, 0.002);  // a point in each 512th of each eighth
  for (std::size_t i = 0; i < 4096; ++i) {
    const double other = kept(s, "other")[i], tabled = kept(s, "tabled")[i];
    const double recovery = kept(s, "/steps/table/curve/Au/0/1")[i];
    EXPECT_EQ(std::isnan(tabled), recovery > 0.8);
    EXPECT_EQ(std::isnan(other), std::isnan(tabled));
  }
  EXPECT_NEAR(s.routes[0].mean, 30, 0.1);
  EXPECT_NEAR(s.routes[0].high, 0.975 * 60, 0.2);
  EXPECT_NEAR(s.routes[1].mean, 65, 0.1);
  expect_plainly(s);
}

/// Only routes that are looked at can break.
TEST(Simulate, ATableThatNoRouteTakesBreaksNothing) {
  const auto plan = placed_plan(breaking());
  auto options = of_draws(1024);
  options.routes = {0};
  EXPECT_EQ(simulated(*plan, options).counted, 1024);
  OrderedJson document = breaking();
  document["routes"].erase("tabled");
  EXPECT_EQ(simulated(*placed_plan(document), of_draws(1024)).counted, 1024);
  EXPECT_LT(simulated(*plan, of_draws(1024)).counted, 700);
}

TEST(Simulate, MostDrawsBroken) {
  OrderedJson document = breaking();
  document["steps"]["table"]["curve"]["Au"][0][1] = {{"low", "50 %"}, {"mode", "99 %"}, {"high", "100 %"}};
  document["steps"]["table"]["curve"]["Au"][1][1] = "83.2 %";  // the mean is 83
  try {
    simulated(*placed_plan(document), of_draws(1024));
    ADD_FAILURE() << "more than half of the draws break physics";
  } catch (const Error& refused) {
    EXPECT_EQ(refused.complaint().code, Code::range);
  }
}

TEST(Simulate, ARefusedRouteIsWorthNothing) {
  OrderedJson document = by_assay_or_fixed(even("0", "2000"));
  document["terms"]["by assay"]["accepts"]["Au"]["min"] = "800 g/t";
  document["terms"]["fixed"]["charges"] = {{{"what", "levy"}, {"rate", "1500 USD/lot"}}};  // it leaves -500
  const auto plan = placed_plan(document);
  auto options = of_draws(8192);
  options.keep = true;
  const Simulation s = simulated(*plan, options);
  EXPECT_NEAR(s.routes[0].refused_share, 0.4, 0.001);
  EXPECT_EQ(s.routes[1].refused_share, 0);
  for (std::size_t i = 0; i < 8192; ++i)
    EXPECT_EQ(kept(s, "by assay")[i] == 0, kept(s, "/lot/assays/Au")[i] < 800e-6);
  // Refused it is worth more than the other, but is not the best: then none is.
  EXPECT_NEAR(s.routes[0].best_share, 0.6, 0.001);
  EXPECT_EQ(s.routes[1].best_share, 0);
  EXPECT_NEAR(s.routes[0].mean, (2000. * 2000 - 800. * 800) / 4000, 1);
  EXPECT_EQ(s.routes[0].regret, 0);
}

/// The cut is searched at the plan's means and stays: no draw has one of its own.
TEST(Simulate, CutsAreHeldAndNobodyHasHindsight) {
  OrderedJson document = tonne({{"Au", even("20", "180")}}, {{"smelter", pays("Au")}}, OrderedJson::object());
  document["terms"]["smelter"]["charges"] = {{{"what", "treatment"}, {"rate", "150 USD/t"}}};
  document["steps"]["table"] = {{"kind", "table"}, {"cut", "best"}, {"search", {"1 %", "60 %"}}};
  document["steps"]["table"]["curve"]["Au"] = {{"odds", "40"}};
  document["routes"]["tabled"] = {
      {"step", "table"}, {"concentrate", {{"sell", "smelter"}}}, {"tailings", {{"keep", true}}}};
  const auto plan = placed_plan(document);
  auto options = of_draws(1024);
  options.keep = true;
  const Simulation s = simulated(*plan, options);
  const double cut =
      compare<double>(Prepared<double>(*plan), {false, {}}, Watch{}).routes[0].ledger.pulls[0].value();
  document["steps"]["table"].erase("search");
  document["steps"]["table"]["cut"] = {{"pull", text_of(Decimal(cut * 100), "%")}};
  const Simulation stated = simulated(*placed_plan(document), options);
  double above = 0;
  for (std::size_t i = 0; i < 1024; ++i) {
    const double worth = kept(s, "tabled")[i], gold = kept(s, "/lot/assays/Au")[i];
    EXPECT_NEAR(worth, kept(stated, "tabled")[i], 1e-9 * std::abs(worth));
    OrderedJson once = document;
    once["steps"]["table"]["cut"] = "best";
    once["steps"]["table"]["search"] = {"1 %", "60 %"};
    once["lot"]["assays"]["Au"] = text_of(Decimal(gold * 1e6), "g/t");
    if (i % 64 != 0) continue;
    const double hindsight = to_double(compared(*plan_from(once)).routes[0].ledger.sums.present_value);
    EXPECT_GE(hindsight, worth - 1e-9 * std::abs(worth));
    above += hindsight - worth;
  }
  EXPECT_GT(above, 1) << "another cut would do better in many draws";
}

/// JCGM 101:2008, 9.2.3: four rectangular quantities of sd 1 about 0, 95 % within -3.88 and 3.88 (printed
/// figures from memory); here about 100 each, as an assay cannot be below 0. Exactly, 2 √3 less what one
/// eightieth leaves: 4 √3 − (24 · 0.025 · (2 √3)^4)^(1/4) = 3.87941 (by hand).
TEST(Simulate, FourRectangularQuantities) {
  const OrderedJson one = even("98.2679491924311227", "101.7320508075688773");
  const auto plan = placed_plan(tonne({{"Au", one}, {"Ag", one}, {"Pt", one}, {"Pd", one}},
                                      {{"buyer",
                                        {{"buys", "concentrate"},
                                         {"pay",
                                          {{"Au", OrderedJson::object()},
                                           {"Ag", OrderedJson::object()},
                                           {"Pt", OrderedJson::object()},
                                           {"Pd", OrderedJson::object()}}}}}},
                                      {{"sold", {{"sell", "buyer"}}}}));
  const Simulation s = simulated(*plan, of_draws(1 << 20));
  // An eighth of the draws is a net of its own: 1,048,576 independent draws would have errors of 0.002 and
  // 0.004.
  EXPECT_NEAR(s.routes[0].mean, 400, 1e-4);
  EXPECT_NEAR(s.routes[0].sd, 2, 1e-3);
  EXPECT_NEAR(s.routes[0].low, 400 - 3.87941, 4e-3);
  EXPECT_NEAR(s.routes[0].high, 400 + 3.87941, 4e-3);
  EXPECT_FALSE(s.lead);
}

/// Lead = 100 a + 60 b + 30 c of standard normals, and a product: shares of the variance by hand, less what
/// 64 classes leave within them, 0.39 % of a normal's.
TEST(Simulate, SharesOfALinearLead) {
  const auto plan = placed_plan(tonne(
      {{"Au", normal("1000", "100")}, {"Ag", normal("1000", "60")}, {"Pt", normal("1000", "30")}},
      {{"buyer",
        {{"buys", "concentrate"},
         {"pay",
          {{"Au", OrderedJson::object()}, {"Ag", OrderedJson::object()}, {"Pt", OrderedJson::object()}}}}}},
      {{"sold", {{"sell", "buyer"}}}, {"kept", {{"keep", true}}}}));
  const double all = 100 * 100 + 60 * 60 + 30 * 30, within = 0.0039057;
  for (DrawMethod method : {DrawMethod::sobol, DrawMethod::philox}) {
    const Simulation s = simulated(*plan, of_draws(1 << 18, method));
    // Independent draws have an error of 0.0012 in the largest share; that of Sobol's points is less.
    const double near = method == DrawMethod::sobol ? 1e-3 : 5e-3;
    const double sds[] = {100, 60, 30};
    const char* places[] = {"/lot/assays/Au", "/lot/assays/Ag", "/lot/assays/Pt"};
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_EQ(plan->quantities[s.inputs[i].quantities[0]].place, places[i]);
      EXPECT_NEAR(s.inputs[i].share, sds[i] * sds[i] / all * (1 - within), near);
    }
    EXPECT_NEAR(s.lead->mean, 3000, 1);
    EXPECT_NEAR(s.lead->sd, std::sqrt(all), 1);
  }
}

// ---- What knowing more is worth ---------------------------------------------------------------------

/// A quantity about this value in one of the forms of the format.
OrderedJson uncertain(Random& random, double value, const char* unit) {
  const double wide = random.real(0.02, 0.15);
  auto text = [&](double x) { return text_of(Decimal(x), unit); };
  switch (random.whole(0, 4)) {
    case 0: return {{"value", text(value)}, {"rsd", text_of(Decimal(wide * 100), "%")}};
    case 1: return {{"median", text(value)}, {"gsd", text_of(Decimal(1 + wide), "")}};
    case 2: return {{"low", text(value * (1 - 2 * wide))}, {"high", text(value * (1 + 2 * wide))}};
    case 3:
      return {{"low", text(value * (1 - 2 * wide))},
              {"mode", text(value)},
              {"high", text(value * (1 + 3 * wide))}};
    default: {
      OrderedJson values = OrderedJson::array();
      for (double step : {-2.0, -0.5, 0.2, 0.8, 1.7}) values.push_back(text(value * (1 + wide * step)));
      return {{"values", values}};
    }
  }
}

/// Three buyers who would pay much the same: by assay in bands, at a fixed price, and for no less than a
/// grade.
OrderedJson competing(Random& random) {
  const double gold = random.real(200, 1500);
  OrderedJson plan =
      tonne({{"Au", uncertain(random, gold, "g/t")}}, OrderedJson::object(), OrderedJson::object());
  plan["prices"]["Au"] = uncertain(random, 80, "USD/g");
  plan["lot"]["moisture"] = uncertain(random, 12, "%");
  auto grade = [&](double low, double high) {
    return text_of(Decimal(gold * random.real(low, high)), "g/t");
  };
  OrderedJson bands = pays("Au"), fixed = pays("Au"), gate = pays("Au");
  bands["pay"]["Au"]["bands"] =
      OrderedJson::array({OrderedJson::array({"1 g/t", random.quantity(80, 88, 2, "%")}),
                          OrderedJson::array({grade(0.9, 1.1), random.quantity(92, 97, 2, "%")})});
  fixed["pay"]["Au"] = {{"share", random.quantity(86, 94, 2, "%")},
                        {"price", random.quantity(76, 84, 2, "USD/g")}};
  gate["pay"]["Au"]["share"] = random.quantity(90, 98, 2, "%");
  gate["accepts"]["Au"]["min"] = grade(0.85, 1);
  plan["terms"] = {{"bands", bands}, {"fixed", fixed}, {"gate", gate}};
  for (const char* name : {"bands", "fixed", "gate"}) plan["routes"][name]["sell"] = name;
  return plan;
}

TEST(Worth, OfASampleIsLessThanOfCertaintyAndThatLessThanAnyRegret) {
  Random random(26);
  int some = 0;
  for (int i = 0; i < 30; ++i) {
    const auto plan = placed_plan(competing(random));
    const auto options = of_draws(16384, i % 2 == 0 ? DrawMethod::sobol : DrawMethod::philox);
    const Simulation s = simulated(*plan, options);
    EXPECT_GE(s.worth_of_certainty, 0);
    for (const RouteChance& route : s.routes) EXPECT_GE(route.regret, s.worth_of_certainty);
    std::vector<Candidate> wanted;
    for (const InputChance& input : s.inputs)
      wanted.push_back({input.quantities.front(), true, 0.05, 4, 0, 0});
    ASSERT_EQ(wanted.size(), 3U);
    const SampleWorth found = find_worth(*plan, wanted, options, Watch{});
    for (const CandidateWorth& of : found.candidates) {
      EXPECT_GE(of.known, 0);
      EXPECT_LE(of.known, s.worth_of_certainty + 4 * of.standard_error);
      double before = 0;
      for (const CountedWorth& counted : of.counts) {
        EXPECT_GE(counted.worth, 0);
        EXPECT_LE(counted.worth, of.known);
        EXPECT_GE(counted.worth, before - 4 * counted.standard_error) << "more measurements show more";
        before = counted.worth;
      }
      some += before > 10;
    }
  }
  EXPECT_GE(some, 30) << "of 90 there are some worth measuring";
}

/// The loss that is to be expected of a standard normal above u.
double loss(double u) {
  return std::exp(-u * u / 2) / std::sqrt(2 * M_PI) - u * std::erfc(u / std::sqrt(2.0)) / 2;
}
/// Two routes, the lead N(m, s²), n more measurements of this error.
double sample_worth(double m, double s, double error, int n) {
  const double seen = s * s / std::sqrt(s * s + error * error / n);
  return seen * loss(std::abs(m) / seen);
}

/// 2.960916, 9.982061 and 28.209479 by the closed form; what the answer calls its error is one.
TEST(Worth, OfNormalMeasurements) {
  EXPECT_NEAR(sample_worth(50, 100, 200, 1), 2.960916, 1e-6);
  EXPECT_NEAR(sample_worth(50, 100, 200, 4), 9.982061, 1e-6);
  EXPECT_NEAR(sample_worth(0, 100, 100, 1), 28.209479, 1e-6);
  int figures = 0, beyond = 0;
  for (const auto& [m, error] : {std::pair{50, 200}, {50, 60}, {0, 100}, {-120, 100}, {10, 20}}) {
    const auto plan = placed_plan(by_assay_or_fixed(normal(std::to_string(1000 + m), "100")));
    const Quantity gold = quantity_at(*plan, "/lot/assays/Au");
    for (std::uint64_t seed : {1, 2, 3}) {
      const SampleWorth found = find_worth(*plan, {{gold, false, error * 1e-6, 8, 0, 0}},
                                           of_draws(65536, DrawMethod::sobol, seed), Watch{});
      for (const CountedWorth& one : found.candidates[0].counts) {
        const double off = std::abs(one.worth - sample_worth(m, 100, error, one.count));
        EXPECT_LE(off, 6 * one.standard_error + 2e-4) << m << ' ' << error << ' ' << one.count;
        beyond += off > 2.5 * one.standard_error + 2e-4;
        ++figures;
      }
    }
  }
  EXPECT_LE(beyond, figures / 5);
}

TEST(Worth, OfMeasurementsThatShowNothingOrEverything) {
  const auto plan = placed_plan(by_assay_or_fixed(normal("1020", "100")));
  const Quantity gold = quantity_at(*plan, "/lot/assays/Au");
  const SampleWorth found = find_worth(
      *plan, {{gold, false, 1, 1, 1, 0}, {gold, false, 1e-12, 1, 1, 0}, {gold, true, 1e-9, 2, 1, 0}},
      of_draws(16384), Watch{});
  EXPECT_NEAR(found.candidates[0].counts[0].worth, 0, 1e-6);  // an error of 100 %, of a spread of 0.01 %
  EXPECT_FALSE(found.candidates[0].best);
  // 16 draws a result on average have to do: that loses a few parts in a thousand where results are rare.
  for (std::size_t k : {1, 2})
    EXPECT_NEAR(found.candidates[k].counts[0].worth, 100 * loss(0.2), 0.1) << "known to the last digit";
  EXPECT_EQ(found.best, 1U);
}

/// An assay of coarse gold spreads over powers of ten, an error that is a share of it as well. Expected:
/// quadrature over logarithms of assay and result (SciPy).
TEST(Worth, OfMeasurementsOfASkewedAssay) {
  struct Row {
    const char* gsd;
    double error, worth;
  };
  for (const Row& row : {Row{"1.5", 0.04, 146.8675}, Row{"1.5", 0.3, 115.6476}, Row{"2", 0.04, 223.2692},
                         Row{"2", 0.3, 195.9880}, Row{"3", 0.04, 277.9027}, Row{"3", 0.3, 256.2614}}) {
    const auto plan = placed_plan(by_assay_or_fixed({{"median", "900 g/t"}, {"gsd", row.gsd}}));
    const CountedWorth found =
        find_worth(*plan, {{quantity_at(*plan, "/lot/assays/Au"), true, row.error, 1, 0, 0}}, of_draws(65536),
                   Watch{})
            .candidates[0]
            .counts[0];
    EXPECT_NEAR(found.worth, row.worth, 5 * found.standard_error + 0.005 * row.worth)
        << row.gsd << ' ' << row.error;
  }
}

/// One buyer: whatever is measured, the way is the same.
TEST(Worth, OfAMeasurementThatChangesNothing) {
  const auto plan = placed_plan(tonne({{"Au", normal("1000", "100")}}, {{"a", pays("Au")}},
                                      {{"sold", {{"sell", "a"}}}, {"kept", {{"keep", true}}}}));
  const SampleWorth found = find_worth(*plan, {{quantity_at(*plan, "/lot/assays/Au"), true, 0.05, 3, 5, 0}},
                                       of_draws(4096), Watch{});
  for (const CountedWorth& one : found.candidates[0].counts) EXPECT_EQ(one.worth, 0);
  EXPECT_FALSE(found.best);
}

/// Two inputs that are one thing: measuring the second shows the first.
TEST(Worth, OfTheSecondOfTwoThatAreTheSame) {
  OrderedJson document = by_assay_or_fixed(normal("1050", "100"));
  document["lot"]["assays"]["Ag"] = normal("2000", "300");
  document["prices"]["Ag"] = "1 USD/g";
  const auto plan = placed_plan(document);
  const Quantity gold = quantity_at(*plan, "/lot/assays/Au"), silver = quantity_at(*plan, "/lot/assays/Ag");
  auto options = of_draws(65536);
  EXPECT_EQ(
      find_worth(*plan, {{silver, false, 600e-6, 1, 0, 0}}, options, Watch{}).candidates[0].counts[0].worth,
      0);
  options.together.same = {{gold, silver}};
  const CountedWorth same =
      find_worth(*plan, {{silver, false, 600e-6, 1, 0, 0}}, options, Watch{}).candidates[0].counts[0];
  EXPECT_NEAR(same.worth, sample_worth(50, 100, 200, 1), 5 * same.standard_error);
  options.together.same.clear();
  options.together.correlated = {{gold, silver, 0.5}};
  // Of silver's 300 an error of 600 shows as much of gold's half: 50 seen of 100, dimmed by √(1 + 4).
  const CountedWorth half =
      find_worth(*plan, {{silver, false, 600e-6, 1, 0, 0}}, options, Watch{}).candidates[0].counts[0];
  const double seen = 100 * 0.5 / std::sqrt(5.0);
  EXPECT_NEAR(half.worth, seen * loss(50 / seen), 5 * half.standard_error + 1e-3);
}

TEST(Worth, LeavesBrokenDrawsOut) {
  const auto plan = placed_plan(breaking());
  const Quantity recovery = quantity_at(*plan, "/steps/table/curve/Au/0/1"),
                 silver = quantity_at(*plan, "/lot/assays/Ag");
  const SampleWorth found = find_worth(
      *plan, {{recovery, false, 1e-6, 1, 0, 0}, {silver, false, 1e-9, 1, 0, 0}}, of_draws(65536), Watch{});
  EXPECT_EQ(found.simulation.routes[found.simulation.by_mean].route->name, "tabled");
  // Tabled is worth an even 50 to 80, the other an even 0 to 100, 50 on average: where silver is x, above 65,
  // x - 65.
  EXPECT_NEAR(found.candidates[0].counts[0].worth, 0, 0.05);
  EXPECT_NEAR(found.candidates[1].counts[0].worth, 35. * 35 / 200, 0.02);
}

/// A limit within one of 64 classes: the gate takes the lot from 999 g/t on, for 2000 USD whatever it holds,
/// and is chosen by mean; who knows x sells the others for 1000. Below 999 are 0.01 of the draws: worth 10
/// USD.
TEST(Worth, OfKnowingWhichSideOfALimit) {
  OrderedJson document = by_assay_or_fixed(even("998.99", "999.99"));
  document["terms"]["by assay"]["accepts"]["Au"]["min"] = "999 g/t";
  document["terms"]["by assay"]["pay"]["Au"]["price"] = "2 USD/g";
  const auto plan = placed_plan(document);
  const SampleWorth found = find_worth(*plan, {{quantity_at(*plan, "/lot/assays/Au"), false, 1e-12, 1, 1, 0}},
                                       of_draws(65536), Watch{});
  EXPECT_LE(found.simulation.inputs[0].worth, 5) << "64 classes tell less";
  EXPECT_NEAR(found.candidates[0].known, 10, 0.5);
  EXPECT_NEAR(found.candidates[0].counts[0].worth, 10, 0.5);
}

TEST(Worth, IsTheSameOnAnyNumberOfThreads) {
  const auto plan = placed_plan(by_assay_or_fixed(normal("1050", "100")));
  const std::vector<Candidate> wanted{{quantity_at(*plan, "/lot/assays/Au"), true, 0.1, 4, 2, 1}};
  std::vector<double> alone;
  for (int threads : {1, 2, 7}) {
    auto options = of_draws(65536);
    options.threads = threads;
    std::vector<double> figures;
    const SampleWorth found = find_worth(*plan, wanted, options, Watch{});
    for (const CountedWorth& one : found.candidates[0].counts)
      figures.insert(figures.end(), {one.worth, one.standard_error, one.cost});
    if (threads == 1) alone = figures;
    EXPECT_TRUE(same_bits(alone, figures));
  }
}

// ---- Watched ------------------------------------------------------------------------------------------

class Watching : public Watch {
 public:
  bool cancelled() const override { return stop; }
  void progress(std::int64_t done, std::int64_t total) const override {
    steps.push_back(done);
    all = total;
    if (static_cast<int>(steps.size()) == stops_after) stop = true;
  }
  int stops_after = -1;
  mutable std::vector<std::int64_t> steps;
  mutable std::int64_t all = 0;
  mutable std::atomic<bool> stop{false};
};

TEST(Watched, ProgressIsToldBlockByBlockToItsEnd) {
  const auto plan = placed_plan(by_assay_or_fixed(normal("1050", "100")));
  for (Preference prefer : {Preference::mean, Preference::worst_mean}) {
    auto options = of_draws(1 << 17);
    options.prefer = prefer;
    const Watching alone;
    simulate(*plan, options, alone);
    ASSERT_EQ(static_cast<std::int64_t>(alone.steps.size()), alone.all);
    EXPECT_GE(alone.all, (1 << 17) / 4096);
    for (std::size_t i = 0; i < alone.steps.size(); ++i)
      EXPECT_EQ(alone.steps[i], static_cast<std::int64_t>(i) + 1);
    options.threads = 3;
    for (int times = 0; times < 20; ++times) {
      const Watching together;
      simulate(*plan, options, together);
      EXPECT_TRUE(std::is_sorted(together.steps.begin(), together.steps.end()));
      EXPECT_EQ(together.steps.back(), together.all);
    }
  }
}

TEST(Watched, StopsInTheMiddle) {
  const auto plan = placed_plan(by_assay_or_fixed(normal("1050", "100")));
  // Of several threads one tells, of as many blocks as it gets.
  for (const auto& [threads, after] : {std::pair{1, 1}, {1, 20}, {1, 40}, {3, 1}}) {
    auto options = of_draws(1 << 18);
    options.threads = threads;
    Watching watch;
    watch.stops_after = after;
    EXPECT_THROW(simulate(*plan, options, watch), Error);
    EXPECT_EQ(static_cast<int>(watch.steps.size()), after) << "not told to stop twice";
  }
}

TEST(Watched, StopsWhenAnotherThreadSaysSo) {
  const auto plan = placed_plan(by_assay_or_fixed(normal("1050", "100")));
  const std::vector<Candidate> wanted{{quantity_at(*plan, "/lot/assays/Au"), true, 0.001, 64, 2, 1}};
  const std::function<void(const Watch&)> calls[] = {
      [&](const Watch& watch) { simulate(*plan, of_draws(1 << 26), watch); },
      [&](const Watch& watch) { find_worth(*plan, wanted, of_draws(1 << 20), watch); }};
  for (const auto& call : calls) {
    Watching watch;
    std::thread other([&] {
      std::this_thread::sleep_for(std::chrono::milliseconds(200));
      watch.stop = true;
    });
    Code code = Code::internal;
    try {
      call(watch);
    } catch (const Error& stopped) {
      code = stopped.complaint().code;
    }
    other.join();
    EXPECT_EQ(code, Code::cancelled);
  }
}

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
/// The largest this process has been, in bytes.
std::size_t most_memory() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<std::size_t>(usage.ru_maxrss) * 1024;
}

/// Four times as many draws take no more room; kept, a double for each draw, route and input.
TEST(Watched, MemoryIsBounded) {
  const auto plan = placed_plan(by_assay_or_fixed(normal("1050", "100")));
  simulated(*plan, of_draws(1 << 21));  // the largest that is held between looks, nearly
  const std::size_t before = most_memory();
  simulated(*plan, of_draws(1 << 23));
  EXPECT_LE(most_memory() - before, std::size_t{64} << 20);
}
#endif

}  // namespace
}  // namespace buttonworth::test
