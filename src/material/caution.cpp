#include "material/caution.hpp"

#include <cmath>

#include "material/formula.hpp"
#include "material/mineral.hpp"
#include "quantity/figures.hpp"

namespace buttonworth {
namespace {

const std::string rules = " Local rules and licensed practice come first.";
const std::string steam =
    "trapped water flashes to steam and throws molten metal. Preheat charge, flux, tools and moulds.";

constexpr double much_gas = 0.05;  // of the charge

std::string three_digits(double value) {
  const double grain = value >= 1000 ? std::pow(10.0, std::floor(std::log10(value)) - 2) : 0;
  return to_text(grain > 0 ? std::round(value / grain) * grain : value, Digits{3, 12, 0});
}

}  // namespace

Hazard hazard_of(std::string_view analyte) {
  Hazard hazard;
  const std::string_view formula = mineral_formula(analyte);
  const auto atoms = read_formula(formula);
  if (!atoms) return hazard;
  for (const auto& [symbol, count] : *atoms) {
    hazard.mercury |= symbol == "Hg";
    hazard.fume |= symbol == "As" || symbol == "Sb" || symbol == "Pb" || symbol == "Te" || symbol == "Cd" ||
                   symbol == "Se";
  }
  hazard.silica = formula == "SiO2";
  hazard.metal = formula == "Fe" || formula == "Zn" || formula == "Al" || formula == "Mg";
  hazard.sulphur = element_share(formula, "S");
  return hazard;
}

std::vector<Caution> heat_cautions(const HeatVisit& visit, bool mercury_tested) {
  const Dangers& found = visit.dangers;
  std::vector<Caution> cautions;
  auto say = [&](const std::string& what) { cautions.push_back({*visit.step, what + rules}); };
  if (found.mercury)
    say("Stop: mercury goes into heat here. No open heating: its vapour poisons without a smell. A "
        "retort and licensed handling are needed first; see the Minamata Convention.");
  if (!mercury_tested && !found.mercury)
    say("Mercury was not tested: have the lot assayed for it before anything is heated.");
  if (found.fume)
    say("Arsenic, antimony, lead, cadmium, selenium or tellurium goes into heat here: poisonous fume. "
        "Engineered extraction and fume treatment, not a mask and an open door.");
  if (found.much_sulphur)
    say("Over 2 % sulphur goes into heat here: sulphur dioxide. Engineered extraction and gas "
        "treatment.");
  if (visit.work.melts && found.damp) say("The charge is not quite dry: " + steam);
  if (visit.work.nitrate && (found.sulphur || found.metal))
    say("Nitrate with sulphides or metal powder reacts violently and foams over: small doses, never "
        "stored together, tried on a small charge by somebody trained.");
  if (visit.work.dust || found.silica)
    say("Dust of dry sand holds crystalline silica, which scars the lungs: keep it damp or enclosed, "
        "extraction and fitted respirators.");
  return cautions;
}

std::vector<Caution> flux_cautions(const FluxDangers& found) {
  std::vector<Caution> cautions;
  auto tell = [&](const char* at, const std::string& what) { cautions.push_back({at, what}); };
  auto warn = [&](const char* at, const std::string& what) { tell(at, what + rules); };
  warn("charge", "The charge is taken as dry: " + steam);
  if (found.hydrates)
    warn("charge",
         "Water of crystallisation goes into heat here: it swells, spits and throws fines out. Anhydrous "
         "borax, or what was calcined first, does not.");
  if (above(found.gas, much_gas))
    warn("gas", "Gas leaves the melt, " + three_digits(100 * found.gas) + " % of the charge's mass and " +
                    three_digits(found.gas_litres) +
                    " L at the furnace's heat: it foams. Leave room in the crucible, heat slowly, add the "
                    "charge in small lots, stand clear.");
  if (found.chlorine) warn("gas", "Chlorine leaves the melt, a poisonous gas: engineered extraction.");
  if (found.matte > 0)
    warn("matte", "Matte, " + three_digits(found.matte) +
                      " kg, lies between bar and slag and keeps gold that no figure here counts: have it "
                      "assayed. Oxygen (nitrate) avoids it. Roasting it gives off sulphur dioxide.");
  if (found.base_metal > 0)
    tell("bar", "Base metal, " + three_digits(found.base_metal) +
                    " kg, finds no oxygen and goes to the bar, which is the less fine by it.");
  if (found.loose_sulphate > 0)
    warn("slag", "Sulphate, " + three_digits(found.loose_sulphate) +
                     " kg of it as SO3, finds no soda, potash or lime to stay with: it leaves as sulphur "
                     "dioxide. Soda ash holds it.");
  if (found.unnamed > 0)
    tell("charge", three_digits(100 * found.unnamed) +
                       " % of the charge is named by no mineral and counts as inert: the oxygen, silica or "
                       "soda it wants is not in these figures.");
  if (found.corrosive)
    warn("crucible",
         "Soda, nitrate, litharge and fluorspar eat the lining of a crucible, and nitrate burns graphite "
         "and silicon carbide: look at it before every melt, and stand it over a dry tray that holds all "
         "of the charge.");
  return cautions;
}

}  // namespace buttonworth
