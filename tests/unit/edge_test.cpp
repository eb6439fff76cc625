// Every place where a value decides, reached after drying with dust, splitting and blending, in all three
// arithmetics: what is exactly on an edge by construction must count as on it, and what is off it by 1 part
// in 10^9 must not.
#include "plan_generator.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

constexpr int lots = 150;

Decimal decimal(Random& random, double low, double high, int places) {
  return Decimal(random.decimal(low, high, places));
}
std::string off(const Decimal& value, const char* by, const char* unit) {
  return text_of(value * Decimal(by), unit);
}
constexpr const char* less = "0.999999999";
constexpr const char* more = "1.000000001";

/// A wet lot with one assay, dried with dust, a part drawn off by mass, and the rest sold to "buyer".
/// The assay of what is sold is the lot's, whatever the figures: mass and content shrink alike.
struct Worked {
  Decimal assay;  ///< g/t
  Decimal mass;   ///< kg of dry solids sold
  OrderedJson lot, steps, route;
};

Worked worked_lot(Random& random, const Decimal& assay, const char* analyte) {
  const Decimal wet = decimal(random, 20, 3000, 2), moisture = decimal(random, 1, 25, 1),
                dust = decimal(random, 0.1, 3, 2), drawn = decimal(random, 1, 40, 1);
  Worked made;
  made.assay = assay;
  made.mass = wet * (1 - moisture / 100) * (1 - dust / 100) * (1 - drawn / 100);
  made.lot = {{"wet_mass", text_of(wet, "kg")},
              {"moisture", text_of(moisture, "%")},
              {"assays", {{analyte, text_of(assay, "g/t")}}}};
  made.steps = {{"pan", {{"kind", "dry"}, {"to", "0.7 %"}, {"dust", text_of(dust, "%")}}},
                {"magnet",
                 {{"kind", "split"},
                  {"into", {{"drawn", {{"mass", text_of(drawn, "%")}}}, {"rest", OrderedJson::object()}}}}}};
  made.route = {{"step", "pan"},
                {"dried", {{"step", "magnet"}, {"drawn", {{"keep", true}}}, {"rest", {{"sell", "buyer"}}}}}};
  return made;
}

/// Three lots of other assays whose blend is `assay` by construction: dry masses m1, m2 and m3, the assays of
/// the first two moved apart by k m2 and k m1.
OrderedJson blended(Random& random, const Decimal& assay, const char* analyte) {
  const Decimal m1 = random.whole(10, 900), m2 = random.whole(10, 900), m3 = random.whole(10, 900),
                k = decimal(random, 0.0001, 0.001, 5);
  auto part = [&](const Decimal& mass, const Decimal& grade) {
    return OrderedJson{{"wet_mass", text_of(mass, "kg")}, {"assays", {{analyte, text_of(grade, "g/t")}}}};
  };
  return {{"parts", {part(m1, assay + k * m2), part(m2, assay - k * m1), part(m3, assay)}}};
}

OrderedJson plan_of(const Worked& made, const OrderedJson& terms) {
  return plain_plan(made.lot, made.steps, {{"buyer", terms}}, made.route);
}

OrderedJson bands_at(const std::string& start) {
  return {{"buys", "concentrate"},
          {"pay", {{"Au", {{"bands", pairs({{"0 g/t", "50 %"}, {start, "100 %"}})}}}}}};
}

TEST(Edge, ABandBeginsAtItsStartInTwoThousandLots) {
  Random random(41);
  int below = 0;
  for (int i = 0; i < 2000; ++i) {
    const Worked made = worked_lot(random, decimal(random, 1, 400, i % 4), "Au");
    const OrderedJson document = plan_of(made, bands_at(text_of(made.assay, "g/t")));
    const auto plan = plan_from(document);
    const Decimal whole = made.mass * made.assay / 1000;  // g at 1 USD/g
    for (const auto& [arithmetic, outcome] : in_all_three(*plan, plan->routes[0]))
      below += !close_to(outcome.present_value, whole, Decimal("1e-9"));  // half of it, one band below
  }
  EXPECT_EQ(below, 0);
}

