#include "material/caution.hpp"

#include "material/formula.hpp"

namespace buttonworth {
namespace {

const std::string rules = " Local rules and licensed practice come first.";

struct Found {
  bool mercury = false, fume = false, silica = false, metal = false;
  double sulphur = 0;
};

Found look(const std::vector<Hazard>& hazards, const Stream<double>& feed) {
  Found found;
  for (std::size_t a = 0; a < hazards.size(); ++a) {
    if (!(feed.content[a] > 0)) continue;
    found.mercury |= hazards[a].mercury;
    found.fume |= hazards[a].fume;
    found.silica |= hazards[a].silica;
    found.metal |= hazards[a].metal;
    found.sulphur += feed.content[a] * to_double(hazards[a].sulphur) / feed.dry;
  }
  return found;
}

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

std::vector<Caution> step_cautions(const std::string& step, const HotWork& work,
                                   const std::vector<Hazard>& hazards, bool mercury_tested,
                                   const Stream<double>& feed) {
  constexpr double much_sulphur = 0.02;
  const Found found = look(hazards, feed);
  std::vector<Caution> cautions;
  auto say = [&](const std::string& what) { cautions.push_back({step, what + rules}); };
  if (work.heat && found.mercury)
    say("Stop: mercury goes into heat here. No open heating: its vapour poisons without a smell. A "
        "retort and licensed handling are needed first; see the Minamata Convention.");
  if (work.heat && !mercury_tested)
    say("Mercury was not tested: have the lot assayed for it before anything is heated.");
  if (work.heat && found.fume)
    say("Arsenic, antimony, lead or tellurium goes into heat here: poisonous fume. Engineered "
        "extraction and fume treatment, not a mask and an open door.");
  if (work.heat && found.sulphur > much_sulphur)
    say("Over 2 % sulphur goes into heat here: sulphur dioxide. Engineered extraction and gas "
        "treatment.");
  if (work.melts && feed.water > 0)
    say("The charge is not quite dry: trapped water flashes to steam and throws molten metal. Preheat "
        "charge, flux, tools and moulds.");
  if (work.nitrate && (found.sulphur > 0 || found.metal))
    say("Nitrate with sulphides or metal powder reacts violently and foams over: small doses, never "
        "stored together, tried on a small charge by somebody trained.");
  if (work.dust || found.silica)
    if (work.heat)
      say("Dust of dry sand holds crystalline silica, which scars the lungs: keep it damp or enclosed, "
          "extraction and fitted respirators.");
  return cautions;
}

}  // namespace buttonworth
