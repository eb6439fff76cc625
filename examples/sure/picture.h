/* Pictures of the answers, as SVG. */
#ifndef SURE_PICTURE_H
#define SURE_PICTURE_H

#include "sure.h"
#include "svg.h"

/* Draws all that the answers allow into a folder, which is made where it is not there: ranges.svg, lead.svg,
 * cut-1.svg for each table of the route, map-1.svg for each map. 0 where one cannot be written, which was
 * told. */
int draw_pictures(Sure* sure, const char* folder);

/* Each of them, into a file. */
int draw_ranges(Sure* sure, const char* file);
int draw_lead(Sure* sure, const char* file);
int draw_cut(Sure* sure, size_t cut, const char* file);
int draw_map(Sure* sure, size_t map, const char* file);

#endif
