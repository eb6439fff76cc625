#include "plan_generator.hpp"

#include <map>

#include "support.hpp"

namespace buttonworth::test {
namespace {

struct Range {
  double low, high;
  int places;
};

const std::map<std::string, Range> assay_ranges{{"Au", {50, 3000, 2}},  {"Ag", {20, 2500, 1}},
                                                {"As", {100, 9000, 1}}, {"Pb", {100, 20000, 0}},
                                                {"Sb", {50, 4000, 1}},  {"Fe", {20000, 250000, 0}}};

/// What a stream is to a buyer, and whether it may go into a furnace.
enum class Goods { concentrate, pieces, bar };

class PlanMaker {
 public:
  PlanMaker(Random& random, const PlanWishes& wishes) : r_(random), wishes_(wishes) {}

  OrderedJson make() {
    OrderedJson plan{{"format", "buttonworth-plan/1"}, {"currency", "USD"}};
    plan["exchange"] = {{"PEN", r_.quantity(0.2, 0.35, 4, "USD")}};
    plan["prices"] = {{"Au", r_.quantity(1800, 3200, 2, "USD/ozt")},
                      {"Ag", r_.quantity(18, 40, 2, "USD/ozt")},
                      {"Pb", r_.quantity(0.7, 1.2, 3, "USD/lb")}};
    plan["discount"] = r_.chance(0.1) ? "0 %/a" : r_.quantity(1, 30, 1, "%/a");
    if (r_.chance(0.7)) plan["day"] = r_.quantity(4, 24, 1, "h");
    choose_analytes();
    plan["lot"] = lot();
    plan["steps"] = steps();
    plan["terms"] = {{"smelter", terms(Goods::concentrate)},
                     {"trader", terms(Goods::pieces)},
                     {"refiner", terms(Goods::bar)}};
    if (r_.chance(0.5)) plan["levies"] = levies();
    for (const char* name : {"first", "second", "third"})
      if (r_.chance(name[0] == 'f' ? 1.0 : 0.5)) plan["routes"][name] = route();
    return wishes_.uncertain ? with_distributions(plan) : plan;
  }

 private:
  void choose_analytes() {
    analytes_ = {"Au"};
    for (const auto& [name, range] : assay_ranges)
      if (name != "Au" && r_.chance(0.6)) analytes_.push_back(name);
    r_.shuffle(analytes_);
  }

  OrderedJson lot() {
    OrderedJson lot;
    if (r_.chance(0.4)) {
      for (int i = r_.whole(1, 4); i > 0; --i) lot["parts"].push_back(part(1));
    } else {
      lot = random_lot(r_, analytes_);
    }
    if (r_.chance(0.3)) lot["credited"] = r_.quantity(0, 900, 2, r_.chance(0.5) ? "USD" : "PEN");
    pieces_ = r_.chance(0.3);
    if (pieces_)
      lot["apart"] = {
          {"nuggets",
           {{"mass", r_.quantity(5, 900, 2, "g")},
            {"assays", {{"Au", r_.quantity(700, 900, 1, "fine")}, {"Ag", r_.quantity(50, 90, 1, "fine")}}}}}};
    return lot;
  }
  OrderedJson part(int depth) {
    if (depth < 3 && r_.chance(0.2)) return {{"parts", {part(depth + 1), part(depth + 1)}}};
    std::vector<std::string> assayed = analytes_;
    if (assayed.size() > 1 && r_.chance(0.2)) assayed.pop_back();
    return random_lot(r_, assayed);
  }

  // ---- Steps -------------------------------------------------------------------------------------

  OrderedJson steps() {
    return {
        {"shaker", table()}, {"cleaner", table()}, {"magnet", split()}, {"pan", dry()}, {"furnace", melt()}};
  }

