// What must hold for every plan, tried on random ones.
#include <algorithm>
#include <map>

#include "plan_generator.hpp"
#include "route/sweep_lanes.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

constexpr int plans = 300;

/// What a comparison came to, by name, so that order does not matter.
struct Answer {
  std::string fault;
  struct OfRoute {
    bool refused;
    Decimal present_value, cash, credit;
    std::map<std::string, Decimal> numbers;  ///< metal by analyte and place, cuts
  };
  std::map<std::string, OfRoute> routes;
};

Answer::OfRoute of_route(const Plan& plan, const RouteResult<Decimal>& result) {
  const auto& ledger = result.ledger;
  Answer::OfRoute out{
      result.refused(), ledger.sums.present_value, ledger.sums.cash_sum, ledger.sums.credit_sum, {}};
  for (std::size_t a = 0; a < plan.analytes.size(); ++a) {
    const std::string name = plan.analytes[a];
    out.numbers[name + " fed"] = ledger.metal.fed[a];
    out.numbers[name + " payable"] = ledger.metal.payable[a];
    out.numbers[name + " unpaid"] = ledger.metal.unpaid[a];
    out.numbers[name + " returned"] = ledger.metal.returned[a];
    out.numbers[name + " kept"] = ledger.metal.kept[a];
    for (const auto& [place, lost] : ledger.metal.lost) out.numbers[name + ' ' + place] = lost[a];
  }
  return out;
}

Answer answer_to(const OrderedJson& document) {
  const auto plan = plan_from(document);
  Answer answer;
  try {
    const auto comparison = compared(*plan);
    for (const auto& result : comparison.routes)
      answer.routes.emplace(result.route->name, of_route(*plan, result));
  } catch (const Error& error) {
    answer.fault = error.what();
  }
  return answer;
}

/// Numbers of the answers agree to `relative` of the larger, or of `scale` for money, which may cancel.
void expect_same(const Answer& a, const Answer& b, const Decimal& relative, const Decimal& scale,
                 const OrderedJson& document) {
  ASSERT_EQ(a.fault.empty(), b.fault.empty()) << a.fault << b.fault << '\n' << document.dump(1);
  ASSERT_EQ(a.routes.size(), b.routes.size());
  for (const auto& [name, one] : a.routes) {
    const auto& other = b.routes.at(name);
    ASSERT_EQ(one.refused, other.refused) << name << '\n' << document.dump(1);
    if (one.refused) continue;
    EXPECT_TRUE(close_to(one.present_value, other.present_value, relative, scale))
        << name << ' ' << one.present_value << ' ' << other.present_value << '\n'
        << document.dump(1);
    EXPECT_TRUE(close_to(one.cash, other.cash, relative, scale)) << name;
    EXPECT_TRUE(close_to(one.credit, other.credit, relative, scale)) << name;
    for (const auto& [what, number] : one.numbers) {
      const auto found = other.numbers.find(what);
      const Decimal same = found == other.numbers.end() ? Decimal(0) : found->second;
      EXPECT_TRUE(close_to(number, same, relative, Decimal("0.001")))
          << name << ' ' << what << ' ' << number << ' ' << same;
    }
  }
}

TEST(Properties, EveryAnalyteIsConserved) {
  int counted = 0;
  Random random(1);
  for (int i = 0; i < plans; ++i) {
    const OrderedJson document = random_plan(random);
    const auto answer = answer_to(document);
    for (const auto& [name, route] : answer.routes) {
      if (route.refused) continue;
      std::map<std::string, Decimal> fed, found;
      for (const auto& [what, number] : route.numbers) {
        const std::string analyte = what.substr(0, what.find(' '));
        (what.ends_with(" fed") ? fed : found)[analyte] += number;
      }
      for (const auto& [analyte, number] : fed) {
        ++counted;
        EXPECT_TRUE(close_to(number, found[analyte], Decimal("1e-40")))
            << name << ' ' << analyte << ' ' << number << ' ' << found[analyte] << '\n'
            << document.dump(1);
      }
    }
  }
  EXPECT_GT(counted, plans);  // most plans are neither refused nor impossible
}