TEST(Edge, ABandBeginsAtItsStartAndNotBelow) {
  Random random(42);
  for (int i = 0; i < lots; ++i) {
    const Worked made = worked_lot(random, decimal(random, 1, 400, 2), "Au");
    const Decimal whole = made.mass * made.assay / 1000;
    expect_value(plan_of(made, bands_at(off(made.assay, less, "g/t"))), whole);
    expect_value(plan_of(made, bands_at(off(made.assay, more, "g/t"))), whole / 2);
  }
}

TEST(Edge, ABandBeginsAtItsStartAfterBlending) {
  Random random(43);
  for (int i = 0; i < lots; ++i) {
    Worked made = worked_lot(random, decimal(random, 5, 400, 2), "Au");
    made.lot = blended(random, made.assay, "Au");
    const auto outcomes = [&](const std::string& start) {
      const auto plan = plan_from(plan_of(made, bands_at(start)));
      return in_all_three(*plan, plan->routes[0]);
    };
    const auto on = outcomes(text_of(made.assay, "g/t")), under = outcomes(off(made.assay, more, "g/t"));
    for (std::size_t k = 0; k < on.size(); ++k)  // twice the share, of the same metal
      EXPECT_TRUE(close_to(on[k].outcome.present_value, under[k].outcome.present_value * 2, Decimal("1e-9")))
          << on[k].arithmetic;
  }
}

TEST(Edge, AWholePenaltyStepCountsWhenItIsFull) {
  Random random(44);
  for (int i = 0; i < lots; ++i) {
    const Decimal above = decimal(random, 0, 3000, 1), each = decimal(random, 1, 900, i % 3);
    const int steps = random.whole(1, 12);
    const Worked made = worked_lot(random, above + each * steps, "As");
    auto terms = [&](const std::string& each_text) {
      return OrderedJson{{"buys", "concentrate"},
                         {"penalties",
                          {{{"for", "As"},
                            {"above", text_of(above, "g/t")},
                            {"each", each_text},
                            {"rate", "1 USD/kg"},
                            {"count", "whole"}}}}};
    };
    expect_value(plan_of(made, terms(text_of(each, "g/t"))), -made.mass * steps);
    expect_value(plan_of(made, terms(off(each, less, "g/t"))), -made.mass * steps);
    // One in 10^8 more: the last step is not quite full. As it starts at `above`, 1e-9 of the assay is less
    // than that.
    expect_value(plan_of(made, terms(off(each, "1.0001", "g/t"))), -made.mass * (steps - 1), made.mass);
  }
}

TEST(Edge, AMarginalPenaltyCountsWholeStepsUpToTheNextOne) {
  Random random(45);
  for (int i = 0; i < lots; ++i) {
    const Decimal first = decimal(random, 0, 900, 1), each = decimal(random, 1, 90, i % 3);
    const int steps = random.whole(1, 9), later = random.whole(1, 9);
    const Decimal second = first + each * steps;
    const Worked made = worked_lot(random, second + each * later, "As");
    const OrderedJson terms{
        {"buys", "concentrate"},
        {"penalties",
         {{{"for", "As"},
           {"count", "whole"},
           {"marginal",
            {{{"above", text_of(first, "g/t")}, {"each", text_of(each, "g/t")}, {"rate", "1 USD/kg"}},
             {{"above", text_of(second, "g/t")},
              {"each", text_of(each, "g/t")},
              {"rate", "100 USD/kg"}}}}}}}};
    expect_value(plan_of(made, terms), -made.mass * (steps + 100 * later));
  }
}

TEST(Edge, APenaltyBandHoldsItsUpperEnd) {
  Random random(46);
  for (int i = 0; i < lots; ++i) {
    const Worked made = worked_lot(random, decimal(random, 10, 5000, i % 3), "As");
    auto terms = [&](const std::string& up_to) {
      return OrderedJson{
          {"buys", "concentrate"},
          {"penalties",
           {{{"for", "As"},
             {"whole",
              {{{"up_to", up_to}, {"rate", "1 USD/kg"}}, {{"up_to", "2 %"}, {"rate", "7 USD/kg"}}}}}}}};
    };
    expect_value(plan_of(made, terms(text_of(made.assay, "g/t"))), -made.mass);
    expect_value(plan_of(made, terms(off(made.assay, less, "g/t"))), -made.mass * 7);
  }
  // Beyond the last band nothing is charged.
  const Worked made = worked_lot(random, Decimal(6000), "As");
  expect_value(plan_of(made, {{"buys", "concentrate"},
                              {"penalties",
                               {{{"for", "As"}, {"whole", {{{"up_to", "0.5 %"}, {"rate", "9 USD/kg"}}}}}}}}),
               0, 1);
}