  OrderedJson basics(const char* kind) {
    OrderedJson step{{"kind", kind}};
    if (r_.chance(0.6))
      step["rate"] = r_.chance(0.5) ? r_.quantity(10, 200, 1, "kg/h") : r_.quantity(0.01, 0.2, 3, "t/h");
    if (r_.chance(0.4))
      step["wait"] = r_.chance(0.5) ? r_.quantity(0.5, 4, 2, "d") : r_.quantity(10, 600, 0, "min");
    return step;
  }
  void cost(OrderedJson& step, const char* what, const std::string& rate) {
    if (r_.chance(0.4)) step["cost"].push_back({{"what", what}, {"rate", rate}});
  }
  void common_costs(OrderedJson& step, bool hours) {
    if (hours) cost(step, "labour", r_.quantity(2, 30, 2, "USD/h"));
    cost(step, "handling", r_.quantity(5, 90, 2, "USD/t"));
    cost(step, "setting up", r_.quantity(5, 90, 2, "PEN/lot"));
    if (r_.chance(0.2))
      step["cost"].push_back({{"what", "haulage"}, {"rate", r_.quantity(2, 20, 2, "USD/t")}, {"of", "wet"}});
  }

  OrderedJson curve_of(const std::string& analyte) {
    if (analyte == "Fe")
      return r_.chance(0.5) ? OrderedJson{{"as", "gangue"}} : OrderedJson{{"odds", r_.decimal(0.7, 1.4, 2)}};
    const bool gold = analyte == "Au";
    switch (r_.whole(0, gold ? 4 : 3)) {
      case 0: return logit(r_.decimal(gold ? 3.2 : 0.4, gold ? 5 : 2.2, 2), r_.decimal(0.85, 1.2, 2));
      case 1:
        return {{"limit_recovery", r_.quantity(gold ? 95.5 : 40, 100, 1, "%")},
                {"rate", r_.decimal(gold ? 15 : 1.5, gold ? 70 : 6, 1)}};
      case 2:
      case 3: return {{"odds", gold ? r_.decimal(40, 300, 1) : r_.decimal(1.5, 12, 2)}};
      default: break;
    }
    const double first = r_.real(1.5, 4), step = r_.real(2, 10);
    return pairs({{percent(first), percent(r_.real(40, 60))},
                  {percent(first + step), percent(r_.real(60, 80))},
                  {percent(first + 3 * step), percent(r_.real(80, 95))}});
  }
  static OrderedJson logit(const std::string& a, const std::string& b) {
    return {{"logit", std::vector<std::string>{a, b}}};
  }
  static std::string percent(double value) { return std::to_string(value) + " %"; }

  OrderedJson table() {
    OrderedJson step = basics("table");
    common_costs(step, step.contains("rate"));
    for (const std::string& analyte : analytes_) step["curve"][analyte] = curve_of(analyte);
    for (auto& [analyte, curve] : step["curve"].items())
      if (analyte == "Ag" && r_.chance(0.4)) curve = {{"as", "Au"}};
    if (r_.chance(0.3)) step["limit"] = {{"Au", r_.quantity(1, 90, 1, "%")}};
    const double kind = r_.real(0, 1);
    if (!wishes_.solved_cuts || kind < 0.5) step["cut"] = {{"pull", r_.quantity(2, 20, 2, "%")}};
    else if (kind < 0.75) step["cut"] = {{"recovery", r_.quantity(40, 95, 1, "%")}, {"of", "Au"}};
    else step["cut"] = {{"grade", r_.quantity(1000, 9000, 0, "g/t")}, {"of", "Au"}};
    if (r_.chance(0.5)) step["middlings"] = r_.quantity(1, 15, 1, "%");
    if (r_.chance(0.5))
      step["moisture"] = {{"concentrate", r_.quantity(3, 30, 1, "%")},
                          {"tailings", r_.quantity(3, 30, 1, "%")}};
    if (wishes_.best_cut) {
      step["cut"] = "best";
      step["search"] = {r_.quantity(1.5, 3, 2, "%"), r_.quantity(15, 40, 1, "%")};
    }
    return step;
  }

  OrderedJson split() {
    OrderedJson step = basics("split");
    common_costs(step, step.contains("rate"));
    OrderedJson drawn{{"mass", r_.quantity(5, 40, 1, "%")}};
    for (const std::string& analyte : analytes_)
      if (r_.chance(0.5)) drawn[analyte] = r_.quantity(0.1, analyte == "Fe" ? 50 : 5, 2, "%");
    step["into"] = {{"drawn", drawn}, {"rest", OrderedJson::object()}};
    if (r_.chance(0.3)) step["into"]["coarse"] = {{"mass", r_.quantity(1, 20, 1, "%")}};
    coarse_ = step["into"].contains("coarse");
    return step;
  }

