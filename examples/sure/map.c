/* A picture: which route leads over a grid of two quantities, paler where it leads by little. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "picture.h"

enum { picture_width = 940, picture_height = 560, left = 92, right = 592, top = 60, bottom = 490, ticks = 7 };
enum { legend = 620, legend_width = 300, shades = 3, no_route = -1 };

static const double strength[shades] = {0.35, 0.62, 1};

typedef struct Map {
  Sure* sure;
  Page* page;
  Svg svg;
  size_t columns, rows;
  int* winner;     /* by routes of the answer, row after row; no_route where all are refused */
  double* lead;    /* not a number without one */
  double limit[2]; /* between the shades */
  Axis across, upright;
  const char** name; /* of the answer's routes */
  size_t routes;
} Map;

/* ---- The grid -------------------------------------------------------------------------------- */

/* The lists of an answer in order: a pointer for each of thousands of points would take long. */
static void read_rows(Map* map) {
  const Json answer = json_document(bw_answer_text(map->page->answer, NULL));
  const Json lists[2] = {json_member(answer, "winner"), json_member(answer, "lead")};
  for (int list = 0; list < 2; ++list) {
    Entry row = {0};
    for (size_t y = 0; json_next(lists[list], &row); ++y) {
      Entry cell = {0};
      for (size_t x = 0; json_next(row.value, &cell); ++x) {
        const int is_null = *cell.value == 'n';
        const size_t place = y * map->columns + x;
        if (list == 0) map->winner[place] = is_null ? no_route : atoi(cell.value);
        else map->lead[place] = is_null ? NAN : strtod(cell.value + (*cell.value == '"'), NULL);
      }
    }
  }
}

static Axis axis_of(Map* map, const char* name, size_t count, double at, double end) {
  return (Axis){ask_number(map->page, "/%s/values/0", name),
                ask_number(map->page, "/%s/values/%zu", name, count - 1), at, end};
}

static void read_map(Map* map) {
  map->columns = ask_count(map->page, "/x/values");
  map->rows = ask_count(map->page, "/y/values");
  map->winner = pool_block(&map->svg.pool, map->columns * map->rows * sizeof *map->winner);
  map->lead = pool_block(&map->svg.pool, map->columns * map->rows * sizeof *map->lead);
  read_rows(map);
  map->across = axis_of(map, "x", map->columns, left, right);
  map->upright = axis_of(map, "y", map->rows, bottom, top);
  map->routes = ask_count(map->page, "/routes");
  map->name = pool_block(&map->svg.pool, map->routes * sizeof *map->name);
  for (size_t i = 0; i < map->routes; ++i) map->name[i] = ask_text(map->page, "/routes/%zu", i);
}

/* ---- Shades ---------------------------------------------------------------------------------- */

static int ascending(const void* left_one, const void* right_one) {
  const double a = *(const double*)left_one, b = *(const double*)right_one;
  return (a > b) - (a < b);
}

/* 1, 2 or 5 times a power of ten that is near. */
static double round_figure(double value) {
  if (!(value > 0)) return 0;
  const double power = pow(10, floor(log10(value))), factor = value / power;
  return power * (factor < 1.5 ? 1 : factor < 3.5 ? 2 : factor < 7.5 ? 5 : 10);
}

/* Limits at about a third and two thirds of the points. */
static void find_limits(Map* map) {
  const size_t all = map->columns * map->rows;
  double* leads = pool_block(&map->svg.pool, all * sizeof *leads);
  size_t count = 0;
  for (size_t i = 0; i < all; ++i)
    if (!isnan(map->lead[i])) leads[count++] = map->lead[i];
  if (count == 0) return;
  qsort(leads, count, sizeof *leads, ascending);
  map->limit[0] = round_figure(leads[count / 3]);
  map->limit[1] = round_figure(leads[2 * count / 3]);
}

static int shade_of(const Map* map, size_t place) {
  if (isnan(map->lead[place])) return shades - 1;
  return (map->lead[place] >= map->limit[0]) + (map->lead[place] >= map->limit[1]);
}

/* ---- Colours --------------------------------------------------------------------------------- */

static int wins(const Map* map, int route) {
  for (size_t i = 0; i < map->columns * map->rows; ++i)
    if (map->winner[i] == route) return 1;
  return 0;
}

/* A route's number on this map, from 1 on: the preferred one first, then in the order of the plan. */
static size_t number_of(const Map* map, int route) {
  size_t number = 1;
  const char* first = preferred(map->sure);
  if (strcmp(map->name[route], first) == 0) return number;
  for (int i = 0; i < (int)map->routes; ++i) {
    const int is_first = strcmp(map->name[i], first) == 0;
    if ((is_first || i < route) && wins(map, i)) ++number;
  }
  return number;
}

