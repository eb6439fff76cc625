// The rules of sale are templates; this file makes sure that they stand on this room alone.
#include "sale/settle.hpp"