  OrderedJson dry() {
    OrderedJson step = basics("dry");
    step["to"] = r_.chance(0.3) ? "0.5 %" : r_.quantity(0.1, 0.5, 2, "%");
    step["dust"] = r_.quantity(0, 2, 2, "%");
    if (r_.chance(0.5)) step["ambient"] = r_.quantity(-10, 35, 0, "degC");
    if (r_.chance(0.5)) step["efficiency"] = r_.quantity(20, 80, 0, "%");
    common_costs(step, step.contains("rate"));
    cost(step, "power", r_.quantity(0.05, 0.4, 3, "USD/kWh"));
    if (r_.chance(0.5)) {
      step["fuel"] = {
          {"heat", r_.chance(0.5) ? r_.quantity(30, 40, 1, "MJ/L") : r_.quantity(8, 11, 2, "kWh/L")}};
      cost(step, "gas oil", r_.quantity(0.5, 2, 2, "USD/L"));
    }
    return step;
  }

  OrderedJson melt() {
    OrderedJson step{{"kind", "melt"}};
    if (r_.chance(0.5)) step["slag_grade"] = {{"Au", r_.quantity(0.5, 20, 1, "g/t")}};
    else step["to_bar"] = {{"Au", r_.quantity(90, 99.9, 2, "%")}};
    for (const std::string& analyte : analytes_) {
      if (analyte == "Ag" || analyte == "Pb") step["to_bar"][analyte] = r_.quantity(5, 90, 1, "%");
      if ((analyte == "As" || analyte == "Pb") && r_.chance(0.7))
        step["to_fume"][analyte] = r_.quantity(1, 10, 1, "%");
    }
    step["flux"] = {{{"reagent", "borax"},
                     {"dose", r_.quantity(0.1, 1, 2, "kg/kg")},
                     {"price", r_.quantity(1, 5, 2, "USD/kg")}},
                    {{"reagent", "soda ash"}, {"dose", r_.quantity(0.1, 1, 2, "kg/kg")}, {"of", "gangue"}},
                    {{"reagent", "iron filings"}, {"dose", "0.05 kg/kg"}, {"stays", "100 %"}}};
    if (r_.chance(0.6))
      step["crucible"] = {{"volume", r_.quantity(1, 12, 1, "L")},
                          {"fill", r_.quantity(50, 80, 0, "%")},
                          {"density", r_.quantity(1.2, 2.4, 1, "kg/L")}};
    const bool hours = r_.chance(0.6);
    if (hours) step["per_melt"] = r_.quantity(20, 120, 0, "min");
    common_costs(step, hours);
    cost(step, "crucible wear", r_.quantity(1, 9, 2, "USD/melt"));
    return step;
  }

  // ---- Terms -------------------------------------------------------------------------------------

  OrderedJson payable(bool gold) {
    OrderedJson pay;
    const char* unit = "g/t";
    if (r_.chance(0.6)) {
      double start = gold ? r_.real(1, 100) : r_.real(1, 50), share = r_.real(60, 85);
      for (int i = r_.whole(1, 4); i > 0; --i) {
        pay["bands"].push_back(OrderedJson::array({std::to_string(start) + ' ' + unit, percent(share)}));
        start *= r_.real(2, 6);
        share += r_.real(0.5, 3);
      }
    } else if (r_.chance(0.8)) {
      pay["share"] = r_.quantity(70, 99, 2, "%");
    }
    if (r_.chance(0.5)) pay["less"] = r_.quantity(0.1, 30, 1, unit);
    if (r_.chance(0.5)) pay["order"] = r_.pick<std::string>({"lower of", "less first", "share first"});
    if (r_.chance(0.2)) pay["price_share"] = r_.quantity(90, 115, 1, "%");
    if (r_.chance(0.6)) pay["refining"] = r_.quantity(0.2, 10, 2, "USD/ozt");
    if (r_.chance(0.3)) pay["refining_of"] = r_.pick<std::string>({"payable", "gross", "settled"});
    return pay;
  }