TEST(Properties, LinesAddUpToCashAndCredit) {
  Random random(2);
  for (int i = 0; i < plans; ++i) {
    const OrderedJson document = random_plan(random);
    const auto plan = plan_from(document);
    try {
      const auto comparison = compared(*plan);
      const Decimal scale = contained_value(*plan) * Decimal("1e-40");
      for (const auto& result : comparison.routes) {
        if (result.refused()) continue;
        Decimal money = 0, credit = 0;
        for (const auto& line : result.ledger.lines)
          (line.name.kind == LineKind::credit ? credit : money) += line.amount;
        if (plan->lot.credited) credit -= Prepared<Decimal>(*plan).scenario[*plan->lot.credited];
        EXPECT_LE(abs(money - result.ledger.sums.cash_sum), scale) << document.dump(1);
        EXPECT_LE(abs(credit - result.ledger.sums.credit_sum), scale) << document.dump(1);
        const Decimal total = result.cash_days.empty() ? Decimal(0) : result.cash_days.back().total;
        // A day on which as much goes out as comes in is left out, to 1 part in 10^12.
        EXPECT_LE(abs(total - result.ledger.sums.cash_sum), contained_value(*plan) * Decimal("1e-11"));
        for (std::size_t d = 1; d < result.cash_days.size(); ++d)
          EXPECT_GT(result.cash_days[d].day, result.cash_days[d - 1].day);
      }
    } catch (const Error& error) {
      EXPECT_NE(error.complaint().pointer.find("/routes/"), std::string::npos) << error.what();
    }
  }
}

TEST(Properties, OrderOfRoutesAndFieldsDoesNotMatter) {
  Random random(3);
  for (int i = 0; i < plans; ++i) {
    const OrderedJson document = random_plan(random);
    const Decimal scale = contained_value(*plan_from(document));
    // Sums in another order differ in their last digits only.
    expect_same(answer_to(document), answer_to(shuffled(document, random)), Decimal("1e-40"), scale,
                document);
  }
}

TEST(Properties, EqualUnitsChangeNothing) {
  Random random(4);
  for (int i = 0; i < plans; ++i) {
    // Without rounding and uncertain figures' spreads, which are not drawn here anyway.
    const OrderedJson document = random_plan(random);
    const Decimal scale = contained_value(*plan_from(document));
    // A quantity is written with 40 digits at most, and a quotient of units is cut there.
    expect_same(answer_to(document), answer_to(in_other_units(document, random)), Decimal("1e-30"), scale,
                document);
  }
}

TEST(Properties, AHigherPriceOfAPaidMetalNeverLowersARoute) {
  PlanWishes wishes;
  wishes.rounding = wishes.participation = false;
  wishes.gross_levies = false;  // they take from metal that nobody pays
  wishes.uncertain = false;
  Random random(5);
  for (int i = 0; i < plans; ++i) {
    OrderedJson document = random_plan(random, wishes);
    const auto before = answer_to(document);
    const std::string metal = random.chance(0.7) ? "Au" : "Ag";
    const std::string price = document["prices"][metal];
    document["prices"][metal] =
        text_of(Decimal(price.substr(0, price.find(' '))) * Decimal(random.decimal(1.001, 2, 3)), "USD/ozt");
    const auto after = answer_to(document);
    for (const auto& [name, route] : before.routes) {
      ASSERT_EQ(route.refused, after.routes.at(name).refused);
      if (route.refused) continue;
      // Decimals of 50 digits: a residue of their rounding is allowed.
      EXPECT_GE(after.routes.at(name).present_value, route.present_value - Decimal("1e-35"))
          << document.dump(1);
    }
  }
}

// ---- Parts ---------------------------------------------------------------------------------------

/// Sums of parts, worked out beside the library: kilograms of water, dry solids and each analyte.
struct Blend {
  Decimal dry = 0, water = 0;
  std::map<std::string, Decimal> content;
};

Decimal figure(const OrderedJson& text) {
  const std::string words = text;
  return Decimal(words.substr(0, words.find(' ')));
}

void add_part(Blend& blend, const OrderedJson& part) {
  const Decimal wet = figure(part.at("wet_mass"));
  const Decimal water =
      part.contains("moisture") ? Decimal(wet * figure(part.at("moisture")) / 100) : Decimal(0);
  blend.water += water;
  blend.dry += wet - water;
  for (auto& [analyte, grade] : part.at("assays").items())
    blend.content[analyte] += (wet - water) * figure(grade) / 1000000;
}