static const char* fill_of(Map* map, int route, int shade) {
  if (route == no_route) return "#ffffff";
  return svg_mixed(&map->svg.pool, svg_colours[(number_of(map, route) - 1) % svg_colour_count],
                   strength[shade]);
}

/* ---- The map --------------------------------------------------------------------------------- */

/* A value's cell reaches half way to its neighbours, and no further than the axis. */
static double edge_of(const Axis* axis, size_t count, double place) {
  const double share = (place - 0.5) / (double)(count - 1);
  return axis->at + fmin(fmax(share, 0), 1) * (axis->end - axis->at);
}

static int are_alike(const Map* map, size_t a, size_t b) {
  return map->winner[a] == map->winner[b] && shade_of(map, a) == shade_of(map, b);
}

/* Cells of one colour in a row are one box, a little higher than they are so that no gap shows. */
static void draw_row(Map* map, size_t y, const char* const* fill) {
  const double low = edge_of(&map->upright, map->rows, (double)y),
               high = edge_of(&map->upright, map->rows, (double)y + 1);
  const size_t row = y * map->columns;
  for (size_t x = 0; x < map->columns;) {
    size_t end = x + 1;
    while (end < map->columns && are_alike(map, row + x, row + end)) ++end;
    const double from = edge_of(&map->across, map->columns, (double)x),
                 to = edge_of(&map->across, map->columns, (double)end);
    const int route = map->winner[row + x];
    svg_box(&map->svg, from, high, to - from, low - high,
            route == no_route ? "#ffffff" : fill[route * shades + shade_of(map, row + x)]);
    x = end;
  }
}

static void draw_cells(Map* map) {
  const char** fill = pool_block(&map->svg.pool, map->routes * shades * sizeof *fill);
  for (size_t i = 0; i < map->routes * shades; ++i)
    fill[i] = fill_of(map, (int)(i / shades), (int)(i % shades));
  text_add(&map->svg.text, "<g shape-rendering=\"crispEdges\">\n");
  for (size_t y = 0; y < map->rows; ++y) draw_row(map, y, fill);
  text_add(&map->svg.text, "</g>\n");
}

/* A line from one corner of a cell to another. */
static void add_border(Map* map, size_t x1, size_t y1, size_t x2, size_t y2) {
  text_add(&map->svg.text, "M%.2f %.2fL%.2f %.2f", edge_of(&map->across, map->columns, (double)x1),
           edge_of(&map->upright, map->rows, (double)y1), edge_of(&map->across, map->columns, (double)x2),
           edge_of(&map->upright, map->rows, (double)y2));
}

/* Where another route begins. */
static void draw_borders(Map* map) {
  text_add(&map->svg.text, "<path fill=\"none\" stroke=\"%s\" stroke-linecap=\"square\" d=\"M0 0", SVG_INK);
  for (size_t y = 0; y < map->rows; ++y)
    for (size_t x = 0; x < map->columns; ++x) {
      const int* here = &map->winner[y * map->columns + x];
      if (x + 1 < map->columns && here[0] != here[1]) add_border(map, x + 1, y, x + 1, y + 1);
      if (y + 1 < map->rows && here[0] != here[map->columns]) add_border(map, x, y + 1, x + 1, y + 1);
    }
  text_add(&map->svg.text, "\"/>\n");
}

/* ---- Numbers on the fields ------------------------------------------------------------------- */

