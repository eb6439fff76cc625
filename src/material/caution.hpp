// Cautions: where what is in a stream can hurt the people who work it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "material/stream.hpp"

namespace buttonworth {

struct Caution {
  std::string at;  ///< step, terms or lot
  std::string what;
};

/// What of an analyte matters to a person near heat or dust; read from its name, a mineral's or a formula.
struct Hazard {
  bool mercury = false;
  bool fume = false;    ///< arsenic, antimony, lead, cadmium, selenium or tellurium
  bool silica = false;  ///< SiO2
  bool metal = false;   ///< a base metal that burns as powder: iron, zinc, aluminium, magnesium
  Decimal sulphur;      ///< its share of sulphur
};

Hazard hazard_of(std::string_view analyte);

/// What a step does to its feed.
struct HotWork {
  bool heat = false;  ///< dries or melts
  bool melts = false;
  bool dust = false;     ///< raises dust
  bool nitrate = false;  ///< nitrate in the flux
};

/// What of a feed matters near heat.
struct Dangers {
  bool mercury = false, fume = false, silica = false, metal = false, sulphur = false, much_sulphur = false,
       damp = false;
  bool operator==(const Dangers&) const = default;
};

/// Sulphur is much above 2 % of the dry feed; the others count from any content.
template <Scalar N>
Dangers dangers_of(const std::vector<Hazard>& hazards, const Stream<N>& feed) {
  Dangers found;
  N sulphur(0);
  for (std::size_t a = 0; a < hazards.size(); ++a) {
    if (!(feed.content[a] > N(0))) continue;
    found.mercury |= hazards[a].mercury;
    found.fume |= hazards[a].fume;
    found.silica |= hazards[a].silica;
    found.metal |= hazards[a].metal;
    if (hazards[a].sulphur > 0) sulphur += feed.content[a] * number<N>(hazards[a].sulphur);
  }
  found.sulphur = sulphur > N(0);
  found.much_sulphur = above(sulphur, N(feed.dry * number<N>(power_of_ten(-2) * 2)));
  found.damp = feed.water > N(0);
  return found;
}

/// A feed that came to a step with heat.
struct HeatVisit {
  const std::string* step;
  HotWork work;
  Dangers dangers;
};

/// The cautions of a visit. `mercury_tested`: whether anybody assayed for mercury.
std::vector<Caution> heat_cautions(const HeatVisit& visit, bool mercury_tested);

/// What of a charge with its flux matters at the furnace, beside what heat_cautions tells.
struct FluxDangers {
  double gas = 0;             ///< that leaves the melt, as a share of the charge
  double gas_litres = 0;      ///< at the furnace's heat
  double matte = 0;           ///< kg
  double base_metal = 0;      ///< kg that goes to the bar
  double loose_sulphate = 0;  ///< kg of SO3 in the slag that nothing holds there
  double unnamed = 0;         ///< share of the charge that no mineral names
  bool hydrates = false;      ///< water of crystallisation
  bool chlorine = false;      ///< some leaves as gas
  bool corrosive = false;     ///< soda, nitrate, litharge or fluorspar in the melt
};

/// Gas is much above 5 % of the charge.
std::vector<Caution> flux_cautions(const FluxDangers& found);

}  // namespace buttonworth
