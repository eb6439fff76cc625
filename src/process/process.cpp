// The steps are templates; this file makes sure that they stand on this room alone.
#include "process/cut.hpp"
#include "process/dry.hpp"
#include "process/melt.hpp"
#include "process/split.hpp"
#include "process/table.hpp"
