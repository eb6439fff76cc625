#include "svg.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Okabe and Ito's colours for all eyes, without black. */
const char* const svg_colours[] = {"#0072b2", "#e69f00", "#009e73", "#cc79a7",
                                   "#56b4e9", "#d55e00", "#f0e442", "#999999"};

/* ---- Texts ----------------------------------------------------------------------------------- */

/* Names come from a document: what means something to XML is written otherwise, what it forbids is a space.
 */
static void add_escaped(Text* text, const char* what) {
  for (; *what != '\0'; ++what) {
    if (*what == '&') text_add(text, "&amp;");
    else if (*what == '<') text_add(text, "&lt;");
    else if (*what == '>') text_add(text, "&gt;");
    else if (*what == '"') text_add(text, "&quot;");
    else text_add_byte(text, (unsigned char)*what < 0x20 ? ' ' : *what);
  }
}

/* Characters of a sans-serif differ; most are no wider than this share of their height. */
static const double widest_share = 0.56;

double svg_width_of(const char* text, int size) { return widest_share * size * (double)columns(text); }

static const char* anchor_name(Anchor anchor) {
  return anchor == anchor_start ? "start" : anchor == anchor_middle ? "middle" : "end";
}

void svg_text(Svg* svg, double x, double y, Anchor anchor, int size, const char* colour, const char* text) {
  text_add(&svg->text, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\" font-size=\"%d\" fill=\"%s\">", x, y,
           anchor_name(anchor), size, colour);
  add_escaped(&svg->text, text);
  text_add(&svg->text, "</text>\n");
}

void svg_heading(Svg* svg, double x, double y, const char* text) {
  text_add(&svg->text, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%d\" font-weight=\"bold\" fill=\"%s\">", x, y,
           svg_large, SVG_INK);
  add_escaped(&svg->text, text);
  text_add(&svg->text, "</text>\n");
}

void svg_upward(Svg* svg, double x, double y, const char* text) {
  text_add(&svg->text,
           "<text transform=\"translate(%.1f %.1f) rotate(-90)\" text-anchor=\"middle\" font-size=\"%d\" "
           "fill=\"%s\">",
           x, y, svg_normal, SVG_INK);
  add_escaped(&svg->text, text);
  text_add(&svg->text, "</text>\n");
}

const char* svg_shortened(Svg* svg, const char* name, double width, int size) {
  if (svg_width_of(name, size) <= width) return name;
  const size_t most = (size_t)(width / (widest_share * size));
  size_t bytes = strlen(name);
  while (bytes > 0 && (columns(pool_text(&svg->pool, "%.*s", (int)bytes, name)) >= most ||
                       ((unsigned char)name[bytes] & 0xC0) == 0x80))
    --bytes;
  return pool_text(&svg->pool, "%.*s…", (int)bytes, name);
}

double svg_wrapped(Svg* svg, double x, double y, double width, int size, const char* colour,
                   const char* text) {
  Text line = {0};
  while (*text != '\0') {
    const size_t word = strcspn(text, " ");
    const char* longer =
        pool_text(&svg->pool, "%s%s%.*s", text_of(&line), line.size > 0 ? " " : "", (int)word, text);
    if (line.size > 0 && svg_width_of(longer, size) > width) {
      svg_text(svg, x, y, anchor_start, size, colour, pool_keep(&svg->pool, &line));
      y += 1.35 * size;
      longer = pool_text(&svg->pool, "%.*s", (int)word, text);
    }
    text_free(&line);
    text_add(&line, "%s", longer);
    text += word;
    while (*text == ' ') ++text;
  }
  svg_text(svg, x, y, anchor_start, size, colour, pool_keep(&svg->pool, &line));
  return y + 1.35 * size;
}

/* ---- The sheet ------------------------------------------------------------------------------- */

void svg_open(Svg* svg, double width, double height, const char* title) {
  memset(svg, 0, sizeof *svg);
  svg->width = width;
  svg->height = height;
  text_add(
      &svg->text,
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.0f\" height=\"%.0f\" viewBox=\"0 0 %.0f %.0f\" "
      "font-family=\"sans-serif\">\n<title>",
      width, height, width, height);
  add_escaped(&svg->text, title);
  text_add(&svg->text, "</title>\n");
  svg_box(svg, 0, 0, width, height, "#ffffff");
}

int svg_write(Svg* svg, const char* file) {
  text_add(&svg->text, "</svg>\n");
  FILE* out = fopen(file, "wb");
  int written = out != NULL && fwrite(text_of(&svg->text), 1, svg->text.size, out) == svg->text.size;
  if (out != NULL) written = fclose(out) == 0 && written;
  if (!written) fprintf(stderr, "sure: %s cannot be written\n", file);
  text_free(&svg->text);
  pool_free(&svg->pool);
  return written;
}

/* ---- Shapes ---------------------------------------------------------------------------------- */

static void add_line(Svg* svg, double x1, double y1, double x2, double y2, const char* colour, double width,
                     const char* more) {
  text_add(&svg->text,
           "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" stroke=\"%s\" stroke-width=\"%.1f\"%s/>\n",
           x1, y1, x2, y2, colour, width, more);
}