/* Pixels from a cell to the nearest other route or end of the map, straight across or upright. */
static double room_at(const Map* map, size_t x, size_t y) {
  static const int ways[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
  const double wide = (right - left) / (double)(map->columns - 1),
               tall = (bottom - top) / (double)(map->rows - 1);
  const int route = map->winner[y * map->columns + x];
  double least = 1e9;
  for (int way = 0; way < 4; ++way) {
    size_t far = 0, cx = x, cy = y;
    while (cx < map->columns && cy < map->rows && map->winner[cy * map->columns + cx] == route) {
      cx += (size_t)ways[way][0];
      cy += (size_t)ways[way][1];
      ++far;
    }
    least = fmin(least, (double)far * (way < 2 ? wide : tall));
  }
  return least;
}

static void draw_number(Map* map, int route) {
  double most = 0, px = 0, py = 0;
  for (size_t y = 0; y < map->rows; ++y)
    for (size_t x = 0; x < map->columns; ++x) {
      const double room = map->winner[y * map->columns + x] == route ? room_at(map, x, y) : 0;
      if (!(room > most)) continue;
      most = room;
      px = edge_of(&map->across, map->columns, (double)x + 0.5);
      py = edge_of(&map->upright, map->rows, (double)y + 0.5);
    }
  if (most < 14) return;
  svg_circle(&map->svg, px, py, 12, "#ffffff", SVG_INK);
  svg_text(&map->svg, px, py + 5, anchor_middle, svg_normal, SVG_INK,
           pool_text(&map->svg.pool, "%zu", number_of(map, route)));
}

/* ---- Axes and legend ------------------------------------------------------------------------- */

static const char* axis_title(Map* map, const char* name) {
  const char* figure = with_capital(&map->svg.pool, ask_text(map->page, "/%s/name", name));
  const char* unit = ask_text(map->page, "/%s/unit", name);
  return *unit != '\0' ? pool_text(&map->svg.pool, "%s, %s", figure, unit) : figure;
}

static void draw_axes(Map* map) {
  axis_across(&map->svg, &map->across, bottom, bottom, ticks);
  axis_upright(&map->svg, &map->upright, left, left, ticks);
  svg_text(&map->svg, 0.5 * (left + right), bottom + 42, anchor_middle, svg_normal, SVG_INK,
           axis_title(map, "x"));
  svg_upward(&map->svg, 24, 0.5 * (top + bottom), axis_title(map, "y"));
}

static int is_on(const Axis* axis, double value) { return value >= axis->from && value <= axis->to; }

/* Where the plan is; 0 where that lies outside. */
static int draw_plan(Map* map) {
  const double x = ask_number(map->page, "/x/plan"), y = ask_number(map->page, "/y/plan");
  if (!is_on(&map->across, x) || !is_on(&map->upright, y)) return 0;
  svg_cross(&map->svg, axis_place(&map->across, x), axis_place(&map->upright, y), 7, "#ffffff", 5);
  svg_cross(&map->svg, axis_place(&map->across, x), axis_place(&map->upright, y), 7, SVG_INK, 2);
  return 1;
}

static double draw_entry(Map* map, int route, double y) {
  svg_text(&map->svg, legend + 8, y, anchor_middle, svg_normal, SVG_INK,
           pool_text(&map->svg.pool, "%zu", number_of(map, route)));
  for (int shade = 0; shade < shades; ++shade)
    svg_box(&map->svg, legend + 22 + 16 * shade, y - 11, 16, 14, fill_of(map, route, shade));
  return svg_wrapped(&map->svg, legend + 80, y, legend_width - 80, svg_normal, SVG_INK, map->name[route]) + 8;
}

/* The routes in the order of their numbers. */
static double draw_entries(Map* map, double y) {
  for (size_t number = 1; number <= map->routes; ++number)
    for (int route = 0; route < (int)map->routes; ++route)
      if (wins(map, route) && number_of(map, route) == number) y = draw_entry(map, route, y);
  return y;
}

static void draw_legend(Map* map, int has_plan) {
  Pool* pool = &map->svg.pool;
  double y = draw_entries(map, top + 14) + 10;
  const char* currency = map->page->currency;
  y = svg_wrapped(
          &map->svg, legend, y, legend_width, svg_small, SVG_GREY,
          pool_text(pool, "Pale: leads the next by less than %s" NBSP "%s; full: by %s" NBSP "%s or more.",
                    amount_text(map->sure, map->limit[0]), currency, amount_text(map->sure, map->limit[1]),
                    currency)) +
      6;
  if (!has_plan) return;
  svg_cross(&map->svg, legend + 8, y - 4, 6, SVG_INK, 2);
  svg_text(&map->svg, legend + 24, y, anchor_start, svg_small, SVG_GREY, "as planned");
}

int draw_map(Sure* sure, size_t number, const char* file) {
  Map map;
  memset(&map, 0, sizeof map);
  map.sure = sure;
  map.page = &sure->maps[number];
  svg_open(&map.svg, picture_width, picture_height, "Which route leads");
  read_map(&map);
  find_limits(&map);
  svg_heading(&map.svg, 24, 32, "Which route leaves the most, all else as planned");
  draw_cells(&map);
  draw_borders(&map);
  for (int route = 0; route < (int)map.routes; ++route)
    if (wins(&map, route)) draw_number(&map, route);
  draw_axes(&map);
  draw_legend(&map, draw_plan(&map));
  return svg_write(&map.svg, file);
}