  OrderedJson penalty(const std::string& analyte) {
    OrderedJson penalty{{"for", analyte}};
    if (r_.chance(0.2)) penalty["for"] = {analyte, r_.pick(analytes_)};
    if (penalty["for"].is_array() && penalty["for"][0] == penalty["for"][1]) penalty["for"] = analyte;
    auto step = [&](double above) {
      return OrderedJson{{"above", std::to_string(above) + " ppm"},
                         {"each", r_.quantity(50, 900, 0, "g/t")},
                         {"rate", r_.quantity(0.5, 5, 2, "USD/t")}};
    };
    const double first = r_.real(0, 3000);
    switch (r_.whole(0, 2)) {
      case 0: penalty.update(step(first)); break;
      case 1: penalty["marginal"] = {step(first), step(first * 2 + 500), step(first * 4 + 2000)}; break;
      default:
        penalty["whole"] = {
            {{"up_to", std::to_string(first) + " g/t"}, {"rate", "0 USD/t"}},
            {{"up_to", std::to_string(first * 2 + 100) + " g/t"}, {"rate", r_.quantity(1, 30, 2, "USD/t")}}};
    }
    if (!penalty.contains("whole") && r_.chance(0.4)) penalty["count"] = "whole";
    if (r_.chance(0.15)) penalty["refuse_above"] = r_.quantity(5000, 90000, 0, "ppm");
    return penalty;
  }

  OrderedJson charges(bool bands_in_value) {
    OrderedJson list = OrderedJson::array();
    list.push_back({{"what", "treatment"}, {"rate", r_.quantity(100, 900, 0, "USD/t")}});
    if (r_.chance(0.5)) list.back()["of"] = r_.pick<std::string>({"wet", "dry", "gross"});
    if (r_.chance(0.5)) list.push_back({{"what", "sampling"}, {"rate", r_.quantity(10, 900, 2, "USD/lot")}});
    if (r_.chance(0.5))
      list.push_back(
          {{"what", "insurance"}, {"rate", r_.quantity(0.05, 2, 2, "%")}, {"of", "payable value"}});
    if (bands_in_value && r_.chance(0.5))
      list.push_back(
          {{"what", "assay exchange"}, {"rate", r_.quantity(0.1, 2, 2, "USD/ozt")}, {"of", "payable Au"}});
    if (r_.chance(0.3)) list.back()["at_least"] = r_.quantity(5, 100, 2, "USD");
    if (r_.chance(0.3)) list.back()["at_most"] = r_.quantity(100, 5000, 2, "USD");
    return list;
  }

  OrderedJson accepts() {
    OrderedJson limits;
    if (r_.chance(0.3)) limits["mass"] = {{"min", r_.quantity(0.01, 20, 2, "kg")}};
    if (r_.chance(0.3)) limits["moisture"] = {{"max", r_.quantity(8, 30, 1, "%")}};
    if (r_.chance(0.3)) limits["Au"] = {{"min", r_.quantity(1, 60, 1, "g/t")}};
    if (r_.chance(0.2)) limits["Hg"] = {{"max", "50 ppm"}};
    return limits;
  }