void svg_line(Svg* svg, double x1, double y1, double x2, double y2, const char* colour, double width) {
  add_line(svg, x1, y1, x2, y2, colour, width, "");
}

void svg_dashes(Svg* svg, double x1, double y1, double x2, double y2, const char* colour, double width) {
  add_line(svg, x1, y1, x2, y2, colour, width, " stroke-dasharray=\"5 4\"");
}

void svg_box(Svg* svg, double x, double y, double width, double height, const char* fill) {
  text_add(&svg->text, "<rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\" fill=\"%s\"/>\n", x, y,
           width, height, fill);
}

void svg_circle(Svg* svg, double x, double y, double radius, const char* fill, const char* stroke) {
  text_add(&svg->text, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"%s\" stroke=\"%s\"/>\n", x, y,
           radius, fill, stroke);
}

void svg_diamond(Svg* svg, double x, double y, double radius, const char* fill, const char* stroke) {
  text_add(&svg->text,
           "<path d=\"M%.1f %.1f L%.1f %.1f L%.1f %.1f L%.1f %.1f Z\" fill=\"%s\" stroke=\"%s\"/>\n",
           x - radius, y, x, y - radius, x + radius, y, x, y + radius, fill, stroke);
}

void svg_cross(Svg* svg, double x, double y, double radius, const char* colour, double width) {
  svg_line(svg, x - radius, y - radius, x + radius, y + radius, colour, width);
  svg_line(svg, x - radius, y + radius, x + radius, y - radius, colour, width);
}

void svg_polyline(Svg* svg, const double* places, size_t count, const char* colour, double width) {
  text_add(&svg->text,
           "<polyline fill=\"none\" stroke=\"%s\" stroke-width=\"%.1f\" stroke-linejoin=\"round\" points=\"",
           colour, width);
  for (size_t i = 0; i < count; ++i)
    text_add(&svg->text, "%s%.1f,%.1f", i > 0 ? " " : "", places[2 * i], places[2 * i + 1]);
  text_add(&svg->text, "\"/>\n");
}

const char* svg_mixed(Pool* pool, const char* colour, double share) {
  const unsigned long whole = strtoul(colour + 1, NULL, 16);
  unsigned long mixed = 0;
  for (int shift = 16; shift >= 0; shift -= 8) {
    const double part = (double)(whole >> shift & 0xFF);
    mixed |= (unsigned long)lround(255 - share * (255 - part)) << shift;
  }
  return pool_text(pool, "#%06lx", mixed);
}

/* ---- Axes ------------------------------------------------------------------------------------ */

/* A step of 1, 2 or 5 times a power of ten that makes about so many ticks. */
static double step_of(double range, int ticks) {
  const double rough = range / ticks, power = pow(10, floor(log10(rough)));
  const double factor = rough / power;
  return power * (factor < 1.5 ? 1 : factor < 3.5 ? 2 : factor < 7.5 ? 5 : 10);
}

static int decimals_of(double step) { return step < 0.999 ? (int)ceil(-log10(step) - 1e-9) : 0; }

double axis_place(const Axis* axis, double value) {
  return axis->at + (value - axis->from) / (axis->to - axis->from) * (axis->end - axis->at);
}

void axis_widen(Axis* axis, int ticks) {
  if (!(axis->to > axis->from)) {
    const double around = axis->from != 0 ? 0.01 * fabs(axis->from) : 1;
    axis->from -= around;
    axis->to += around;
  }
  const double step = step_of(axis->to - axis->from, ticks);
  axis->from = step * floor(axis->from / step + 1e-9);
  axis->to = step * ceil(axis->to / step - 1e-9);
}

/* The first tick's number of steps; small errors of division leave no tick out. */
static double first_tick(const Axis* axis, double step) { return ceil(axis->from / step - 1e-9); }

static int is_within(const Axis* axis, double value, double step) { return value <= axis->to + 1e-9 * step; }

void axis_across(Svg* svg, const Axis* axis, double y, double top, int ticks) {
  const double step = step_of(axis->to - axis->from, ticks);
  for (double n = first_tick(axis, step); is_within(axis, n * step, step); ++n) {
    const double x = axis_place(axis, n * step);
    svg_line(svg, x, y, x, top, SVG_FAINT, 1);
    svg_line(svg, x, y, x, y + 5, SVG_INK, 1);
    svg_text(svg, x, y + 19, anchor_middle, svg_small, SVG_INK,
             with_decimals(&svg->pool, n * step, decimals_of(step)));
  }
  svg_line(svg, axis->at, y, axis->end, y, SVG_INK, 1);
}

void axis_upright(Svg* svg, const Axis* axis, double x, double right, int ticks) {
  const double step = step_of(axis->to - axis->from, ticks);
  for (double n = first_tick(axis, step); is_within(axis, n * step, step); ++n) {
    const double y = axis_place(axis, n * step);
    svg_line(svg, x, y, right, y, SVG_FAINT, 1);
    svg_line(svg, x - 5, y, x, y, SVG_INK, 1);
    svg_text(svg, x - 9, y + 4, anchor_end, svg_small, SVG_INK,
             with_decimals(&svg->pool, n * step, decimals_of(step)));
  }
  svg_line(svg, x, axis->at, x, axis->end, SVG_INK, 1);
}
