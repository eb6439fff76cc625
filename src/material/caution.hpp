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

/// What of an analyte matters to a person near heat or dust; read from its name as a formula.
struct Hazard {
  bool mercury = false;
  bool fume = false;    ///< arsenic, antimony, lead or tellurium
  bool silica = false;  ///< SiO2
  bool metal = false;   ///< a base metal that burns as powder: iron, zinc, aluminium, magnesium
  Decimal sulphur;      ///< its share of sulphur
};

Hazard hazard_of(std::string_view analyte);

/// What a step does to its feed.
struct HotWork {
  bool heat = false;     ///< dries or melts
  bool melts = false;
  bool dust = false;     ///< raises dust
  bool nitrate = false;  ///< nitrate in the flux
};

/// The cautions of one feed at one step. `mercury_tested`: whether anybody assayed for mercury.
/// Sulphur counts from 2 % of the dry feed; the others from any content.
std::vector<Caution> step_cautions(const std::string& step, const HotWork& work,
                                   const std::vector<Hazard>& hazards, bool mercury_tested,
                                   const Stream<double>& feed);

}  // namespace buttonworth