  OrderedJson terms(Goods goods) {
    constexpr const char* buys[] = {"concentrate", "nuggets", "bar"};
    OrderedJson terms{{"buys", buys[static_cast<int>(goods)]}};
    if (r_.chance(0.6)) terms["transit"] = r_.quantity(0, 15, 1, "d");
    if (r_.chance(0.5)) terms["accepts"] = accepts();
    if (terms.contains("accepts") && terms["accepts"].is_null()) terms.erase("accepts");
    if (r_.chance(0.4)) terms["mass_deduction"] = r_.quantity(0.1, 1, 2, "%");
    if (goods != Goods::concentrate && r_.chance(0.5)) {
      terms["melt_loss"] = {{"mass", r_.quantity(0.5, 3, 2, "%")}, {"Au", r_.quantity(0.01, 0.4, 2, "%")}};
      terms["sample_kept"] = r_.quantity(0, 3, 2, "g");
    }
    if (goods == Goods::pieces && r_.chance(0.3))
      terms["deemed"] = {{"Au", r_.quantity(500, 900, 0, "fine")}};
    terms["pay"]["Au"] = payable(true);
    if (r_.chance(0.6)) terms["pay"]["Ag"] = payable(false);
    for (auto& [metal, pay] : terms["pay"].items())
      if (pay.is_null()) pay = OrderedJson::object();
    terms["charges"] = charges(true);
    for (const std::string& analyte : analytes_)
      if (analyte != "Au" && analyte != "Ag" && r_.chance(0.5))
        terms["penalties"].push_back(penalty(analyte));
    if (wishes_.participation && r_.chance(0.3))
      terms["participation"] = {{{"for", "Au"},
                                 {"above", r_.quantity(1500, 2500, 0, "USD/ozt")},
                                 {"each", "1 USD/ozt"},
                                 {"rate", r_.quantity(0.01, 0.05, 3, "USD/t")}}};
    if (r_.chance(0.6)) {
      terms["advance"] = {{"share", r_.quantity(70, 95, 1, "%")}, {"after", r_.quantity(0, 10, 0, "d")}};
      if (r_.chance(0.6)) terms["advance"]["interest"] = r_.quantity(2, 12, 1, "%/a");
      terms["final"] = r_.quantity(10, 90, 0, "d");
    }
    if (wishes_.rounding && r_.chance(0.5)) {
      terms["rounding"] = {{"money", r_.pick<std::string>({"0.01 USD", "1 USD", "5 PEN"})},
                           {"Au", "0.01 g/t"},
                           {"mode", r_.pick<std::string>({"half even", "half up", "down"})}};
    }
    if (r_.chance(0.2)) terms["factors"] = {{"g per ozt", "31.1035"}, {"lb per t", "2204.62"}};
    return terms;
  }

  OrderedJson levies() {
    std::vector<std::string> bases{"payable value", "proceeds"};
    if (wishes_.gross_levies) bases.emplace_back("gross value");
    OrderedJson levy{{"what", "royalty"},
                     {"rate", r_.quantity(1, 8, 1, "%")},
                     {"of", r_.pick(bases)},
                     {"after", r_.quantity(0, 40, 0, "d")}};
    if (r_.chance(0.5))
      levy["refund"] = {{"share", r_.quantity(10, 100, 0, "%")}, {"after", r_.quantity(0, 90, 0, "d")}};
    return OrderedJson::array({levy});
  }

  // ---- Routes ------------------------------------------------------------------------------------

  OrderedJson route() {
    OrderedJson whole = wishes_.best_cut ? tabled(0) : node(0, Goods::concentrate, false);
    if (!pieces_) return whole;
    return {{"lot", whole}, {"nuggets", node(2, Goods::pieces, true)}};
  }
  OrderedJson end(Goods goods) {
    const double what = r_.real(0, 1);
    if (what < 0.15)
      return {{"return", {{"Au", r_.quantity(20, 80, 0, "%")}, {"Ag", r_.quantity(20, 80, 0, "%")}}},
              {"after", r_.quantity(0, 40, 0, "d")}};
    if (what < 0.25) return {{"keep", true}};
    if (what < 0.28) return {{"sell", r_.pick<std::string>({"smelter", "trader", "refiner"})}};
    return {{"sell", goods == Goods::bar ? "refiner" : goods == Goods::pieces ? "trader" : "smelter"}};
  }
  OrderedJson node(int depth, Goods goods, bool dry) {
    if (depth >= 4 || goods == Goods::bar || r_.chance(0.25)) return end(goods);
    switch (r_.whole(0, goods == Goods::pieces ? 2 : 3)) {
      case 0: return {{"step", "pan"}, {"dried", node(depth + 1, goods, true)}};
      case 1: return split_into(depth, goods, dry);
      case 2: return melted(depth, dry);
      default: return tabled(depth);
    }
  }
  OrderedJson split_into(int depth, Goods goods, bool dry) {
    OrderedJson made{{"step", "magnet"}};
    made["drawn"] = node(depth + 1, goods, dry);
    made["rest"] = node(depth + 1, goods, dry);
    if (coarse_) made["coarse"] = node(depth + 1, r_.chance(0.5) ? Goods::pieces : goods, dry);
    return made;
  }
  OrderedJson melted(int depth, bool dry) {
    const OrderedJson melt{
        {"step", "furnace"},
        {"bar", end(Goods::bar)},
        {"slag", r_.chance(0.5) ? OrderedJson{{"keep", true}} : node(depth + 2, Goods::concentrate, true)}};
    return dry || r_.chance(0.05) ? melt : OrderedJson{{"step", "pan"}, {"dried", melt}};
  }
  OrderedJson tabled(int depth) {
    const bool first = depth == 0 && wishes_.best_cut;
    OrderedJson made{{"step", first || r_.chance(0.5) ? "shaker" : "cleaner"}};
    // With a best cut, tables stand at the head of a route alone: one cut to search.
    auto next = [&](int d) { return wishes_.best_cut ? untabled(d) : node(d, Goods::concentrate, false); };
    made["concentrate"] = next(depth + 1);
    made["middlings"] = next(depth + 2);
    made["tailings"] = next(depth + 3);
    return made;
  }
  OrderedJson untabled(int depth) { return r_.chance(0.5) ? melted(depth, false) : end(Goods::concentrate); }

