/* A picture: by how much the route that is preferred leads, draw by draw. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "picture.h"

enum { picture_width = 820, panel_height = 270, left = 70, right_space = 30, bars = 56, ticks = 8 };

/* So much of the draws lies beyond either end of the picture: what is rare would leave no room for the rest.
 */
static const double beyond = 0.002;

typedef struct Leads {
  double* value; /* from the least on */
  size_t count;
} Leads;

/* ---- Draws ----------------------------------------------------------------------------------- */

static size_t draw_count(Sure* sure) {
  size_t count = 0;
  bw_answer_draws(sure->context, sure->simulation.answer, preferred(sure), NULL, 0, &count);
  return count;
}

static double* room_for(Sure* sure, size_t count) { return pool_block(&sure->pool, count * sizeof(double)); }

/* What a route is worth, draw by draw. */
static void read_draws(Sure* sure, const char* name, double* values, size_t count) {
  bw_answer_draws(sure->context, sure->simulation.answer, name, values, count, &count);
}

static int ascending(const void* left_one, const void* right_one) {
  const double a = *(const double*)left_one, b = *(const double*)right_one;
  return (a > b) - (a < b);
}

/* The most that one of some other routes is worth in each draw. */
static void read_best(Sure* sure, const char** names, size_t name_count, double* best, size_t count) {
  double* its = room_for(sure, count);
  for (size_t n = 0; n < name_count; ++n) {
    read_draws(sure, names[n], n == 0 ? best : its, count);
    for (size_t i = 0; i < count && n > 0; ++i)
      if (its[i] > best[i]) best[i] = its[i];
  }
}

/* What the preferred route leads these by; draws that were left out are not numbers. */
static Leads leads_over(Sure* sure, const char** names, size_t name_count) {
  const size_t count = draw_count(sure);
  Leads leads = {room_for(sure, count), 0};
  double* others = room_for(sure, count);
  read_draws(sure, preferred(sure), leads.value, count);
  read_best(sure, names, name_count, others, count);
  for (size_t i = 0; i < count; ++i) {
    const double lead = leads.value[i] - others[i];
    if (!isnan(lead)) leads.value[leads.count++] = lead;
  }
  qsort(leads.value, leads.count, sizeof *leads.value, ascending);
  return leads;
}

/* ---- The histogram --------------------------------------------------------------------------- */

typedef struct Panel {
  Svg* svg;
  Axis across, upright;
  double width;        /* of a bar, in money */
  double height[bars]; /* in 100 draws */
} Panel;

static void measure(Panel* panel, const Leads* leads, double top) {
  const size_t out = (size_t)(beyond * (double)leads->count);
  Axis* axis = &panel->across;
  axis->from = fmin(leads->value[out], 0);
  axis->to = fmax(leads->value[leads->count - 1 - out], 0);
  axis->at = left;
  axis->end = picture_width - right_space;
  axis_widen(axis, ticks);
  panel->upright = (Axis){0, 0, top + panel_height - 70, top + 30};
}

/* Bars whose edges meet 0, so that none is on both sides of it. */
static void fill(Panel* panel, const Leads* leads) {
  const Axis* axis = &panel->across;
  panel->width = (axis->to - axis->from) / bars;
  if (axis->from < 0 && axis->to > 0) {
    const double below = ceil(-axis->from / panel->width - 1e-9);
    panel->width = -axis->from / below;
  }
  for (size_t i = 0; i < leads->count; ++i) {
    const double bar = floor((leads->value[i] - axis->from) / panel->width);
    if (bar >= 0 && bar < bars) panel->height[(int)bar] += 100 / (double)leads->count;
  }
  for (size_t i = 0; i < bars; ++i) panel->upright.to = fmax(panel->upright.to, panel->height[i]);
  axis_widen(&panel->upright, 4);
}