TEST(Properties, ALotCutInPartsAndBlendedIsTheLot) {
  PlanWishes wishes;
  wishes.uncertain = false;
  Random random(6);
  for (int i = 0; i < plans; ++i) {
    OrderedJson document = random_plan(random, wishes);
    std::vector<std::string> analytes;
    for (auto& [name, curve] : document["steps"]["shaker"]["curve"].items()) analytes.push_back(name);
    OrderedJson parts = OrderedJson::array();
    Blend blend;
    for (int k = random.whole(2, 5); k > 0; --k) {
      parts.push_back(random_lot(random, analytes));
      add_part(blend, parts.back());
    }
    if (random.chance(0.5)) parts = {{{"parts", parts}}};
    OrderedJson& lot = document["lot"];
    for (const char* field : {"parts", "wet_mass", "moisture", "assays"}) lot.erase(field);
    OrderedJson whole = document;
    lot["parts"] = parts;
    whole["lot"]["wet_mass"] = text_of(blend.dry + blend.water, "kg");
    whole["lot"]["moisture"] = text_of(blend.water / (blend.dry + blend.water) * 100, "%");
    for (const auto& [analyte, content] : blend.content)
      whole["lot"]["assays"][analyte] = text_of(content / blend.dry * 1000000, "g/t");
    const Decimal scale = contained_value(*plan_from(whole));
    // The whole lot's moisture and assays are quotients, written with 40 digits.
    expect_same(answer_to(document), answer_to(whole), Decimal("1e-30"), scale, document);
  }
}

// ---- Three arithmetics ---------------------------------------------------------------------------

TEST(Properties, ThreeArithmeticsAgree) {
  Random random(7);
  int taken = 0, refused = 0, impossible = 0;
  for (int i = 0; i < plans; ++i) {
    const OrderedJson document = random_plan(random);
    const auto plan = plan_from(document);
    const Decimal scale = contained_value(*plan);
    for (const Route& route : plan->routes) {
      const auto all = in_all_three(*plan, route);
      const Outcome& exact = all[0].outcome;
      (exact.impossible() ? impossible : exact.refused ? refused : taken) += 1;
      for (const auto& [arithmetic, outcome] : all) {
        if (exact.impossible()) {
          EXPECT_TRUE(outcome.impossible()) << arithmetic << ' ' << exact.fault << '\n' << document.dump(1);
        } else if (exact.refused) {
          EXPECT_TRUE(outcome.refused) << arithmetic << '\n' << document.dump(1);
        } else {
          EXPECT_FALSE(outcome.refused || outcome.impossible()) << arithmetic << ' ' << outcome.fault << '\n'
                                                                << document.dump(1);
          EXPECT_LE(abs(outcome.present_value - exact.present_value), scale * Decimal("1e-9"))
              << arithmetic << ' ' << route.name << ' ' << exact.present_value << ' ' << outcome.present_value
              << '\n'
              << document.dump(1);
        }
      }
    }
  }
  EXPECT_GT(taken, plans / 2);
  EXPECT_GT(refused, 20);
  EXPECT_GT(impossible, 5);
}

TEST(Properties, SweepsAgreeWithSingleWalks) {
  PlanWishes wishes;
  wishes.best_cut = true;
  Random random(8);
  int valued = 0;
  for (int i = 0; i < plans; ++i) {
    const OrderedJson document = random_plan(random, wishes);
    const auto plan = plan_from(document);
    const Prepared<double> plain(*plan);
    const Prepared<Decimal> exact(*plan);
    const Route& route = plan->routes.front();
    std::vector<SweepPoint> points(19);  // no multiple of any width
    for (SweepPoint& point : points) point.pulls.assign(route.searched.size(), random.real(0.015, 0.4));
    std::vector<SweepPoint> narrow = points;
    make_sweep(plain)->evaluate(route, points);  // AVX2 where the processor has it
    LaneSweep<Lanes>(plain).evaluate(route, narrow);
    const double enough = static_cast<double>(contained_value(*plan)) * 1e-9;
    for (std::size_t k = 0; k < points.size(); ++k) {
      EXPECT_EQ(points[k].value, narrow[k].value);  // plain IEEE operations: the same bits at any width
      EXPECT_EQ(points[k].refusals, narrow[k].refusals);
      for (double single :
           {searched_value(plain, route, points[k].pulls), searched_value(exact, route, points[k].pulls)}) {
        ASSERT_EQ(single == SweepPoint::nothing, points[k].value == SweepPoint::nothing)
            << points[k].pulls[0] << document.dump(1);
        if (single == SweepPoint::nothing) continue;
        ++valued;
        EXPECT_NEAR(single, points[k].value, enough) << document.dump(1);
      }
    }
  }
  EXPECT_GT(valued, plans * 5);
}

}  // namespace
}  // namespace buttonworth::test
