/* Pictures of the answers, as SVG. */
#ifndef SURE_PICTURE_H
#define SURE_PICTURE_H

#include "sure.h"

/* Draws all that the answers allow into a folder, which is made where it is not there: ranges.svg, lead.svg,
 * cut-1.svg for each table of the route, map-1.svg for each map. 0 where one cannot be written, which was
 * told. */
int draw_pictures(Sure* sure, const char* folder);

#endif
