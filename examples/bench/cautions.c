/* Cautions at the end of a sheet: first what to look at in the figures, then, in a frame, what can hurt. */
#include <string.h>

#include "sheet.h"

static const char* caution(Sheet* sheet, size_t i) { return ask_text(&sheet->page, "/cautions/%zu/what", i); }

/* A place in the request as an operator says it: "rinses", not "/rinses". */
static const char* place_text(Sheet* sheet, size_t i) {
  const char* at = ask_text(&sheet->page, "/cautions/%zu/at", i);
  return *at == '/' ? at + 1 : at;
}

static void print_remarks(Sheet* sheet, size_t count) {
  int any = 0;
  for (size_t i = 0; i < count; ++i) {
    const char* what = caution(sheet, i);
    if (is_hazard(what)) continue;
    if (!any++) print_heading("To be looked at");
    print_wrapped("  - ", pool_text(&sheet->page.pool, "%s: %s", place_text(sheet, i), what));
  }
}

/* ---- What can hurt --------------------------------------------------------------------------- */

static void print_stars(void) {
  Text line = {0};
  for (size_t i = 0; i < PAGE_WIDTH; ++i) text_add_byte(&line, '*');
  print_line(text_of(&line));
  text_free(&line);
}

static void print_hazard(Sheet* sheet, const char* what) {
  print_wrapped(" ! ", without_rules(&sheet->page.pool, what));
}

/* Mercury comes before all else. */
static void print_hazards(Sheet* sheet, size_t count) {
  if (!sheet->hurts) return;
  print_line("");
  print_stars();
  print_line("BEFORE ANYTHING IS HEATED");
  print_line("");
  for (size_t i = 0; i < count; ++i)
    if (is_hazard(caution(sheet, i)) && is_of_mercury(caution(sheet, i)))
      print_hazard(sheet, caution(sheet, i));
  for (size_t i = 0; i < count; ++i)
    if (is_hazard(caution(sheet, i)) && !is_of_mercury(caution(sheet, i)))
      print_hazard(sheet, caution(sheet, i));
  print_wrapped(" ! ", rules_of_caution);
  print_stars();
}

void print_bench_cautions(Sheet* sheet) {
  const size_t count = ask_count(&sheet->page, "/cautions");
  print_remarks(sheet, count);
  print_hazards(sheet, count);
}