  // ---- Uncertain quantities ----------------------------------------------------------------------

  /// Some masses, times and prices as distributions with the same mean.
  OrderedJson with_distributions(const OrderedJson& value) {
    if (value.is_object()) {
      OrderedJson out = OrderedJson::object();
      for (auto& [name, member] : value.items())
        out[name] = name == "factors" || name == "cut" ? member : with_distributions(member);
      return out;
    }
    if (value.is_array()) {
      OrderedJson out = OrderedJson::array();
      for (const OrderedJson& item : value) out.push_back(with_distributions(item));
      return out;
    }
    if (!value.is_string() || !r_.chance(0.1)) return value;
    const std::string text = value;
    for (const char* unit : {" kg", " d", " USD/ozt", " USD/lot", " USD/h", " L", " kg/h"})
      if (text.ends_with(unit) && text[0] >= '0' && text[0] <= '9' && text.find('.') != text.npos)
        return distribution(text);
    return value;
  }
  OrderedJson distribution(const std::string& q) {
    switch (r_.whole(0, 3)) {
      case 0: return {{"value", q}, {"rsd", "5 %"}};
      case 1: return {{"value", q}, {"sd", q}};
      case 2: return {{"median", q}, {"gsd", "1.15"}};
      default: return {{"values", {q, q, q, q}}};
    }
  }

