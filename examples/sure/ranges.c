/* A picture: what each route leaves, as bars on one axis of money. */
#include <math.h>
#include <string.h>

#include "picture.h"

enum {
  picture_width = 960,
  row_height = 34,
  top = 62,
  right_space = 30,
  ticks = 7,
  foot = 86,
  widest_name = 360
};

typedef struct Ranges {
  Sure* sure;
  Svg svg;
  Axis axis;
  double bottom;
} Ranges;

static double figure_of(Ranges* ranges, const char* name, const char* figure) {
  Page* page = &ranges->sure->simulation;
  return ask_number(page, "%s/%s", route_at(page, name), figure);
}

static int is_refused(Ranges* ranges, const char* name) {
  return figure_of(ranges, name, "refused_share") >= 100;
}

/* ---- The axis -------------------------------------------------------------------------------- */

static void take_in(Axis* axis, double value) {
  if (isnan(value)) return;
  if (!(axis->from <= value)) axis->from = value;
  if (!(axis->to >= value)) axis->to = value;
}

static void measure(Ranges* ranges, const char** names, size_t count) {
  static const char* const figures[] = {"low", "high", "worst_mean", "mean", "plan"};
  double widest = 0;
  ranges->axis.from = ranges->axis.to = NAN;
  for (size_t i = 0; i < count; ++i) {
    const double wide = svg_width_of(names[i], svg_normal);
    if (wide > widest) widest = wide;
    for (size_t f = 0; f < sizeof figures / sizeof *figures && !is_refused(ranges, names[i]); ++f)
      take_in(&ranges->axis, figure_of(ranges, names[i], figures[f]));
  }
  axis_widen(&ranges->axis, ticks);
  ranges->axis.at = 20 + fmin(widest, widest_name);
  ranges->axis.end = picture_width - right_space;
}

/* ---- Bars ------------------------------------------------------------------------------------ */

static double place_of(Ranges* ranges, const char* name, const char* figure) {
  return axis_place(&ranges->axis, figure_of(ranges, name, figure));
}

static void draw_marks(Ranges* ranges, double y, double median, double mean, double plan, double worst) {
  Svg* svg = &ranges->svg;
  svg_cross(svg, worst, y, 4, SVG_BEHIND, 2);
  svg_line(svg, median, y - 9, median, y + 9, SVG_INK, 2);
  if (!isnan(plan)) svg_diamond(svg, plan, y, 6, "#ffffff", SVG_INK);
  svg_circle(svg, mean, y, 3, SVG_INK, SVG_INK);
}

static void draw_row(Ranges* ranges, const char* name, double y) {
  Svg* svg = &ranges->svg;
  const int is_preferred = strcmp(name, preferred(ranges->sure)) == 0;
  const char* fill =
      is_preferred ? svg_mixed(&svg->pool, SVG_AHEAD, 0.75) : svg_mixed(&svg->pool, SVG_AHEAD, 0.3);
  svg_text(svg, ranges->axis.at - 12, y + 4, anchor_end, svg_normal, SVG_INK,
           svg_shortened(svg, name, widest_name, svg_normal));
  if (is_refused(ranges, name)) {
    svg_text(svg, ranges->axis.at + 8, y + 4, anchor_start, svg_normal, SVG_GREY, "refused in every draw");
    return;
  }
  const double low = place_of(ranges, name, "low"), high = place_of(ranges, name, "high");
  svg_box(svg, low, y - 8, high - low, 16, fill);
  draw_marks(ranges, y, place_of(ranges, name, "median"), place_of(ranges, name, "mean"),
             place_of(ranges, name, "plan"), place_of(ranges, name, "worst_mean"));
}

/* ---- The legend ------------------------------------------------------------------------------ */

static double label(Ranges* ranges, double x, double y, const char* text) {
  svg_text(&ranges->svg, x, y + 4, anchor_start, svg_small, SVG_INK, text);
  return x + svg_width_of(text, svg_small) + 34;
}

static void draw_legend(Ranges* ranges, double y) {
  Svg* svg = &ranges->svg;
  double x = 24;
  svg_box(svg, x, y - 6, 26, 12, svg_mixed(&svg->pool, SVG_AHEAD, 0.3));
  x = label(ranges, x + 34, y, "95 in 100 draws");
  svg_line(svg, x, y - 8, x, y + 8, SVG_INK, 2);
  x = label(ranges, x + 9, y, "median");
  svg_circle(svg, x, y, 3, SVG_INK, SVG_INK);
  x = label(ranges, x + 10, y, "average");
  svg_diamond(svg, x, y, 6, "#ffffff", SVG_INK);
  x = label(ranges, x + 13, y, "at the plan's own figures");
  svg_cross(svg, x, y, 4, SVG_BEHIND, 2);
  label(ranges, x + 11, y, "average of the worst 5 in 100");
}

int draw_ranges(Sure* sure, const char* file) {
  Ranges ranges = {sure, {{0}, 0, 0, {0}}, {0, 0, 0, 0}, 0};
  size_t count;
  const char** names = routes_in_order(sure, &count);
  measure(&ranges, names, count);
  ranges.bottom = top + (double)count * row_height;
  svg_open(&ranges.svg, picture_width, ranges.bottom + foot, "What each route leaves");
  svg_heading(&ranges.svg, 24, 32,
              pool_text(&ranges.svg.pool, "What each route leaves, %s", sure->simulation.currency));
  axis_across(&ranges.svg, &ranges.axis, ranges.bottom, top - 10, ticks);
  for (size_t i = 0; i < count; ++i) draw_row(&ranges, names[i], top + ((double)i + 0.5) * row_height);
  draw_legend(&ranges, ranges.bottom + foot - 32);
  return svg_write(&ranges.svg, file);
}