static void draw_bars(Panel* panel) {
  for (size_t i = 0; i < bars; ++i) {
    const double from = panel->across.from + (double)i * panel->width;
    if (panel->height[i] <= 0) continue;
    const double x = axis_place(&panel->across, from),
                 end = axis_place(&panel->across, fmin(from + panel->width, panel->across.to));
    const double y = axis_place(&panel->upright, panel->height[i]);
    svg_box(panel->svg, x + 0.5, y, end - x - 1, panel->upright.at - y,
            from + 0.5 * panel->width < 0 ? SVG_BEHIND : SVG_AHEAD);
  }
}

/* How many lie outside, told beneath. */
static const char* outside_text(Sure* sure, const Panel* panel, const Leads* leads) {
  size_t count = 0;
  for (size_t i = 0; i < leads->count; ++i)
    count += leads->value[i] < panel->across.from || leads->value[i] > panel->across.to;
  if (count == 0) return "";
  return pool_text(&sure->pool, "; %s draws lie outside the picture, the furthest at %s and %s",
                   with_decimals(&sure->pool, (double)count, 0), amount_text(sure, leads->value[0]),
                   amount_text(sure, leads->value[leads->count - 1]));
}

static double share_ahead(const Leads* leads) {
  double ahead = 0;
  for (size_t i = 0; i < leads->count; ++i) ahead += leads->value[i] > 0 ? 1 : leads->value[i] == 0 ? 0.5 : 0;
  return 100 * ahead / (double)leads->count;
}

static void draw_panel(Sure* sure, Svg* svg, const Leads* leads, double top, const char* over) {
  Panel panel = {svg, {0, 0, 0, 0}, {0, 0, 0, 0}, 0, {0}};
  Pool* pool = &svg->pool;
  measure(&panel, leads, top);
  fill(&panel, leads);
  const double bottom = panel.upright.at, zero = axis_place(&panel.across, 0);
  axis_across(svg, &panel.across, bottom, panel.upright.end, ticks);
  axis_upright(svg, &panel.upright, left, panel.across.end, 4);
  draw_bars(&panel);
  svg_line(svg, zero, bottom, zero, panel.upright.end - 4, SVG_INK, 1.5);
  svg_text(svg, left, top + 14, anchor_start, svg_normal, SVG_INK,
           pool_text(pool, "Over %s: ahead in %s draws", over, often_text(pool, share_ahead(leads))));
  svg_text(svg, left, bottom + 38, anchor_start, svg_small, SVG_GREY,
           pool_text(pool, "Upright: draws in 100%s", outside_text(sure, &panel, leads)));
}

/* ---- The sheet ------------------------------------------------------------------------------- */

/* All routes but the preferred one. */
static const char** other_routes(Sure* sure, size_t* count) {
  const char** names = routes_in_order(sure, count);
  size_t kept = 0;
  for (size_t i = 0; i < *count; ++i)
    if (strcmp(names[i], preferred(sure)) != 0) names[kept++] = names[i];
  *count = kept;
  return names;
}

int draw_lead(Sure* sure, const char* file) {
  Svg svg;
  size_t count;
  const char* next = ask_text(&sure->simulation, "/lead/over");
  const char** others = other_routes(sure, &count);
  const int panels = count > 1 ? 2 : 1;
  svg_open(&svg, picture_width, 60 + panels * panel_height, "By how much it leads");
  svg_heading(&svg, 24, 32,
              pool_text(&svg.pool, "By how much %s leads, %s",
                        quoted(&svg.pool, svg_shortened(&svg, preferred(sure), 560, svg_large)),
                        sure->simulation.currency));
  const Leads over_next = leads_over(sure, &next, 1);
  draw_panel(sure, &svg, &over_next, 52, quoted(&svg.pool, svg_shortened(&svg, next, 480, svg_normal)));
  if (panels > 1) {
    const Leads over_all = leads_over(sure, others, count);
    draw_panel(sure, &svg, &over_all, 52 + panel_height, "the best of the others in each draw");
  }
  return svg_write(&svg, file);
}