  Random& r_;
  const PlanWishes wishes_;
  std::vector<std::string> analytes_;
  bool pieces_ = false, coarse_ = false;
};

// ---- The same in other units -------------------------------------------------------------------

/// Units of one size class: how many of the second are one of the first, as above ÷ below, exactly.
struct Equal {
  const char *unit, *other, *above, *below;
};
// Definitions of the units; a % is also 10 fine wherever a % may stand.
constexpr Equal equals[] = {
    {"kg", "g", "1000", "1"},
    {"kg", "t", "1", "1000"},
    {"kg", "lb", "1", "0.45359237"},
    {"g", "kg", "1", "1000"},
    {"g", "ozt", "1", "31.1034768"},
    {"g", "gr", "1", "0.06479891"},
    {"g/t", "ppm", "1", "1"},
    {"g/t", "%", "1", "10000"},
    {"g/t", "kg/t", "1", "1000"},
    {"g/t", "ppb", "1000", "1"},
    {"g/t", "mg/kg", "1", "1"},
    {"g/t", "fine", "1", "1000"},
    {"ppm", "g/t", "1", "1"},
    {"ppm", "ozt/t", "1", "31.1034768"},
    {"%", "fine", "10", "1"},
    {"fine", "%", "1", "10"},
    {"h", "min", "60", "1"},
    {"h", "d", "1", "24"},
    {"min", "h", "1", "60"},
    {"d", "h", "24", "1"},
    {"d", "min", "1440", "1"},
    {"kg/h", "t/h", "1", "1000"},
    {"t/h", "kg/h", "1000", "1"},
    {"kWh/L", "MJ/L", "3.6", "1"},
    {"MJ/L", "kWh/L", "1", "3.6"},
    {"L", "m3", "1", "1000"},
    {"kg/L", "t/m3", "1", "1"},
    {"USD", "USc", "100", "1"},
    {"USD/t", "USD/kg", "1", "1000"},
    {"USD/t", "USc/kg", "1", "10"},
    {"USD/kg", "USD/t", "1000", "1"},
    {"USD/ozt", "USD/g", "1", "31.1034768"},
    {"USD/ozt", "USD/dwt", "1", "20"},
    {"USD/lb", "USD/st", "2000", "1"},
    {"USD/h", "USD/min", "1", "60"},
    {"USD/h", "USD/d", "24", "1"},
    {"USD/kWh", "USD/MJ", "1", "3.6"},
    {"USD/L", "USD/m3", "1000", "1"},
    {"USD/lot", "USc/lot", "100", "1"},
    {"USD/melt", "USc/melt", "100", "1"},
};

/// Ounces and pounds mean something else inside terms with factors of their own.
bool of_fixed_size(const std::string& unit) {
  return unit.find("ozt") == unit.npos && unit.find("lb") == unit.npos && unit.find("dwt") == unit.npos &&
         unit.find("gr") == unit.npos && unit.find("st") == unit.npos;
}

std::string other_unit(const std::string& text, Random& random, bool own_factors) {
  const std::size_t space = text.find(' ');
  if (space == text.npos || !(text[0] == '-' || (text[0] >= '0' && text[0] <= '9'))) return text;
  const std::string unit = text.substr(space + 1);
  std::vector<const Equal*> ways;
  for (const Equal& one : equals)
    if (one.unit == unit && (!own_factors || (of_fixed_size(one.other) && of_fixed_size(unit))))
      ways.push_back(&one);
  if (ways.empty()) return text;
  const Equal& way = *random.pick(ways);
  const Decimal value = Decimal(text.substr(0, space)) * Decimal(way.above) / Decimal(way.below);
  return value.str(40, std::ios_base::fmtflags{}) + ' ' + way.other;
}

OrderedJson rewritten(const OrderedJson& value, Random& random, bool own_factors) {
  if (value.is_object()) {
    own_factors |= value.contains("factors");
    OrderedJson out = OrderedJson::object();
    for (auto& [name, member] : value.items())
      out[name] = name == "factors" || name == "discount" || name == "interest"
                      ? member
                      : rewritten(member, random, own_factors);
    return out;
  }
  if (value.is_array()) {
    OrderedJson out = OrderedJson::array();
    for (const OrderedJson& item : value) out.push_back(rewritten(item, random, own_factors));
    return out;
  }
  return value.is_string() ? OrderedJson(other_unit(value, random, own_factors)) : value;
}

}  // namespace

OrderedJson random_lot(Random& random, const std::vector<std::string>& analytes) {
  OrderedJson lot{{"wet_mass", random.quantity(80, 2000, 1, "kg")}};
  if (random.chance(0.9)) lot["moisture"] = random.quantity(0, 25, 1, "%");
  for (const std::string& name : analytes) {
    const Range& range = assay_ranges.at(name);
    lot["assays"][name] = random.quantity(range.low, range.high, range.places, "g/t");
  }
  return lot;
}

OrderedJson shuffled(const OrderedJson& document, Random& random) {
  if (document.is_array()) {
    OrderedJson out = OrderedJson::array();
    for (const OrderedJson& item : document) out.push_back(shuffled(item, random));
    return out;
  }
  if (!document.is_object()) return document;
  std::vector<std::string> names;
  for (auto& [name, member] : document.items()) names.push_back(name);
  random.shuffle(names);
  OrderedJson out = OrderedJson::object();
  for (const std::string& name : names) out[name] = shuffled(document.at(name), random);
  return out;
}

OrderedJson in_other_units(const OrderedJson& document, Random& random) {
  return rewritten(document, random, false);
}

OrderedJson random_plan(Random& random, const PlanWishes& wishes) { return PlanMaker(random, wishes).make(); }

}  // namespace buttonworth::test
