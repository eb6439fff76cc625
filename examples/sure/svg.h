/* Drawing as SVG text: a sheet, lines, texts, boxes, and axes with ticks that can be read. Places are in
 * pixels from the upper left corner. */
#ifndef SURE_SVG_H
#define SURE_SVG_H

#include "../page/text.h"

typedef struct Svg {
  Text text;
  double width, height;
  Pool pool; /* freed by svg_write */
} Svg;

/* Colours told apart by colour-blind eyes, and in print by how dark they are. */
extern const char* const svg_colours[];
enum { svg_colour_count = 8 };
#define SVG_INK "#222222"
#define SVG_FAINT "#dddddd"
#define SVG_GREY "#666666"
#define SVG_AHEAD "#0072b2"
#define SVG_BEHIND "#d55e00"

enum { svg_small = 12, svg_normal = 13, svg_large = 17 }; /* sizes of texts */

void svg_open(Svg* svg, double width, double height, const char* title);
/* Ends the drawing and writes it to a file; 0 where it cannot be written, which was told. */
int svg_write(Svg* svg, const char* file);

typedef enum Anchor { anchor_start, anchor_middle, anchor_end } Anchor;
void svg_text(Svg* svg, double x, double y, Anchor anchor, int size, const char* colour, const char* text);
/* The same, a sheet's heading. */
void svg_heading(Svg* svg, double x, double y, const char* text);
/* A text broken at spaces to so many pixels; gives where the next line would stand. */
double svg_wrapped(Svg* svg, double x, double y, double width, int size, const char* colour,
                   const char* text);
/* A name that takes no more than so many pixels, its end left out where it must be. */
const char* svg_shortened(Svg* svg, const char* name, double width, int size);
/* A text that reads upwards, its middle at a place. */
void svg_upward(Svg* svg, double x, double y, const char* text);
/* About how wide a text becomes. */
double svg_width_of(const char* text, int size);

void svg_line(Svg* svg, double x1, double y1, double x2, double y2, const char* colour, double width);
void svg_dashes(Svg* svg, double x1, double y1, double x2, double y2, const char* colour, double width);
void svg_box(Svg* svg, double x, double y, double width, double height, const char* fill);
void svg_circle(Svg* svg, double x, double y, double radius, const char* fill, const char* stroke);
void svg_diamond(Svg* svg, double x, double y, double radius, const char* fill, const char* stroke);
/* A cross of two strokes. */
void svg_cross(Svg* svg, double x, double y, double radius, const char* colour, double width);
/* Lines from place to place: x and y by turns. */
void svg_polyline(Svg* svg, const double* places, size_t count, const char* colour, double width);

/* A colour mixed with white: 1 leaves it as it is. */
const char* svg_mixed(Pool* pool, const char* colour, double share);

/* ---- Axes ------------------------------------------------------------------------------------ */

typedef struct Axis {
  double from, to; /* values */
  double at, end;  /* pixels */
} Axis;

double axis_place(const Axis* axis, double value);
/* Widens values to whole steps of an axis with about so many ticks. */
void axis_widen(Axis* axis, int ticks);
/* Ticks, numbers beneath, and faint lines up to a place; about so many. */
void axis_across(Svg* svg, const Axis* axis, double y, double top, int ticks);
/* The same of an axis that stands upright, numbers to the left. */
void axis_upright(Svg* svg, const Axis* axis, double x, double right, int ticks);

#endif
