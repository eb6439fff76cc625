/* A picture: what the route leaves along the pulls of one of its tables. */
#include <math.h>

#include "picture.h"

enum { picture_width = 820, picture_height = 460, left = 90, right = 790, top = 60, bottom = 370, ticks = 8 };

typedef struct Line {
  Sure* sure;
  const char* at; /* the cut's pointer */
  Svg svg;
  Axis across, upright;
  double least; /* what leaves no less is in the band */
} Line;

static double value_at(Line* line, size_t point) {
  return ask_number(&line->sure->cut, "%s/curve/%zu/present_value", line->at, point);
}
static double pull_at(Line* line, size_t point) {
  return ask_number(&line->sure->cut, "%s/curve/%zu/pull", line->at, point);
}
static size_t points_of(Line* line) { return ask_count(&line->sure->cut, "%s/curve", line->at); }

static void measure(Line* line) {
  Page* page = &line->sure->cut;
  const double planned = ask_number(page, "/present_value");
  line->least = planned - ask_number(page, "/costs");
  line->across = (Axis){ask_number(page, "%s/searched/0", line->at),
                        ask_number(page, "%s/searched/1", line->at), left, right};
  line->upright = (Axis){line->least, planned, bottom, top};
  for (size_t i = 0; i < points_of(line); ++i) {
    const double value = value_at(line, i);
    if (value < line->upright.from) line->upright.from = value;
    if (value > line->upright.to) line->upright.to = value;
  }
  axis_widen(&line->upright, 6);
}

static void shade_bands(Line* line) {
  Page* page = &line->sure->cut;
  const size_t count = ask_count(page, "%s/bands", line->at);
  for (size_t i = 0; i < count; ++i) {
    const double from = axis_place(&line->across, ask_number(page, "%s/bands/%zu/from", line->at, i));
    const double to = axis_place(&line->across, ask_number(page, "%s/bands/%zu/to", line->at, i));
    svg_box(&line->svg, from, top, to - from, bottom - top, svg_mixed(&line->svg.pool, SVG_AHEAD, 0.18));
  }
}

/* Pulls at which the route is refused leave a gap. */
static void draw_curve(Line* line) {
  const size_t count = points_of(line);
  double* places = pool_block(&line->svg.pool, 2 * count * sizeof *places);
  size_t kept = 0;
  for (size_t i = 0; i <= count; ++i) {
    const double value = i < count ? value_at(line, i) : NAN;
    if (!isnan(value)) {
      places[2 * kept] = axis_place(&line->across, pull_at(line, i));
      places[2 * kept++ + 1] = axis_place(&line->upright, value);
    } else if (kept > 0) {
      svg_polyline(&line->svg, places, kept, SVG_AHEAD, 2);
      kept = 0;
    }
  }
}

/* Beside the line where there is room for it. */
static void draw_cut_mark(Line* line) {
  Page* page = &line->sure->cut;
  Svg* svg = &line->svg;
  const double cut = axis_place(&line->across, ask_number(page, "%s/cut", line->at));
  const char* text =
      pool_text(&svg->pool, "cut at %s", short_quantity(&svg->pool, ask_text(page, "%s/cut", line->at)));
  const int on_left = cut + svg_width_of(text, svg_normal) + 8 > right;
  svg_line(svg, cut, top, cut, bottom, SVG_INK, 1.5);
  svg_text(svg, on_left ? cut - 7 : cut + 7, bottom - 12, on_left ? anchor_end : anchor_start, svg_normal,
           SVG_INK, text);
}

static const char* band_text(Line* line) {
  Page* page = &line->sure->cut;
  Pool* pool = &line->svg.pool;
  return pool_text(
      pool,
      "Shaded: pulls that cost no more than %s %s, which leave %s or more (dashed). Solid: the cut. All "
      "else as planned.",
      amount_text(line->sure, ask_number(page, "/costs")), page->currency,
      amount_text(line->sure, line->least));
}

int draw_cut(Sure* sure, size_t cut, const char* file) {
  Line line = {sure, pool_text(&sure->pool, "/cuts/%zu", cut), {{0}, 0, 0, {0}}, {0, 0, 0, 0}, {0, 0, 0, 0},
               0};
  Svg* svg = &line.svg;
  measure(&line);
  svg_open(svg, picture_width, picture_height, "What the route leaves along the pulls");
  svg_heading(svg, 24, 32,
              pool_text(&svg->pool, "How far the cut of \"%s\" may be off",
                        svg_shortened(svg, ask_text(&sure->cut, "%s/at", line.at), 420, svg_large)));
  shade_bands(&line);
  axis_across(svg, &line.across, bottom, top, ticks);
  axis_upright(svg, &line.upright, left, right, 6);
  const double edge = axis_place(&line.upright, line.least);
  svg_dashes(svg, left, edge, right, edge, SVG_INK, 1);
  draw_curve(&line);
  draw_cut_mark(&line);
  svg_text(svg, right, bottom + 38, anchor_end, svg_normal, SVG_INK, "pull, % of the dry feed");
  svg_upward(svg, 24, 0.5 * (top + bottom), pool_text(&svg->pool, "leaves, %s", sure->cut.currency));
  svg_wrapped(svg, 24, bottom + 62, picture_width - 48, svg_small, SVG_GREY, band_text(&line));
  return svg_write(svg, file);
}
