// Numbers, units, the weighing of bars, rounding, dates, uncertain quantities.
#include <cmath>

#include "document/convert.hpp"
#include "quantity/date.hpp"
#include "quantity/edge.hpp"
#include "support.hpp"

namespace buttonworth::test {
namespace {

// ---- Units ---------------------------------------------------------------------------------------

Decimal factor(std::string_view unit, Dimensions of) {
  const auto found = find_unit(unit, of, exact_factors());
  EXPECT_TRUE(found.has_value()) << unit;
  return found ? found->factor : Decimal(0);
}

TEST(Units, MassesAreExact) {
  // 1 lb = 453.59237 g, 1 troy ounce = 12/175 lb = 31.1034768 g
  // [P: UK Weights and Measures Act 1985, Sch. 1 Part V].
  EXPECT_EQ(factor("lb", Dimension::mass), Decimal("0.45359237"));
  EXPECT_EQ(factor("ozt", Dimension::mass), Decimal("0.0311034768"));
  EXPECT_EQ(factor("ozt", Dimension::mass) * 175, factor("lb", Dimension::mass) * 12);
  // dwt 1.55517384 g, grain 64.79891 mg, short ton 907.18474 kg, long ton 1016.0469088 kg
  // [M: NIST Handbook 44 App. C; agrees with 1/20 and 1/480 ozt, 2000 and 2240 lb].
  EXPECT_EQ(factor("dwt", Dimension::mass), Decimal("0.00155517384"));
  EXPECT_EQ(factor("gr", Dimension::mass), Decimal("0.00006479891"));
  EXPECT_EQ(factor("st", Dimension::mass), Decimal("907.18474"));
  EXPECT_EQ(factor("lt", Dimension::mass), Decimal("1016.0469088"));
  EXPECT_EQ(factor("t", Dimension::mass), 1000);
  EXPECT_EQ(factor("g", Dimension::mass), Decimal("0.001"));
}

TEST(Units, GradesPerTonOfAnyKind) {
  const Decimal million = 1000000;
  // 1 ozt/st = 240/7 g/t; 1 dwt/st = 12/7 g/t; 1 ozt/lt = 1500/49 g/t [C, exact]; to the digits of a
  // quotient.
  EXPECT_TRUE(close_to(factor("ozt/st", Dimension::grade) * million, Decimal(240) / 7, Decimal("1e-45")));
  EXPECT_TRUE(close_to(factor("dwt/st", Dimension::grade) * million, Decimal(12) / 7, Decimal("1e-45")));
  EXPECT_TRUE(close_to(factor("ozt/lt", Dimension::grade) * million, Decimal(1500) / 49, Decimal("1e-45")));
  // 32 666.667 and 29 166.667 ozt per long and short ton (printed 32 666, 29 166)
  // [P: T. K. Rose, The Metallurgy of Gold, p. 496].
  EXPECT_LE(abs(1 / factor("ozt/lt", Dimension::grade) - Decimal("32666.667")), Decimal("0.0005"));
  EXPECT_LE(abs(1 / factor("ozt/st", Dimension::grade) - Decimal("29166.667")), Decimal("0.0005"));
  for (const char* same : {"g/t", "mg/kg", "ppm"})
    EXPECT_EQ(factor(same, Dimension::grade), Decimal("1e-6")) << same;
  EXPECT_EQ(factor("ppb", Dimension::grade), Decimal("1e-9"));
  EXPECT_EQ(factor("kg/t", Dimension::grade), Decimal("0.001"));
  EXPECT_EQ(factor("fine", Dimension::grade), Decimal("0.001"));
}

TEST(Units, CaratsInFineness) {
  // 22 ct = 916.7, 18 = 750, 15 = 625, 12 = 500, 9 = 375 fine [P: Rose, Table XIII].
  for (const auto& [carats, fine] : {std::pair{22, "916.7"}, std::pair{18, "750"}, std::pair{15, "625"},
                                     std::pair{12, "500"}, std::pair{9, "375"}})
    EXPECT_LE(abs(carats * factor("kt", Dimension::grade) * 1000 - Decimal(fine)), Decimal("0.05"))
        << carats;  // printed to 0.1
}

TEST(Units, AnAssayOfFiftyGramsInOuncesPerLongTon) {
  // 50 g of ore giving 1.75 mg: 1 oz 2 dwt 20.8 gr per long ton [P: Rose p. 496]; printed to 0.1 gr.
  const Decimal grade = Decimal("1.75") / Decimal(50000);
  const Decimal grains = grade * factor("lt", Dimension::mass) / factor("gr", Dimension::mass);
  EXPECT_LE(abs(grains - (Decimal(480) + 2 * 24 + Decimal("20.8"))), Decimal("0.05"));
}

TEST(Units, KilogramsToTroyOunces) {
  EXPECT_LE(abs(Decimal("12.4780") / factor("ozt", Dimension::mass) - Decimal("401.17702")),
            Decimal("0.000005"));  // [C]
}

TEST(Units, ContractFactorsCarryWhatHangsOnThem) {
  MassFactors factors;
  factors.fix_grams_per_ounce(Decimal("31.1035"));
  EXPECT_EQ(factors.kilograms(MassUnit::ozt), Decimal("0.0311035"));
  EXPECT_EQ(factors.kilograms(MassUnit::dwt) * 20, Decimal("0.0311035"));
  EXPECT_TRUE(close_to(factors.kilograms(MassUnit::gr) * 480, Decimal("0.0311035"), Decimal("1e-45")));
  EXPECT_EQ(factors.kilograms(MassUnit::lb), Decimal("0.45359237"));
  factors.fix_pounds_per_tonne(Decimal("2204.62"));
  EXPECT_TRUE(close_to(factors.kilograms(MassUnit::lb), 1000 / Decimal("2204.62"), Decimal("1e-45")));
  EXPECT_TRUE(close_to(factors.kilograms(MassUnit::lt), 2240000 / Decimal("2204.62"), Decimal("1e-45")));
  EXPECT_TRUE(close_to(factors.kilograms(MassUnit::st), 2000000 / Decimal("2204.62"), Decimal("1e-45")));
  MassFactors both;
  both.fix_short_tons_per_tonne(Decimal("1.1023"));
  both.fix_pounds_per_tonne(Decimal("2204.62"));
  EXPECT_TRUE(close_to(both.kilograms(MassUnit::st), 1000 / Decimal("1.1023"),
                       Decimal("1e-45")));  // given, so its own
  EXPECT_TRUE(close_to(both.per_kilogram(MassUnit::st) * 1000, Decimal("1.1023"), Decimal("1e-45")));
}

TEST(Units, MoneyPerSomething) {
  EXPECT_EQ(factor("USc", Dimension::money), Decimal("0.01"));
  EXPECT_EQ(find_unit("USc/lb", Dimension::price, exact_factors())->currency, "USD");
  EXPECT_TRUE(close_to(factor("USD/lb", Dimension::price) * Decimal("0.45359237"), 1, Decimal("1e-45")));
  EXPECT_TRUE(
      close_to(factor("USD/MJ", Dimension::per_energy), Decimal("3.6"), Decimal("1e-45")));  // 1 kWh = 3.6 MJ
  EXPECT_FALSE(find_unit("EUc", Dimension::money, exact_factors()).has_value());  // no other hundredths
  EXPECT_FALSE(find_unit("usd", Dimension::money, exact_factors()).has_value());
  EXPECT_FALSE(find_unit("USD/oz", Dimension::price, exact_factors()).has_value());
  EXPECT_FALSE(find_unit("KG", Dimension::mass, exact_factors()).has_value());  // names are exact
}

TEST(Units, AmbiguousOnesAreAdvisedAgainst) {
  for (const char* unit : {"oz", "USD/oz", "oz/t"})
    EXPECT_NE(unit_advice(unit).value_or("").find("ozt"), std::string::npos) << unit;
  for (const char* unit : {"ton", "USD/ton", "g/ton"}) {
    const std::string advice = unit_advice(unit).value_or("");
    for (const char* word : {"t ", "st ", "lt "}) EXPECT_NE(advice.find(word), std::string::npos) << unit;
  }
  for (const char* unit : {"tonnes", "USD/tonne"})
    EXPECT_EQ(unit_advice(unit).value_or(""), "write t (1000 kg)") << unit;
  EXPECT_FALSE(unit_advice("ozt").has_value());
}

TEST(Units, ConversionsOfATextAreExactTo40Digits) {
  auto converted = [](const char* quantity, const char* to) {
    std::vector<Complaint> complaints;
    const DocumentLimits limits;
    const OrderedJson request{{"quantity", quantity}, {"to", to}};
    const auto answer = convert_request(read_json(request.dump(), limits), limits, complaints);
    EXPECT_TRUE(complaints.empty()) << complaints[0].text;
    return answer ? OrderedJson::parse(answer->dump()).get<std::string>() : std::string();
  };
  EXPECT_EQ(converted("1 lb", "g"), "453.59237 g");
  EXPECT_EQ(converted("18 kt", "fine"), "750 fine");
  EXPECT_EQ(converted("36 MJ", "kWh"), "10 kWh");
  EXPECT_EQ(converted("1 ozt/st", "g/t"), "34.28571428571428571428571428571428571429 g/t");  // 240/7
  EXPECT_DOUBLE_EQ(conversion_factor("ozt", "g"), 31.1034768);
  EXPECT_THROW(conversion_factor("ozt", "h"), Error);
  EXPECT_THROW(conversion_factor("USD", "EUR"), Error);
}

// ---- Numbers -------------------------------------------------------------------------------------

TEST(Numbers, ReadExactly) {
  for (const auto& [text, value, length] :
       {std::tuple{"806 kg", "806", 3U}, std::tuple{"-0.250kg", "-0.25", 6U}, std::tuple{"1e3", "1000", 3U},
        std::tuple{"12.5E-2 %", "0.125", 7U}, std::tuple{"007", "7", 3U}, std::tuple{"1.", "1", 1U}}) {
    const NumberText number = read_number(text);
    EXPECT_EQ(number.fault, std::string_view(text) == "1." ? NumberFault::malformed : NumberFault::none)
        << text;
    if (number.fault != NumberFault::none) continue;
    EXPECT_EQ(number.value, Decimal(value)) << text;
    EXPECT_EQ(number.length, length) << text;
  }
  EXPECT_EQ(read_number("0.1234567890123456789012345678901234567891").value * 10,
            Decimal("1.234567890123456789012345678901234567891"));
}

TEST(Numbers, OfManyZerosUnderTheWidestLimits) {
  const NumberLimits widest{NumberLimits::most_digits, NumberLimits::most_exponent};
  const NumberText tiny = read_number("1" + std::string(99, '0') + "e-159", widest);
  EXPECT_EQ(tiny.fault, NumberFault::none);
  EXPECT_EQ(tiny.value, power_of_ten(-60));
  EXPECT_EQ(read_number("1." + std::string(98, '0') + "1", widest).fault, NumberFault::too_many_digits);
  EXPECT_EQ(read_number("1." + std::string(98, '0'), widest).value, 1);
}

TEST(Numbers, RefusedWhereTheyAreNone) {
  for (const char* text : {"", "kg", "+5", ".5", "NaN", "inf", "-", "e5", "--1"})
    EXPECT_EQ(read_number(text).fault, NumberFault::malformed) << text;
  EXPECT_EQ(read_number("1.2345678901234567890123456789012345678901").fault, NumberFault::too_many_digits);
  EXPECT_EQ(read_number("1e31").fault, NumberFault::too_large);
  EXPECT_EQ(read_number("1e-31").fault, NumberFault::too_large);
  EXPECT_EQ(read_number("1e999999999").fault, NumberFault::too_large);
  EXPECT_EQ(read_number("1e30").fault, NumberFault::none);
  EXPECT_EQ(read_number("0e999999999").value, 0);
  EXPECT_EQ(read_number("1000", NumberLimits{40, 2}).fault, NumberFault::too_large);
  EXPECT_EQ(read_number("1.2345", NumberLimits{4, 30}).fault, NumberFault::too_many_digits);
}

TEST(Numbers, WrittenInPlainNotation) {
  EXPECT_EQ(to_text(-1e-10, Digits{12, 6, 0}), "0");  // no minus before nothing
  EXPECT_EQ(to_text(Decimal("-130"), money_digits), "-130.00");
  EXPECT_EQ(to_text(Decimal("0"), money_digits), "0.00");
  EXPECT_EQ(to_text(Decimal("2310.1149999"), money_digits), "2310.1149999");
  EXPECT_EQ(to_text(Decimal("0.5"), Digits{1, 0, 0}), "1");  // ties away from zero
  EXPECT_EQ(to_text(Decimal("-2.5"), Digits{3, 0, 0}), "-3");
  EXPECT_EQ(to_text(Decimal(2) / 3, Digits{5, 12, 0}), "0.66667");
  EXPECT_EQ(to_text(Decimal("123456789012345678901234567890")), "123456789012345678901234567890");
  EXPECT_EQ(to_text(Decimal("-0.0000001"), Digits{5, 2, 2}), "0.00");  // no minus before nothing
  EXPECT_EQ(to_text(Decimal("99.9996"), Digits{5, 12, 0}), "100");     // the nearest may have a digit more
  EXPECT_EQ(to_text(Decimal("-0.996"), Digits{4, 2, 2}), "-1.00");
  EXPECT_EQ(to_text(Decimal("0.004"), Digits{4, 2, 2}), "0.00");
  EXPECT_EQ(to_text(Decimal("0.005"), Digits{4, 2, 2}), "0.01");
  EXPECT_EQ(to_text(Decimal("0.00000000123456789"), full_digits), "0.00000000123456789");
  EXPECT_EQ(to_text(Decimal("100000000"), full_digits), "100000000");  // a limb of Boost's exactly
  EXPECT_EQ(to_text(Decimal("12345678.000000000000000000000001"), full_digits),
            "12345678.000000000000000000000001");
  EXPECT_EQ(to_text(Decimal("1e95"), full_digits), "1" + std::string(95, '0'));
  EXPECT_EQ(to_text(0.1 + 0.2, Digits{18, 24, 2}), "0.30");  // doubles to 15 places
  EXPECT_EQ(to_text(1250.0, Digits{18, 24, 0}), "1250");
}

TEST(Numbers, DecimalsToTheNearestDouble) {
  for (const char* text :
       {"0.1", "2650.55", "31.1034768", "-17.35", "123456789.987654321", "1e-9", "1e25", "4.9e-29", "3.7e-80",
        "-2.5e-300", "1.2345678901234567890123e60", "1.797e308", "5e-320"}) {
    const double value = to_double(Decimal(text));
    // Rounded twice at most: within one unit in the last place of the nearest.
    EXPECT_NEAR(value, std::strtod(text, nullptr), std::abs(value) * 2.3e-16) << text;
  }
  EXPECT_EQ(to_double(Decimal(0)), 0.0);
  EXPECT_EQ(to_double(Decimal("-1e309")), -HUGE_VAL);
  EXPECT_EQ(to_double(Decimal("1e-400")), 0.0);
}

// ---- Exponentials --------------------------------------------------------------------------------

TEST(Exponentials, OfDecimalsAsBoostHasThem) {
  for (const char* text : {"0.00001", "-0.003", "0.5", "-0.5", "0.4999999", "0.73", "-1.1", "2.5", "-17.25",
                           "63.99", "64", "-64", "64.01", "-200", "1e-40"}) {
    const Decimal x(text), boosts = exp(x);
    EXPECT_LE(abs(power_of_e(x) - boosts), boosts * Decimal("1e-48")) << text;
  }
  EXPECT_EQ(power_of_e(0), 1);
}

TEST(Exponentials, InPlainOperations) {
  for (double x : {-700.0, -3.2, -0.01, 0.0, 1e-9, 0.6931471805599453, 5.5, 100.25}) {
    const double exact = to_double(exponential(Decimal(x)));
    EXPECT_NEAR(exponential(x), exact, exact * 4e-16) << x;  // the error stated beside the function
    EXPECT_EQ(exponential(Lanes(x))[3], exponential(x)) << x;
  }
  for (double x : {1e-300, 0.2, 0.9999999, 1.0, 1.18, 1.4142135623730951, 2.0, 1e12}) {
    const double exact = to_double(natural_log(Decimal(x)));
    EXPECT_NEAR(natural_log(x), exact, std::max(std::abs(exact) * 4e-16, 1e-16)) << x;
    EXPECT_EQ(natural_log(Lanes(x))[2], natural_log(x)) << x;
  }
  // ln 2 and e, to 45 digits [M: OEIS A002162, A001113].
  EXPECT_TRUE(close_to(natural_log(Decimal(2)), Decimal("0.693147180559945309417232121458176568075500134"),
                       Decimal("1e-44")));
  EXPECT_TRUE(close_to(exponential(Decimal(1)), Decimal("2.71828182845904523536028747135266249775724709"),
                       Decimal("1e-44")));
}

// ---- Decisions at an edge ------------------------------------------------------------------------

template <class N>
class EveryArithmetic : public testing::Test {};
using Arithmetics = testing::Types<Decimal, double, Lanes>;
TYPED_TEST_SUITE(EveryArithmetic, Arithmetics);

template <class N>
N from(const char* text) {
  return number<N>(Decimal(text));
}
template <>
Lanes from(const char* text) {
  return Lanes(to_double(Decimal(text)));
}

template <class N>
double first(const N& value) {
  if constexpr (Scalar<N>) return static_cast<double>(value);
  else return value[Lanes::size - 1];
}
template <class M>
bool holds(const M& mask) {
  if constexpr (std::same_as<M, bool>) return mask;
  else return mask[0] && mask[Lanes::size - 1];
}
/// A tenth of the last digit of what doubles carry here.
constexpr double last_digit = 1e-12;

TYPED_TEST(EveryArithmetic, ABarTurnsTheScaleBySoMuch) {
  using N = TypeParam;
  // Good Delivery gold, gross to 0.025 ozt, rounded down [P: LBMA Good Delivery Rules, Annexes B and C]; a
  // bar must pass the step by 0.002 ozt to turn the scale [C]: plain doubles get two of these wrong.
  for (const auto& [mass, shown] :
       {std::pair{"401.126", "401.100"}, std::pair{"401.127", "401.125"}, std::pair{"401.151", "401.125"},
        std::pair{"401.152", "401.150"}, std::pair{"0.001", "0"}, std::pair{"0.027", "0.025"}}) {
    const N weighed = weighed_down(from<N>(mass), from<N>("0.025"), from<N>("40"), from<N>("0.002"));
    EXPECT_NEAR(first(weighed), std::stod(shown), last_digit * 400) << mass;
  }
}

TYPED_TEST(EveryArithmetic, FineContentOfABarLine) {
  using N = TypeParam;
  // Gross 401.125, 995.8 fine, fine 399.440 [P: LBMA Good Delivery Rules, sample weight list].
  const N fine = round_to(N(from<N>("401.125") * from<N>("0.9958")), from<N>("0.001"), from<N>("1000"),
                          RoundingMode::half_up);
  EXPECT_NEAR(first(fine), 399.440, last_digit * 400);
}

TYPED_TEST(EveryArithmetic, AgreedFineContentsOfSmallBars) {
  using N = TypeParam;
  // [P: LBMA table of fine gold content of small bars], at 995.0, 999.0 and 999.9; half up on the exact
  // product. A kilogram bar is counted in ounces of 32.1507465 to the kilogram.
  struct Bar {
    const char* gross;
    const char* fine[3];
  };
  for (const Bar& bar :
       {Bar{"32.1507465686280", {"31.990", "32.119", "32.148"}}, Bar{"100", {"99.500", "99.900", "99.990"}},
        Bar{"50", {"49.750", "49.950", "49.995"}}, Bar{"25", {"24.875", "24.975", "24.998"}},
        Bar{"10", {"9.950", "9.990", "9.999"}}, Bar{"5", {"4.975", "4.995", "5.000"}},
        Bar{"1", {"0.995", "0.999", "1.000"}}}) {
    const char* fineness[3] = {"0.995", "0.999", "0.9999"};
    for (int i = 0; i < 3; ++i) {
      const N fine = round_to(N(from<N>(bar.gross) * from<N>(fineness[i])), from<N>("0.001"), from<N>("1000"),
                              RoundingMode::half_up);
      EXPECT_NEAR(first(fine), std::stod(bar.fine[i]), last_digit * 100) << bar.gross << ' ' << fineness[i];
    }
  }
}

TYPED_TEST(EveryArithmetic, RoundingAtATie) {
  using N = TypeParam;
  struct Row {
    const char *value, *step, *even, *up, *down;
  };
  for (const Row& row :
       {Row{"0.125", "0.01", "0.12", "0.13", "0.12"}, Row{"0.135", "0.01", "0.14", "0.14", "0.13"},
        Row{"-0.125", "0.01", "-0.12", "-0.13", "-0.12"}, Row{"1.005", "0.01", "1", "1.01", "1"},
        Row{"2.675", "0.01", "2.68", "2.68", "2.67"}, Row{"8.7", "2.9", "8.7", "8.7", "8.7"},
        Row{"-3", "0.05", "-3", "-3", "-3"}, Row{"0.29", "0.01", "0.29", "0.29", "0.29"},
        Row{"12.5", "5", "10", "15", "10"}}) {
    auto rounded = [&](RoundingMode mode) {
      return first(round_to(from<N>(row.value), from<N>(row.step), N(N(1) / from<N>(row.step)), mode));
    };
    EXPECT_NEAR(rounded(RoundingMode::half_even), std::stod(row.even), last_digit) << row.value;
    EXPECT_NEAR(rounded(RoundingMode::half_up), std::stod(row.up), last_digit) << row.value;
    EXPECT_NEAR(rounded(RoundingMode::down), std::stod(row.down), last_digit) << row.value;
  }
}

TYPED_TEST(EveryArithmetic, ACeilingOfAQuotient) {
  using N = TypeParam;
  EXPECT_EQ(first(ceiling(N(from<N>("8.7") / from<N>("2.9")))), 3);  // 3.000…01 in fifty digits
  EXPECT_EQ(first(ceiling(from<N>("3.00000001"))), 4);
  EXPECT_EQ(first(ceiling(from<N>("2.9999999"))), 3);
  EXPECT_EQ(first(ceiling(N(0))), 0);
}

TYPED_TEST(EveryArithmetic, EqualToOnePartInAMillionMillion) {
  using N = TypeParam;
  const N one = from<N>("700"), near = from<N>("699.9999999999"), far = from<N>("699.9999");
  EXPECT_TRUE(holds(at_least(near, one)));
  EXPECT_TRUE(holds(at_most(one, near)));
  EXPECT_TRUE(holds(same(near, one)));
  EXPECT_TRUE(holds(no(above(one, near))));
  EXPECT_TRUE(holds(no(at_least(far, one))));
  EXPECT_TRUE(holds(above(one, far)));
  EXPECT_TRUE(holds(at_least(N(-near), N(-one))));
  EXPECT_TRUE(holds(at_least(N(0), N(0))));
  EXPECT_EQ(first(whole_steps(from<N>("0.3"), N(0), from<N>("0.1"), from<N>("10"))), 3);
  EXPECT_EQ(first(whole_steps(from<N>("0.2999"), N(0), from<N>("0.1"), from<N>("10"))), 2);
  EXPECT_LT(first(whole_steps(from<N>("0.1"), from<N>("0.2"), from<N>("0.1"), from<N>("10"))), 0);
  EXPECT_EQ(first(ratio(N(5), N(0))), 0);
}

// ---- Uncertain quantities, dates -----------------------------------------------------------------

TEST(Uncertain, MeansByShape) {
  using Shape = Distribution::Shape;
  auto mean_of = [](Shape shape, const char* a, const char* b, const char* c) {
    return mean({shape, Decimal(a), Decimal(b), Decimal(c), {}});
  };
  EXPECT_EQ(mean_of(Shape::normal, "5", "2", "0"), 5);
  // A third is not exact in decimals, and compilers choose between two ways of dividing.
  EXPECT_LE(abs(mean_of(Shape::triangular, "1", "2", "6") - 3), Decimal("1e-48"));
  EXPECT_EQ(mean_of(Shape::uniform, "1", "4", "0"), Decimal("2.5"));
  EXPECT_EQ(mean_of(Shape::lognormal, "5", "1", "0"), 5);
  // Median 10, gsd e: mean 10 x exp(1/2) = 16.4872127070013 [C].
  EXPECT_LE(abs(mean_of(Shape::lognormal, "10", "2.718281828459045235360287471352662497757", "0") -
                Decimal("16.4872127070012814684865078781416357165")),
            Decimal("1e-35"));
  Distribution five{Shape::determinations, 0, 0, 0, {Decimal("85.34"), Decimal("85.30")}};
  EXPECT_EQ(mean(five), Decimal("85.32"));  // seller and buyer [P: ophirrefinery.com, "Assaying"]
}

TEST(Dates, DaysThatExist) {
  EXPECT_TRUE(read_date("2026-03-02").has_value());
  EXPECT_TRUE(read_date("2024-02-29").has_value());
  for (const char* text : {"2026-02-29", "2026-13-01", "2026-1-02", "02-03-2026", "2026/03/02", "2026-03-02 ",
                           "", "2026-00-10", "-026-03-02"})
    EXPECT_FALSE(read_date(text).has_value()) << text;
}

}  // namespace
}  // namespace buttonworth::test