TEST(Edge, RefuseAboveTakesWhatIsAtIt) {
  Random random(47);
  for (int i = 0; i < lots; ++i) {
    const Worked made = worked_lot(random, decimal(random, 10, 5000, i % 3), "As");
    auto terms = [&](const std::string& limit) {
      return OrderedJson{{"buys", "concentrate"},
                         {"penalties",
                          {{{"for", "As"},
                            {"above", "1 %"},
                            {"each", "1 %"},
                            {"rate", "1 USD/t"},
                            {"refuse_above", limit}}}}};
    };
    expect_taken(plan_of(made, terms(text_of(made.assay, "g/t"))));
    expect_refused(plan_of(made, terms(off(made.assay, less, "g/t"))));
  }
}

TEST(Edge, AcceptedAssaysIncludeBothLimits) {
  Random random(48);
  for (int i = 0; i < lots; ++i) {
    const Worked made = worked_lot(random, decimal(random, 10, 5000, i % 3), "Au");
    auto terms = [&](const char* end, const std::string& limit) {
      return OrderedJson{{"buys", "concentrate"}, {"accepts", {{"Au", {{end, limit}}}}}};
    };
    for (const char* end : {"min", "max"})
      expect_taken(plan_of(made, terms(end, text_of(made.assay, "g/t"))));
    expect_refused(plan_of(made, terms("min", off(made.assay, more, "g/t"))));
    expect_refused(plan_of(made, terms("max", off(made.assay, less, "g/t"))));
  }
}

TEST(Edge, AcceptedMassIncludesBothLimitsAfterTheDeduction) {
  Random random(49);
  for (int i = 0; i < lots; ++i) {
    const Worked made = worked_lot(random, Decimal(100), "Au");
    const Decimal deduction = decimal(random, 0.1, 2, 2);
    const Decimal settled = made.mass * (1 - deduction / 100);
    auto terms = [&](const char* end, const std::string& limit) {
      return OrderedJson{{"buys", "concentrate"},
                         {"mass_deduction", text_of(deduction, "%")},
                         {"accepts", {{"mass", {{end, limit}}}}}};
    };
    for (const char* end : {"min", "max"}) expect_taken(plan_of(made, terms(end, text_of(settled, "kg"))));
    expect_refused(plan_of(made, terms("min", off(settled, more, "kg"))));
    expect_refused(plan_of(made, terms("max", off(settled, less, "kg"))));
  }
}

TEST(Edge, AcceptedMoistureIncludesItsLimitsAfterDrying) {
  Random random(50);
  for (int i = 0; i < lots; ++i) {
    Worked made = worked_lot(random, Decimal(100), "Au");
    const Decimal dried = decimal(random, 0.1, 0.9, 2);
    made.steps["pan"]["to"] = text_of(dried, "%");
    auto terms = [&](const char* end, const std::string& limit) {
      return OrderedJson{{"buys", "concentrate"}, {"accepts", {{"moisture", {{end, limit}}}}}};
    };
    for (const char* end : {"min", "max"}) expect_taken(plan_of(made, terms(end, text_of(dried, "%"))));
    expect_refused(plan_of(made, terms("max", off(dried, less, "%"))));
    expect_refused(plan_of(made, terms("min", off(dried, more, "%"))));
  }
}

