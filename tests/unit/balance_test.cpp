// Splits by the small formulas, and circuits balanced by weighted least squares, against published figures,
// sums by hand, and what the least of a sum of squares must be on random circuits.

#include "bench/balance.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "bench/circuit.hpp"
#include "random.hpp"

namespace buttonworth {
namespace {

using Grades = std::vector<std::optional<Figure>>;
using test::Random;

constexpr double ppm = 1e-6;

std::optional<Figure> exact(double value) { return Figure{value, 0}; }
std::optional<Figure> measured(double value, double rsd) { return Figure{value, value * rsd}; }
constexpr std::nullopt_t missing = std::nullopt;

/// Fails unless the work throws an Error of this code that says each of these.
void expect_error(const std::function<void()>& work, const std::vector<std::string>& says,
                  Code code = Code::balance) {
  try {
    work();
    FAIL() << "no error that says " << says.front();
  } catch (const Error& error) {
    EXPECT_EQ(error.complaint().code, code);
    for (const std::string& word : says)
      EXPECT_NE(error.complaint().text.find(word), std::string::npos)
          << word << " in " << error.complaint().text;
  }
}

// ---- Two products ----------------------------------------------------------------------------

TEST(TwoProducts, of_one_ten_and_a_fifth) {
  // Computed: (1 - 0.2) / (10 - 0.2), and ten times that.
  const ProductShares split = two_products(1.0 * ppm, 10.0 * ppm, 0.2 * ppm);
  EXPECT_NEAR(100 * split.yield, 8.16327, 5e-6);
  EXPECT_NEAR(100 * split.recovery, 81.6327, 5e-5);
}

TEST(TwoProducts, wills_copper) {
  // Wills' Mineral Processing Technology: 0.8, 25 and 0.15 % Cu; printed 81.7 % and 38.2, as quoted from
  // memory.
  const ProductShares split = two_products(0.008, 0.25, 0.0015);
  EXPECT_NEAR(100 * split.recovery, 81.7, 0.05);
  EXPECT_NEAR(1 / split.yield, 38.2, 0.05);
  EXPECT_NEAR(100 * split.recovery, 81.740, 5e-4);  // computed
  EXPECT_NEAR(1 / split.yield, 38.2308, 5e-5);      // computed
}

TEST(TwoProducts, an_analyte_may_go_to_the_tailings) {
  // 50 of 100 at 0.2, 50 at 0.6: of 0.4 the first takes a quarter.
  const ProductShares split = two_products(0.4, 0.2, 0.6);
  EXPECT_NEAR(split.yield, 0.5, 1e-15);
  EXPECT_NEAR(split.recovery, 0.25, 1e-15);
}

TEST(TwoProducts, feed_as_rich_as_a_product_is_all_of_it) {
  EXPECT_EQ(two_products(0.2, 0.9, 0.2).yield, 0);
  EXPECT_EQ(two_products(0.9, 0.9, 0.2).yield, 1);
  EXPECT_EQ(two_products(0.9, 0.9, 0.2).recovery, 1);
}

TEST(TwoProducts, what_cannot_be) {
  expect_error([] { two_products(1e-6, 10e-6, 1.2e-6); }, {"tailings are richer than the feed", "weigh"});
  expect_error([] { two_products(11e-6, 10e-6, 1.2e-6); }, {"richer than both"});
  expect_error([] { two_products(1e-6, 2e-6, 10e-6); }, {"poorer than both"});
  expect_error([] { two_products(11e-6, 2e-6, 10e-6); }, {"richer than both"});
  expect_error([] { two_products(1e-6, 1e-6, 1e-6); }, {"assay alike", "weigh one"});
  expect_error([] { two_products(0, 1e-6, 0); }, {"without the metal"});
  expect_error([] { two_products(0.5, -0.1, 0); }, {"concentrate", "0 or more"});
}

TEST(TwoProducts, equal_relative_errors_of_assays) {
  // u(R) / R = e (1 - R) / |R - Y| sqrt(1 + Y2 + (1 - Y)2); at 2, 40 and 0.3 R is 0.856423 and the factor
  // 0.24440: computed two ways, no printed answer.
  const double e = 1e-3;
  const Figure recovery =
      propagated_one({{2 * ppm, 2 * ppm * e}, {40 * ppm, 40 * ppm * e}, {0.3 * ppm, 0.3 * ppm * e}},
                     [](const std::vector<double>& x) { return two_products(x[0], x[1], x[2]).recovery; });
  EXPECT_NEAR(recovery.value, 0.856423, 5e-7);
  EXPECT_NEAR(recovery.sd / recovery.value / e, 0.24440, 5e-6);
}

// ---- Three products, efficiencies ------------------------------------------------------------

TEST(ThreeProducts, lead_and_zinc) {
  // Made up of 8 of (20, 3), 5 of (1.5, 50) and 87 of (0.1, 0.4): a feed of (1.762, 3.088).
  const auto yields = three_products({0.01762, 0.03088}, {0.20, 0.03}, {0.015, 0.50}, {0.001, 0.004});
  EXPECT_NEAR(100 * yields[0], 8, 1e-12);
  EXPECT_NEAR(100 * yields[1], 5, 1e-12);
}

TEST(ThreeProducts, what_cannot_be) {
  expect_error(
      [] {
        three_products({0.02, 0.02}, {0.2, 0.2}, {0.1, 0.1}, {0.001, 0.001});
      },
      {"do not tell the three products apart"});
  expect_error(
      [] {
        three_products({0.0005, 0.03088}, {0.20, 0.03}, {0.015, 0.50}, {0.001, 0.004});
      },
      {"outside its products"});
}

TEST(SeparationEfficiency, schulz_tin) {
  // Schulz in Wills, ch. 1, from memory: 1 % Sn in feed, the mineral 78.6 % Sn. A concentrate of 63 % at 62 %
  // recovery gives 61.8, one of 42 % at 72 % 71.2.
  const auto of = [](double grade, double recovery) {
    return 100 * separation_efficiency(recovery, recovery * 0.01 / grade, 0.01, 0.786);
  };
  EXPECT_NEAR(of(0.63, 0.62), 61.8, 0.05);
  EXPECT_NEAR(of(0.42, 0.72), 71.2, 0.05);
}

TEST(SeparationEfficiency, of_a_division_nothing_of_the_pure_mineral_all) {
  EXPECT_NEAR(separation_efficiency(0.3, 0.3, 0.01, 0.786), 0, 1e-15);
  EXPECT_NEAR(separation_efficiency(1, 0.01 / 0.786, 0.01, 0.786), 1, 1e-15);
  expect_error([] { separation_efficiency(1, 0.001, 0.01, 0.786); }, {"more of the mineral than mass"});
  expect_error([] { separation_efficiency(0.5, 0.1, 0.01, 0.01); }, {"above the feed's"});
}

TEST(ConcentrationCriterion, gold_and_magnetite_in_water) {
  EXPECT_NEAR(concentration_criterion(19.3, 2.65, 1), 18.3 / 1.65, 1e-14);
  EXPECT_NEAR(concentration_criterion(19.3, 5.18, 1), 18.3 / 4.18, 1e-14);
  EXPECT_LT(concentration_criterion(7, 0.9, 1), 0);  // what floats parts of itself
  expect_error([] { concentration_criterion(5, 1, 1); }, {"as dense as the fluid"});
  expect_error([] { concentration_criterion(0.9, 0.5, 1); }, {"denser than the fluid"});
}

// ---- Circuits: published ---------------------------------------------------------------------

const WorkStage table{"table", {0}, {1, 2}};

/// A feed, a concentrate and tailings at one table.
Circuit one_table(const MeasuredStream& feed, const MeasuredStream& concentrate,
                  const MeasuredStream& tailings) {
  Circuit circuit;
  for (std::size_t a = 0; a < feed.grades.size(); ++a) circuit.analytes.push_back(a == 0 ? "Au" : "Ag");
  circuit.streams = {feed, concentrate, tailings};
  circuit.streams[0].name = "feed";
  circuit.streams[1].name = "concentrate";
  circuit.streams[2].name = "tailings";
  circuit.nodes = {table};
  return circuit;
}
MeasuredStream stream(std::optional<Figure> mass, const Grades& grades) { return {"", mass, grades}; }

TEST(Balanced, narasimhan_and_jordache) {
  // Narasimhan and Jordache, Data Reconciliation and Gross Error Detection (2000), ch. 1, from memory: a feed
  // split over a heat exchanger and a bypass, all six flows measured with sd 1.
  Circuit circuit;
  for (double flow : {101.91, 64.45, 34.65, 64.20, 36.44, 98.88})
    circuit.streams.push_back({"flow " + std::to_string(circuit.streams.size() + 1), Figure{flow, 1}, {}});
  circuit.nodes = {
      {"splitter", {0}, {1, 2}}, {"exchanger", {1}, {3}}, {"valve", {2}, {4}}, {"mixer", {3, 4}, {5}}};
  const Balance found = balanced(circuit);
  const double printed[] = {100.22, 64.50, 35.72, 64.50, 35.72, 100.22};
  for (std::size_t i = 0; i < 6; ++i) EXPECT_NEAR(found.streams[i].mass.value, printed[i], 0.005) << i;
  EXPECT_NEAR(found.chi_squared, 6.4075, 5e-5);
  EXPECT_EQ(found.degrees, 4U);
  // By hand: the mean of flows 1 and 6 held against those of 2 and 4, 3 and 5; by symmetry each
  // pair's variance is 1 / 3.
  for (const BalancedStream& one : found.streams) EXPECT_NEAR(one.mass.sd, std::sqrt(1.0 / 3), 1e-12);
  EXPECT_NEAR(*found.changes[0].z, (101.91 - 100.22) / std::sqrt(2.0 / 3), 1e-9);
  EXPECT_FALSE(found.at_fault);
}

/// Masses 1000 ± 10, 21 ± 0.105 and 985 ± 19.7 kg, grades 48 ± 3.84, 1900 ± 57 and 9.2 ± 0.552 g/t: made up.
Circuit gold_table() {
  return one_table(stream(Figure{1000, 10}, {Figure{48 * ppm, 3.84 * ppm}}),
                   stream(Figure{21, 0.105}, {Figure{1900 * ppm, 57 * ppm}}),
                   stream(Figure{985, 19.7}, {Figure{9.2 * ppm, 0.552 * ppm}}));
}

TEST(Balanced, mass_and_grade) {
  // Computed apart from this library, two ways; no printed answer.
  const Balance found = balanced(gold_table());
  const double masses[] = {1001.3911, 20.9988, 980.3923}, grades[] = {48.7606, 1896.4857, 9.1846};
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(found.streams[i].mass.value, masses[i], 5e-5);
    EXPECT_NEAR(found.streams[i].analytes[0].grade->value / ppm, grades[i], 5e-5);
  }
  EXPECT_NEAR(found.chi_squared, 0.118001, 5e-7);
  EXPECT_EQ(found.degrees, 2U);
  EXPECT_NEAR(*found.p, std::exp(-found.chi_squared / 2), 1e-12);  // of two degrees
  EXPECT_NEAR(found.streams[1].analytes[0].recovery->value, 0.8155886, 5e-8);
  EXPECT_NEAR(found.streams[1].analytes[0].recovery->sd, 0.010224, 5e-7);
}

TEST(Balanced, as_two_products) {
  // The two-product formula and its error, met by the balance of a feed of 100 kg and grades alone.
  const double e = 1e-3;
  const Balance found =
      balanced(one_table(stream(exact(100), {measured(2 * ppm, e)}), stream(missing, {measured(40 * ppm, e)}),
                         stream(missing, {measured(0.3 * ppm, e)})));
  const Figure recovery = *found.streams[1].analytes[0].recovery;
  EXPECT_NEAR(recovery.value, 0.856423, 5e-7);
  EXPECT_NEAR(recovery.sd / recovery.value / e, 0.24440, 5e-6);
  EXPECT_EQ(found.degrees, 0U);
  EXPECT_EQ(found.chi_squared, 0);
  EXPECT_FALSE(found.p);
  EXPECT_FALSE(found.at_fault);
  for (const Adjustment& one : found.changes) {
    EXPECT_FALSE(one.z);
    EXPECT_NEAR(one.balanced, one.measured, 1e-12 * one.measured);
  }
}

TEST(Balanced, as_three_products) {
  Circuit circuit;
  circuit.analytes = {"Pb", "Zn"};
  circuit.streams = {{"feed", exact(100), {exact(0.01762), exact(0.03088)}},
                     {"lead", missing, {exact(0.20), exact(0.03)}},
                     {"zinc", missing, {exact(0.015), exact(0.50)}},
                     {"tailings", missing, {exact(0.001), exact(0.004)}}};
  circuit.nodes = {{"flotation", {0}, {1, 2, 3}}};
  const Balance found = balanced(circuit);
  EXPECT_NEAR(found.streams[1].mass.value, 8, 1e-11);
  EXPECT_NEAR(found.streams[2].mass.value, 5, 1e-11);
  EXPECT_NEAR(found.streams[3].mass.value, 87, 1e-11);
  EXPECT_EQ(found.streams[1].mass.sd, 0);
}

TEST(Balanced, efficiency_as_the_formula_has_it) {
  Circuit circuit = gold_table();
  circuit.minerals = {Figure{0.88, 0.02}};
  const Balance found = balanced(circuit);
  const BalancedStream& feed = found.streams[0];
  const BalancedStream& product = found.streams[1];
  const double efficiency = separation_efficiency(product.analytes[0].recovery->value, product.share->value,
                                                  feed.analytes[0].grade->value, 0.88);
  EXPECT_NEAR(product.analytes[0].separation_efficiency->value, efficiency, 1e-13);
  // Tailings lose what the concentrate gains.
  EXPECT_NEAR(found.streams[2].analytes[0].separation_efficiency->value, -efficiency, 1e-13);
  EXPECT_FALSE(feed.analytes[0].separation_efficiency);
  circuit.minerals = {Figure{10 * ppm, 0}};
  expect_error([&] { balanced(circuit); }, {"mineral of Au", "no richer"});
}

// ---- Circuits: by hand -----------------------------------------------------------------------

TEST(Balanced, what_is_missing_is_found) {
  // 1000 - 21 kg; (1000 x 48 - 21 x 1900) / 979; the recovery's relative sd is that of 21 x 1900 / (1000 x
  // 48), as nothing is left over to balance.
  const Balance found = balanced(one_table(stream(measured(1000, 0.01), {measured(48 * ppm, 0.08)}),
                                           stream(measured(21, 0.005), {measured(1900 * ppm, 0.03)}),
                                           stream(missing, {missing})));
  const BalancedStream& tailings = found.streams[2];
  EXPECT_NEAR(tailings.mass.value, 979, 1e-9);
  EXPECT_NEAR(tailings.mass.sd, std::hypot(10, 0.105), 1e-9);
  EXPECT_NEAR(tailings.analytes[0].grade->value, (48'000 - 39'900) / 979.0 * ppm, 1e-15);
  const double recovery = 39'900 / 48'000.0;
  EXPECT_NEAR(found.streams[1].analytes[0].recovery->value, recovery, 1e-12);
  EXPECT_NEAR(found.streams[1].analytes[0].recovery->sd,
              recovery * std::sqrt(0.01 * 0.01 + 0.08 * 0.08 + 0.005 * 0.005 + 0.03 * 0.03), 1e-10);
  EXPECT_EQ(found.degrees, 0U);
}

TEST(Balanced, two_nodes_of_which_one_is_not_weighed) {
  // Rougher 100 -> 20 + 80; cleaner 20 -> 5 + 15; grades 10, 46, 1 and 160, 8: all agree, the masses between
  // are found from the grades.
  Circuit circuit;
  circuit.analytes = {"Au"};
  circuit.streams = {{"feed", exact(100), {measured(10 * ppm, 0.05)}},
                     {"rougher", missing, {measured(46 * ppm, 0.05)}},
                     {"tailings", missing, {measured(1 * ppm, 0.05)}},
                     {"cleaner", missing, {measured(160 * ppm, 0.05)}},
                     {"return", missing, {measured(8 * ppm, 0.05)}}};
  circuit.nodes = {{"rougher", {0}, {1, 2}}, {"cleaner", {1}, {3, 4}}};
  const Balance found = balanced(circuit);
  const double masses[] = {100, 20, 80, 5, 15};
  for (std::size_t i = 0; i < 5; ++i) EXPECT_NEAR(found.streams[i].mass.value, masses[i], 1e-9) << i;
  EXPECT_NEAR(found.streams[3].analytes[0].recovery->value, 0.8, 1e-12);
  EXPECT_EQ(found.degrees, 0U);
}

TEST(Balanced, a_grade_is_not_moved_below_nothing) {
  // 21 kg at 1900 g/t is 39.9 g, more than the 30 g fed: the tailings' missing grade stops at 0, and what is
  // left is feed metal = concentrate metal, one equation of four figures.
  const Balance found = balanced(one_table(stream(measured(1000, 0.01), {measured(30 * ppm, 0.1)}),
                                           stream(measured(21, 0.005), {measured(1900 * ppm, 0.03)}),
                                           stream(missing, {missing})));
  EXPECT_EQ(found.streams[2].analytes[0].grade->value, 0);
  EXPECT_EQ(found.streams[2].analytes[0].grade->sd, 0);
  EXPECT_EQ(found.degrees, 1U);
  EXPECT_GT(found.chi_squared, 5);
  // One equation: all z are alike, and the same but for their sign as the root of J, to first order.
  for (const Adjustment& one : found.changes)
    EXPECT_NEAR(std::abs(*one.z), std::abs(*found.changes[0].z), 1e-6);
  ASSERT_TRUE(found.at_fault);
  bool told = false, alike = false;
  for (const Caution& one : found.cautions) {
    told |= one.at == "tailings" && one.what.find("held at 0") != std::string::npos;
    alike |= one.what.find("may as well be") != std::string::npos;
  }
  EXPECT_TRUE(told);
  EXPECT_TRUE(alike);
}

TEST(Balanced, a_grade_is_not_moved_above_all) {
  // 10 kg of 100 at 50 %: a concentrate of 4 kg would have to hold 12.5 kg for a tail of 38 %.
  const Balance found =
      balanced(one_table(stream(exact(100), {measured(0.5, 0.01)}), stream(exact(4), {missing}),
                         stream(missing, {measured(0.38, 0.01)})));
  EXPECT_EQ(found.streams[1].analytes[0].grade->value, 1);
  EXPECT_EQ(found.degrees, 1U);
  // The feed's 50 and the tail's (50 - 4) with weights: x and (x - 4) / 96 nearest to 50 ± 0.5 and 38 ± 0.38
  // %.
  const double s = 0.5, t = 0.38,
               x = (50 / (s * s) + (38 + 4 / 0.96) / 0.96 / (t * t)) /
                   (1 / (s * s) + 1 / (0.96 * 0.96 * t * t));
  EXPECT_NEAR(100 * found.streams[0].analytes[0].grade->value, x, 1e-9);
}

TEST(Balanced, a_stream_without_mass) {
  // 100 and 105, both ± 1, of which nothing can be left: both 102.5, J = 2 x 2.5 squared.
  const Balance found =
      balanced(one_table(stream(Figure{100, 1}, {}), stream(Figure{105, 1}, {}), stream(missing, {})));
  EXPECT_NEAR(found.streams[0].mass.value, 102.5, 1e-10);
  EXPECT_EQ(found.streams[2].mass.value, 0);
  EXPECT_NEAR(found.chi_squared, 12.5, 1e-10);
  EXPECT_EQ(found.degrees, 1U);
  EXPECT_EQ(found.cautions.back().at, "tailings");
  EXPECT_NE(found.cautions.back().what.find("0 kg"), std::string::npos);
}

TEST(Balanced, exact_figures_may_leave_nothing) {
  const Balance found = balanced(one_table(stream(exact(100), {exact(0.1)}), stream(exact(100), {exact(0.1)}),
                                           stream(missing, {missing})));
  EXPECT_EQ(found.streams[2].mass.value, 0);
  EXPECT_FALSE(found.streams[2].analytes[0].grade);
}

TEST(Balanced, a_gross_error_is_found) {
  // Six flows as above, the fourth read 10 too high: its z alone is beyond the one of six that 5 % pass
  // (2.63).
  Circuit circuit;
  for (double flow : {100.22, 64.50, 35.72, 74.50, 35.72, 100.22})
    circuit.streams.push_back({"flow " + std::to_string(circuit.streams.size() + 1), Figure{flow, 1}, {}});
  circuit.nodes = {
      {"splitter", {0}, {1, 2}}, {"exchanger", {1}, {3}}, {"valve", {2}, {4}}, {"mixer", {3, 4}, {5}}};
  const Balance found = balanced(circuit);
  ASSERT_TRUE(found.at_fault);
  EXPECT_EQ(*found.at_fault, 3U);
  // One figure off by 10, of variance 1, of which 2 / 3 is taken out.
  EXPECT_NEAR(*found.changes[3].z, 10 * std::sqrt(2.0 / 3), 1e-9);
  EXPECT_LT(*found.p, 1e-9);
}

TEST(Balanced, at_fault_is_beyond_one_in_twenty_of_all) {
  // One balance, three flows: z = 3 d / sqrt(3) / ... of one equation is d / sqrt(3) for all; the largest of
  // three passes 2.388 in 5 % of cases, 1 - 0.95^(1/3) being 0.01695.
  const auto found = [](double off) {
    return balanced(
        one_table(stream(Figure{100 + off, 1}, {}), stream(Figure{40, 1}, {}), stream(Figure{60, 1}, {})));
  };
  EXPECT_FALSE(found(2.37 * std::sqrt(3.0)).at_fault);
  EXPECT_TRUE(found(2.40 * std::sqrt(3.0)).at_fault);
  EXPECT_NEAR(*found(3).changes[0].z, std::sqrt(3.0), 1e-12);
}

TEST(Balanced, kilograms_beside_tonnes) {
  // 100 t of feed, 150 g of gold dust: balances hold beside each.
  const Balance found = balanced(one_table(stream(measured(100'000, 0.01), {measured(1.2 * ppm, 0.1)}),
                                           stream(measured(0.15, 0.001), {measured(0.7, 0.01)}),
                                           stream(missing, {measured(0.11 * ppm, 0.2)})));
  const auto content = [&](std::size_t s) {
    return found.streams[s].mass.value * found.streams[s].analytes[0].grade->value;
  };
  EXPECT_NEAR(content(0) - content(1) - content(2), 0, 1e-12 * content(0));
  EXPECT_NEAR(found.streams[0].mass.value - found.streams[1].mass.value - found.streams[2].mass.value, 0,
              1e-9);
  EXPECT_EQ(found.degrees, 1U);
}

// ---- What cannot be --------------------------------------------------------------------------

TEST(Balanced, names_what_cannot_be_found) {
  expect_error(
      [] {
        balanced(one_table(stream(exact(100), {exact(1 * ppm)}), stream(missing, {exact(30 * ppm)}),
                           stream(missing, {missing})));
      },
      {"the mass of concentrate", "the mass of tailings", "the grade of Au in tailings", "more unknowns (3)",
       "equations (2)"});
  // As many equations as unknowns, and still nothing leads to the silver.
  expect_error(
      [] {
        balanced(one_table(stream(exact(100), {exact(1 * ppm), exact(5 * ppm)}),
                           stream(exact(2), {exact(30 * ppm), missing}),
                           stream(exact(98), {exact(0.4 / 0.98 * ppm), missing})));
      },
      {"the grade of Ag in concentrate and the grade of Ag in tailings cannot be found", "no balance leads"});
}

TEST(Balanced, a_singular_split) {
  for (double rsd : {0.0, 0.05})
    expect_error(
        [&] {
          balanced(one_table(stream(exact(100), {measured(1 * ppm, rsd)}),
                             stream(missing, {measured(1 * ppm, rsd)}),
                             stream(missing, {measured(1 * ppm, rsd)})));
        },
        {"do not tell the products apart", "the mass of concentrate"});
  Circuit circuit;
  circuit.analytes = {"Pb", "Zn"};
  circuit.streams = {{"feed", exact(100), {exact(0.02), exact(0.02)}},
                     {"lead", missing, {exact(0.2), exact(0.2)}},
                     {"zinc", missing, {exact(0.1), exact(0.1)}},
                     {"tailings", missing, {exact(0.001), exact(0.001)}}};
  circuit.nodes = {{"flotation", {0}, {1, 2, 3}}};
  expect_error([&] { balanced(circuit); }, {"do not tell the products apart", "the mass of zinc"});
}

TEST(Balanced, nearly_singular_is_a_caution) {
  const Balance found = balanced(one_table(stream(exact(100), {measured(1 * ppm, 0.05)}),
                                           stream(missing, {measured(1.01 * ppm, 0.05)}),
                                           stream(missing, {measured(0.98 * ppm, 0.05)})));
  EXPECT_NEAR(found.streams[1].mass.value, 100 * 2 / 3.0, 1e-6);
  EXPECT_GT(found.streams[1].mass.sd, 100);
  ASSERT_FALSE(found.cautions.empty());
  EXPECT_NE(found.cautions.front().what.find("hardly"), std::string::npos);
}

TEST(Balanced, tailings_richer_than_feed) {
  for (double rsd : {0.0, 0.05}) try {
      balanced(one_table(stream(exact(100), {measured(1 * ppm, rsd)}),
                         stream(missing, {measured(10 * ppm, rsd)}),
                         stream(missing, {measured(1.2 * ppm, rsd)})));
      FAIL();
    } catch (const CircuitError& error) {
      EXPECT_EQ(error.about, CircuitError::About::node);
      EXPECT_EQ(error.number, 0U);
      EXPECT_NE(error.complaint().text.find("tailings richer than feed"), std::string::npos);
    }
  // Weighed products are balanced, whatever the assays say; and say that they do not agree.
  const Balance found = balanced(one_table(stream(measured(100, 0.01), {measured(1 * ppm, 0.05)}),
                                           stream(measured(10, 0.01), {measured(10 * ppm, 0.05)}),
                                           stream(measured(90, 0.01), {measured(1.2 * ppm, 0.05)})));
  EXPECT_LT(*found.p, 1e-6);
}

TEST(Balanced, exact_figures_that_contradict) {
  expect_error(
      [] { balanced(one_table(stream(exact(100), {}), stream(exact(5), {}), stream(exact(96), {}))); },
      {"the mass of feed, the mass of concentrate and the mass of tailings", "contradict", "at table"});
  expect_error(
      [] { balanced(one_table(stream(exact(100), {}), stream(exact(105), {}), stream(missing, {}))); },
      {"contradict", "the mass of tailings would be below 0"});
  expect_error(
      [] {
        balanced(one_table(stream(exact(100), {exact(0.01)}), stream(exact(5), {exact(0.3)}),
                           stream(missing, {missing})));
      },
      {"the grade of Au in tailings would be below 0"});
  expect_error(
      [] {
        balanced(one_table(stream(exact(100), {exact(0.5)}), stream(exact(4), {missing}),
                           stream(missing, {exact(0.1)})));
      },
      {"the grade of Au in concentrate would be above 100 %"});
}

TEST(Balanced, too_many_figures) {
  Circuit circuit;
  for (int i = 0; i < 602; ++i) circuit.streams.push_back({"s" + std::to_string(i), exact(1), {}});
  for (std::size_t i = 0; i + 1 < 602; ++i) circuit.nodes.push_back({"n", {i}, {i + 1}});
  expect_error([&] { balanced(circuit); }, {"602", "one section at a time"}, Code::limit);
}

TEST(Balanced, stops_when_asked) {
  struct Stopped : Watch {
    bool cancelled() const override { return true; }
  };
  expect_error([] { balanced(gold_table(), Stopped()); }, {"cancelled"}, Code::cancelled);
}

// ---- Random circuits -------------------------------------------------------------------------

/// Nodes in a row, each fed by what is open, some with a stream that goes back to a node before.
struct Plant {
  std::vector<WorkStage> nodes;
  std::size_t streams = 0;
};

Plant random_plant(Random& random) {
  Plant plant;
  std::vector<std::size_t> open{plant.streams++};
  const int count = random.whole(1, 5);
  for (int n = 0; n < count; ++n) {
    WorkStage node{"node " + std::to_string(n + 1), {}, {}};
    random.shuffle(open);
    const std::size_t taken = open.size() > 1 && random.chance(0.3) ? 2 : 1;
    node.in.assign(open.end() - static_cast<std::ptrdiff_t>(taken), open.end());
    open.resize(open.size() - taken);
    const int outs = random.whole(2, 3);
    for (int k = 0; k < outs; ++k) node.out.push_back(plant.streams++);
    for (std::size_t k = 0; k < node.out.size(); ++k) {
      const bool back = n > 0 && k == 0 && random.chance(0.25);
      if (back) plant.nodes[static_cast<std::size_t>(random.whole(0, n - 1))].in.push_back(node.out[k]);
      else open.push_back(node.out[k]);
    }
    plant.nodes.push_back(std::move(node));
  }
  return plant;
}

/// Flows that keep the balances of a plant: every node shares out what it gets, until what goes back has come
/// round.
std::vector<double> random_flows(const Plant& plant, Random& random, double fed) {
  std::vector<std::vector<double>> shares;
  for (const WorkStage& node : plant.nodes) {
    std::vector<double>& part = shares.emplace_back();
    double sum = 0;
    for (std::size_t k = 0; k < node.out.size(); ++k) sum += part.emplace_back(std::exp(random.real(-3, 0)));
    for (double& one : part) one /= sum;
  }
  std::vector<double> flows(plant.streams, 0);
  flows[0] = fed;
  for (int turn = 0; turn < 4000; ++turn)
    for (std::size_t n = 0; n < plant.nodes.size(); ++n) {
      double in = 0;
      for (std::size_t s : plant.nodes[n].in) in += flows[s];
      for (std::size_t k = 0; k < plant.nodes[n].out.size(); ++k)
        flows[plant.nodes[n].out[k]] = in * shares[n][k];
    }
  return flows;
}

/// Masses and contents of all streams, contents an analyte each.
struct State {
  std::vector<double> masses;
  std::vector<std::vector<double>> contents;
};
State random_state(const Plant& plant, Random& random, double mass, const std::vector<double>& metal) {
  State state{random_flows(plant, random, mass), {}};
  for (double one : metal) state.contents.push_back(random_flows(plant, random, one));
  return state;
}

bool possible(const State& state) {
  for (std::size_t s = 0; s < state.masses.size(); ++s)
    for (const auto& contents : state.contents)
      if (!(contents[s] >= 0 && contents[s] <= state.masses[s])) return false;
  return true;
}

/// A normal deviate, near enough.
double deviate(Random& random) {
  double sum = -6;
  for (int i = 0; i < 12; ++i) sum += random.real(0, 1);
  return sum;
}

struct Trial {
  Plant plant;
  Circuit circuit;
  State truth;
};
Trial random_trial(std::uint64_t seed) {
  Random random(seed);
  Trial trial;
  trial.plant = random_plant(random);
  const double feed = std::exp(random.real(0, 12));
  std::vector<double> metal;
  for (int a = random.whole(1, 3); a > 0; --a) metal.push_back(feed * std::exp(random.real(-14, -4)));
  do trial.truth = random_state(trial.plant, random, feed, metal);
  while (!possible(trial.truth));
  for (std::size_t a = 0; a < metal.size(); ++a)
    trial.circuit.analytes.push_back("metal " + std::to_string(a + 1));
  trial.circuit.nodes = trial.plant.nodes;
  const double wrong = random.chance(0.3) ? 4 : 1;  // some measurements do not deserve their errors
  const auto figure = [&](double truth, double rsd) {
    return Figure{std::max(0.0, truth * (1 + wrong * rsd * deviate(random))), truth * rsd};
  };
  for (std::size_t s = 0; s < trial.plant.streams; ++s) {
    MeasuredStream& made = trial.circuit.streams.emplace_back();
    made.name = "stream " + std::to_string(s + 1);
    if (s == 0 || random.chance(0.6)) made.mass = figure(trial.truth.masses[s], random.real(0.002, 0.05));
    for (std::size_t a = 0; a < metal.size(); ++a) {
      made.grades.emplace_back();
      if (random.chance(0.9))
        made.grades.back() =
            figure(trial.truth.contents[a][s] / trial.truth.masses[s], random.real(0.01, 0.15));
    }
  }
  return trial;
}

double misfit(const Circuit& circuit, const State& state) {
  double sum = 0;
  const auto add = [&](const std::optional<Figure>& known, double value) {
    if (known) sum += (value - known->value) * (value - known->value) / (known->sd * known->sd);
  };
  for (std::size_t s = 0; s < circuit.streams.size(); ++s) {
    add(circuit.streams[s].mass, state.masses[s]);
    for (std::size_t a = 0; a < circuit.analytes.size(); ++a)
      if (state.masses[s] > 0) add(circuit.streams[s].grades[a], state.contents[a][s] / state.masses[s]);
  }
  return sum;
}

/// a + part × (b − a).
State between(const State& a, const State& b, double part) {
  State made = a;
  for (std::size_t s = 0; s < a.masses.size(); ++s) made.masses[s] += part * (b.masses[s] - a.masses[s]);
  for (std::size_t k = 0; k < a.contents.size(); ++k)
    for (std::size_t s = 0; s < a.masses.size(); ++s)
      made.contents[k][s] += part * (b.contents[k][s] - a.contents[k][s]);
  return made;
}

State state_of(const Balance& found, std::size_t analytes) {
  State state;
  state.contents.resize(analytes);
  for (const BalancedStream& one : found.streams) {
    state.masses.push_back(one.mass.value);
    for (std::size_t a = 0; a < analytes; ++a)
      state.contents[a].push_back(one.analytes[a].grade ? one.mass.value * one.analytes[a].grade->value : 0);
  }
  return state;
}

void expect_balance(const std::vector<WorkStage>& nodes, const std::vector<double>& flows) {
  for (const WorkStage& node : nodes) {
    double in = 0, out = 0;
    for (std::size_t s : node.in) in += flows[s];
    for (std::size_t s : node.out) out += flows[s];
    EXPECT_NEAR(in, out, 1e-9 * in) << node.what;
  }
}

TEST(RandomCircuits, balances_hold_and_nothing_near_fits_better) {
  int balanced_count = 0, refused = 0;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    const Trial trial = random_trial(seed);
    SCOPED_TRACE(seed);
    Balance found;
    try {
      found = balanced(trial.circuit);
    } catch (const Error& error) {
      const std::string text = error.complaint().text;
      const bool right =
          text.find("cannot be found") != text.npos || text.find("assay all three") != text.npos;
      EXPECT_TRUE(right) << text;
      ++refused;
      continue;
    }
    ++balanced_count;
    const State here = state_of(found, trial.circuit.analytes.size());
    EXPECT_TRUE(possible(here));
    expect_balance(trial.circuit.nodes, here.masses);
    for (const auto& contents : here.contents) expect_balance(trial.circuit.nodes, contents);
    const double least = misfit(trial.circuit, here);
    if (found.degrees > 0) EXPECT_NEAR(found.chi_squared, least, 1e-7 * (1 + least));
    EXPECT_LE(least, misfit(trial.circuit, trial.truth) + 1e-9);
    // Every way towards other flows of the plant leads up.
    Random random(seed + 1'000'000);
    for (int i = 0; i < 20; ++i) {
      std::vector<double> metal;
      for (const auto& contents : here.contents) metal.push_back(contents[0] * random.real(0.8, 1.2));
      const State other = random_state(trial.plant, random, here.masses[0] * random.real(0.9, 1.1), metal);
      for (double part : {1e-2, 1e-4, 1e-6, -1e-4, -1e-6}) {
        const State near = between(here, other, part);
        if (possible(near)) EXPECT_GE(misfit(trial.circuit, near), least * (1 - 1e-12) - 1e-9) << part;
      }
    }
  }
  EXPECT_GT(balanced_count, 250);
  EXPECT_GT(refused, 10);
}

}  // namespace
}  // namespace buttonworth
