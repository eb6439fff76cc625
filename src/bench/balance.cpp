#include "bench/balance.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "quantity/edge.hpp"
#include "quantity/error.hpp"

namespace buttonworth {
namespace {

void demand(bool right, const std::string& text) {
  if (!right) throw Error(Code::balance, text);
}
bool is_share(double value) { return value >= 0 && at_most(value, 1.0); }
void demand_grade(double grade, const char* of) {
  demand(grade >= 0, std::string("the grade of the ") + of + " is to be 0 or more");
}
void demand_feed(double feed) {
  demand_grade(feed, "feed");
  demand(feed > 0, "a feed without the metal has no recovery: take an analyte that it holds");
}

}  // namespace

ProductShares two_products(double feed, double concentrate, double tailings) {
  demand_feed(feed);
  demand_grade(concentrate, "concentrate");
  demand_grade(tailings, "tailings");
  demand(!same(concentrate, tailings),
         "concentrate and tailings assay alike, which tells nothing of the split: weigh one of them, or take "
         "another analyte");
  demand(at_most(feed, std::max(concentrate, tailings)),
         "the feed is richer than both products: assay all three again, or weigh the products");
  demand(at_least(feed, std::min(concentrate, tailings)),
         concentrate > tailings
             ? "the tailings are richer than the feed: assay both again, or weigh the products"
             : "the feed is poorer than both products: assay all three again, or weigh the "
               "products");
  const double yield = std::clamp((feed - tailings) / (concentrate - tailings), 0.0, 1.0);
  return {yield, yield * concentrate / feed};
}

std::array<double, 2> three_products(const TwoGrades& feed, const TwoGrades& first, const TwoGrades& second,
                                     const TwoGrades& tailings) {
  for (std::size_t k = 0; k < 2; ++k) {
    demand_grade(feed[k], "feed");
    demand_grade(first[k], "first concentrate");
    demand_grade(second[k], "second concentrate");
    demand_grade(tailings[k], "tailings");
  }
  const double a = first[0] - tailings[0], b = second[0] - tailings[0], e = feed[0] - tailings[0];
  const double c = first[1] - tailings[1], d = second[1] - tailings[1], f = feed[1] - tailings[1];
  demand(!same(a * d, b * c),
         "the two analytes do not tell the three products apart: weigh one product, or take another analyte");
  const double determinant = a * d - b * c, one = (e * d - b * f) / determinant,
               two = (a * f - e * c) / determinant;
  demand(at_least(1 + one, 1.0) && at_least(1 + two, 1.0) && at_most(one + two, 1.0),
         "the feed lies outside its products: no split into them has both its grades; assay them again, or "
         "weigh the products");
  return {std::max(one, 0.0), std::max(two, 0.0)};
}

double separation_efficiency(double recovery, double yield, double feed, double mineral) {
  demand_feed(feed);
  demand(is_share(recovery) && is_share(yield), "recovery and yield are to lie between 0 and 100 %");
  demand(
      at_most(mineral, 1.0) && above(mineral, feed),
      "the mineral's grade is to lie above the feed's and up to 100 %: it is the metal in the pure mineral");
  const double share = feed / mineral, of_mineral = recovery * share;
  demand(at_least(yield, of_mineral),
         "the product holds more of the mineral than mass: the mineral's grade is too low, or the product's "
         "assay "
         "too high");
  return recovery - (yield - of_mineral) / (1 - share);
}

double concentration_criterion(double heavy, double light, double fluid) {
  demand(heavy > 0 && light > 0 && fluid >= 0, "densities are to be above 0, of the fluid 0 or more");
  demand(above(heavy, fluid), "the heavy mineral is to be denser than the fluid, or it does not sink");
  demand(
      !same(light, fluid),
      "the light mineral is as dense as the fluid and neither sinks nor rises: the criterion has no limit");
  return (heavy - fluid) / (light - fluid);
}

}  // namespace buttonworth