/// A dry lot of this mass, melted with a dose of silica in a crucible; a melt costs 1 USD.
OrderedJson melted(const Decimal& wet, const Decimal& dust, const Decimal& dose, const Decimal& volume,
                   const Decimal& fill, const Decimal& density) {
  const OrderedJson furnace{{"kind", "melt"},
                            {"to_bar", {{"Au", "99 %"}}},
                            {"flux", {{{"reagent", "silica"}, {"dose", text_of(dose, "kg/kg")}}}},
                            {"crucible",
                             {{"volume", text_of(volume, "L")},
                              {"fill", text_of(fill, "%")},
                              {"density", text_of(density, "kg/L")}}},
                            {"cost", {{{"what", "melts"}, {"rate", "1 USD/melt"}}}}};
  return plain_plan(
      {{"wet_mass", text_of(wet, "kg")}, {"moisture", "0 %"}, {"assays", {{"Au", "300 g/t"}}}},
      {{"pan", {{"kind", "dry"}, {"to", "0 %"}, {"dust", text_of(dust, "%")}}}, {"furnace", furnace}},
      OrderedJson::object(),
      {{"step", "pan"},
       {"dried", {{"step", "furnace"}, {"bar", {{"keep", true}}}, {"slag", {{"keep", true}}}}}});
}

TEST(Edge, ACrucibleThatIsExactlyFullIsOneMelt) {
  Random random(51);
  const std::vector<std::string> doses{"0.25", "0.6", "1", "1.5", "0"},
      dusts{"20", "50", "36", "60", "0"};  // their quotients end
  for (int i = 0; i < lots; ++i) {
    const Decimal dose(random.pick(doses)), dust(random.pick(dusts));
    const Decimal volume = decimal(random, 1, 12, 1), fill = decimal(random, 40, 90, 0),
                  density = decimal(random, 1.1, 3, 2);
    const int melts = random.whole(1, 60);
    const Decimal fed = melts * volume * (fill / 100) * density / (1 + dose) / (1 - dust / 100);
    expect_value(melted(fed, dust, dose, volume, fill, density), -melts);
    expect_value(melted(fed * Decimal(more), dust, dose, volume, fill, density), -melts - 1);
    expect_value(melted(fed * Decimal(less), dust, dose, volume, fill, density), -melts);
  }
}

/// Assays in half steps: 13.5 steps are a tie.
TEST(Edge, RoundedAssaysAtATie) {
  Random random(52);
  for (int i = 0; i < lots; ++i) {
    const Decimal step = decimal(random, 0.01, 3, 2) + Decimal("0.01");
    const int whole = random.whole(3, 400);
    const Worked made = worked_lot(random, step * (whole + Decimal("0.5")), "Au");
    const Worked full = worked_lot(random, step * whole, "Au");
    auto value = [&](const Worked& lot, const char* mode) {
      const OrderedJson terms{{"buys", "concentrate"},
                              {"pay", {{"Au", OrderedJson::object()}}},
                              {"rounding", {{"Au", text_of(step, "g/t")}, {"mode", mode}}}};
      return plan_of(lot, terms);
    };
    const Decimal one_step = made.mass * step / 1000;
    expect_value(value(made, "half up"), one_step * (whole + 1));
    expect_value(value(made, "half even"), one_step * (whole + whole % 2));
    expect_value(value(made, "down"), one_step * whole);
    for (const char* mode : {"half up", "half even", "down"})  // exactly whole: down stays there
      expect_value(value(full, mode), full.mass * step / 1000 * whole);
  }
}

