#include "material/caution.hpp"

#include "material/formula.hpp"

namespace buttonworth {
namespace {

const std::string rules = " Local rules and licensed practice come first.";

}  // namespace

Hazard hazard_of(std::string_view analyte) {
  Hazard hazard;
  const auto atoms = read_formula(analyte);
  if (!atoms) return hazard;
  for (const auto& [symbol, count] : *atoms) {
    hazard.mercury |= symbol == "Hg";
    hazard.fume |= symbol == "As" || symbol == "Sb" || symbol == "Pb" || symbol == "Te";
  }
  hazard.silica = analyte == "SiO2";
  hazard.metal = analyte == "Fe" || analyte == "Zn" || analyte == "Al" || analyte == "Mg";
  hazard.sulphur = element_share(analyte, "S");
  return hazard;
}

std::vector<Caution> heat_cautions(const HeatVisit& visit, bool mercury_tested) {
  const Dangers& found = visit.dangers;
  std::vector<Caution> cautions;
  auto say = [&](const std::string& what) { cautions.push_back({*visit.step, what + rules}); };
  if (found.mercury)
    say("Stop: mercury goes into heat here. No open heating: its vapour poisons without a smell. A "
        "retort and licensed handling are needed first; see the Minamata Convention.");
  if (!mercury_tested) say("Mercury was not tested: have the lot assayed for it before anything is heated.");
  if (found.fume)
    say("Arsenic, antimony, lead or tellurium goes into heat here: poisonous fume. Engineered "
        "extraction and fume treatment, not a mask and an open door.");
  if (found.much_sulphur)
    say("Over 2 % sulphur goes into heat here: sulphur dioxide. Engineered extraction and gas "
        "treatment.");
  if (visit.work.melts && found.damp)
    say("The charge is not quite dry: trapped water flashes to steam and throws molten metal. Preheat "
        "charge, flux, tools and moulds.");
  if (visit.work.nitrate && (found.sulphur || found.metal))
    say("Nitrate with sulphides or metal powder reacts violently and foams over: small doses, never "
        "stored together, tried on a small charge by somebody trained.");
  if (visit.work.dust || found.silica)
    say("Dust of dry sand holds crystalline silica, which scars the lungs: keep it damp or enclosed, "
        "extraction and fitted respirators.");
  return cautions;
}

}  // namespace buttonworth