TEST(Edge, RoundedMoneyAtATieKeepsItsSign) {
  Random random(53);
  for (int i = 0; i < lots; ++i) {
    const int cents = random.whole(1, 90'000);
    const Worked made = worked_lot(random, Decimal(100), "Au");
    const Decimal amount = (cents + Decimal("0.5")) / 100;
    auto value = [&](const char* mode) {
      // A charge per kg whose product with the mass is the tie, up to the 40 digits it is written with.
      const OrderedJson terms{
          {"buys", "concentrate"},
          {"charges", {{{"what", "fee"}, {"rate", text_of(amount / made.mass, "USD/kg")}}}},
          {"rounding", {{"money", "0.01 USD"}, {"mode", mode}}}};
      return plan_of(made, terms);
    };
    expect_value(value("half up"), -Decimal(cents + 1) / 100);
    expect_value(value("half even"), -Decimal(cents + cents % 2) / 100);
    expect_value(value("down"), -Decimal(cents) / 100);
  }
}

TEST(Edge, AChargeAtDryBelowIsDryEnough) {
  Random random(54);
  for (int i = 0; i < lots; ++i) {
    const Decimal below = decimal(random, 0.05, 0.5, 2);
    auto document = [&](const std::string& limit) {
      OrderedJson plan = melted(decimal(random, 5, 900, 2), decimal(random, 0.1, 3, 2), Decimal(1),
                                Decimal(5), Decimal(70), Decimal(2));
      plan["lot"]["moisture"] = "12.3 %";
      plan["steps"]["pan"]["to"] = text_of(below, "%");
      plan["steps"]["furnace"]["dry_below"] = limit;
      return plan;
    };
    expect_taken(document(text_of(below, "%")));
    expect_refused(document(off(below, less, "%")));
  }
  OrderedJson left_out = melted(Decimal(100), Decimal(1), Decimal(1), Decimal(5), Decimal(70), Decimal(2));
  left_out["lot"]["moisture"] = "0.5 %";  // what is left out is 0.5 %
  left_out["routes"]["r"] = left_out["routes"]["r"]["dried"];
  expect_taken(left_out);
  left_out["lot"]["moisture"] = "0.500001 %";
  expect_refused(left_out);
}

TEST(Edge, WhatIsAlreadyAsDryUsesNoEnergy) {
  Random random(55);
  for (int i = 0; i < lots; ++i) {
    Worked made = worked_lot(random, Decimal(100), "Au");
    const Decimal to = decimal(random, 0.1, 6, 2);
    made.steps["pan"]["to"] = text_of(to, "%");
    made.steps["oven"] = {{"kind", "dry"},
                          {"to", text_of(to, "%")},
                          {"dust", "0 %"},
                          {"cost", {{{"what", "power"}, {"rate", "1 USD/kWh"}}}}};
    made.lot["moisture"] = "14.7 %";
    made.route["dried"]["rest"] = {{"step", "oven"}, {"dried", {{"keep", true}}}};
    expect_value(plan_of(made, bands_at("1 g/t")), 0, 1);
    // A millionth drier than it came is heated: every kilogram takes 0.75 x 80 kJ at least.
    made.steps["oven"]["to"] = off(to, "0.999999", "%");
    const auto plan = plan_from(plan_of(made, bands_at("1 g/t")));
    for (const auto& [arithmetic, outcome] : in_all_three(*plan, plan->routes[0]))
      EXPECT_LT(outcome.cash, -1e-3) << arithmetic;
  }
}

TEST(Edge, ALotThatComesAsDryAsItsTargetUsesNoEnergy) {
  for (const char* moisture : {"0.5 %", "3 %", "7.3 %", "0 %"}) {
    const OrderedJson oven{{"kind", "dry"},
                           {"to", moisture},
                           {"dust", "0 %"},
                           {"cost", {{{"what", "power"}, {"rate", "1 USD/kWh"}}}}};
    expect_value(
        plain_plan({{"wet_mass", "806 kg"}, {"moisture", moisture}, {"assays", {{"Au", "50 g/t"}}}},
                   {{"oven", oven}}, OrderedJson::object(), {{"step", "oven"}, {"dried", {{"keep", true}}}}),
        0, 1);
  }
}

TEST(Edge, AnOutputOfPureMetalIsNotMoreThanItsMass) {
  // 30 % of the mass holding all of a metal that is 30 % of the lot, written so that no binary figure is
  // exact.
  for (const char* share : {"30 %", "7 %", "0.3 %", "43.7 %"}) {
    const OrderedJson split{
        {"kind", "split"},
        {"into", {{"nuggets", {{"mass", share}, {"Au", "100 %"}}}, {"rest", OrderedJson::object()}}}};
    const OrderedJson route{
        {"step", "pan"},
        {"dried", {{"step", "sieve"}, {"nuggets", {{"keep", true}}}, {"rest", {{"keep", true}}}}}};
    auto document = [&](const std::string& assay) {
      return plain_plan({{"wet_mass", "417.3 kg"}, {"moisture", "11.7 %"}, {"assays", {{"Au", assay}}}},
                        {{"pan", {{"kind", "dry"}, {"to", "3 %"}, {"dust", "0.7 %"}}}, {"sieve", split}},
                        OrderedJson::object(), route);
    };
    expect_taken(document(share));
    expect_impossible(
        document(off(Decimal(std::string(share).substr(0, std::string(share).find(' '))), more, "%")));
  }
}

TEST(Edge, SharesThatAddUpToTheWholeLeaveNothing) {
  // Three thirds, as a spreadsheet writes them and to all digits: the rest is nothing, so it is not sold.
  for (const char* third : {"33.3333333333333 %", "33.3333333333333333333333333333333333 %"}) {
    OrderedJson into;
    for (int i = 0; i < 3; ++i) into["part " + std::to_string(i)] = {{"mass", third}};
    into["rest"] = OrderedJson::object();
    OrderedJson route{{"step", "sieve"}, {"rest", {{"sell", "buyer"}}}};
    for (int i = 0; i < 3; ++i) route["part " + std::to_string(i)] = {{"keep", true}};
    const OrderedJson terms{
        {"buyer", {{"buys", "concentrate"}, {"charges", {{{"what", "lot fee"}, {"rate", "100 USD/lot"}}}}}}};
    expect_value(plain_plan({{"wet_mass", "417.3 kg"}, {"assays", {{"Au", "50 g/t"}}}},
                            {{"sieve", {{"kind", "split"}, {"into", into}}}}, terms, route),
                 0, 1);
  }
}

TEST(Edge, SharesOfDeterminationsMeanWhatTheySay) {
  // Means are quotients: three times 0.5 % are 0.5 %, the most that dry_below may be; 100 % and 0 % likewise.
  OrderedJson plan = melted(Decimal(100), Decimal(1), Decimal(1), Decimal(5), Decimal(70), Decimal(2));
  for (const int count : {3, 7, 9, 11}) {
    plan["steps"]["furnace"]["dry_below"] = {
        {"values", std::vector<std::string>(static_cast<std::size_t>(count), "0.5 %")}};
    plan["steps"]["furnace"]["to_bar"] = {
        {"Au", {{"values", std::vector<std::string>(static_cast<std::size_t>(count), "100 %")}}}};
    plan["lot"]["moisture"] = {{"low", "0 %"}, {"mode", "0 %"}, {"high", "0 %"}};
    EXPECT_TRUE(complaints_of(plan.dump()).empty())
        << count << ' ' << complaints_of(plan.dump()).front().text;
  }
  plan["steps"]["furnace"]["dry_below"] = {{"low", "0.5 %"}, {"mode", "0.5 %"}, {"high", "0.5 %"}};
  EXPECT_TRUE(complaints_of(plan.dump()).empty());
}

TEST(Edge, ATableThatTakesAllLeavesNoTailings) {
  Random random(56);
  for (int i = 0; i < lots; ++i) {
    const OrderedJson table{
        {"kind", "table"},
        {"curve",
         {{"Au", i % 2 == 0
                     ? OrderedJson{{"odds", random.decimal(2, 90, 1)}}
                     : OrderedJson{{"logit", {random.decimal(0.7, 5, 2), random.decimal(0.5, 2, 2)}}}}}},
        {"cut", {{"recovery", "100 %"}}}};
    const OrderedJson route{
        {"step", "shaker"}, {"concentrate", {{"sell", "buyer"}}}, {"tailings", {{"sell", "buyer"}}}};
    Worked made = worked_lot(random, decimal(random, 10, 900, 2), "Au");
    made.steps["shaker"] = table;
    made.route["dried"]["rest"] = route;
    const OrderedJson terms{{"buys", "concentrate"},
                            {"pay", {{"Au", OrderedJson::object()}}},
                            {"charges", {{{"what", "fee"}, {"rate", "1 USD/lot"}}}}};
    expect_value(plan_of(made, terms), made.mass * made.assay / 1000 - 1);  // one lot, not two
  }
}

}  // namespace
}  // namespace buttonworth::test
