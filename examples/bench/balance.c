/* Streams that were made to agree: what they are now, what was moved for it, and whether that is likely. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sheet.h"

typedef struct Streams {
  const char** name;
  const char** at; /* pointers in the answer */
  size_t count;
} Streams;

static Streams streams_of(Page* page) {
  Streams streams = {NULL, NULL, ask_count(page, "/streams")};
  streams.name = pool_block(&page->pool, streams.count * sizeof *streams.name);
  streams.at = pool_block(&page->pool, streams.count * sizeof *streams.at);
  for (size_t i = 0; i < streams.count; ++i) {
    streams.name[i] = ask_name(page, "/streams", i);
    streams.at[i] = pool_text(&page->pool, "/streams%s", ask_step(page, streams.name[i]));
  }
  return streams;
}

/* ---- Tables ---------------------------------------------------------------------------------- */

static void print_masses(Sheet* sheet, const Streams* streams) {
  Table table;
  table_open(&table, &sheet->page.pool, 3, 1);
  *table_add(&table) = (TableRow){{"Stream", "dry mass, kg", "share, %"}, 0};
  for (size_t i = 0; i < streams->count; ++i)
    *table_add(&table) = (TableRow){{streams->name[i], number_shown(sheet, "%s/mass", streams->at[i]),
                                     number_shown(sheet, "%s/share", streams->at[i])},
                                    0};
  table_print(&table);
}

/* Separation efficiency goes with analytes whose mineral was stated, and may lack. */
static void print_analyte(Sheet* sheet, const Streams* streams, const char* analyte) {
  const char* step = ask_step(&sheet->page, analyte);
  Table table;
  table_open(&table, &sheet->page.pool, 4, 1);
  table.may_go[3] = 1;
  *table_add(&table) = (TableRow){
      {with_capital(&sheet->page.pool, analyte_name(analyte)), "grade, g/t", "recovery, %", "separation, %"},
      0};
  for (size_t i = 0; i < streams->count; ++i)
    *table_add(&table) =
        (TableRow){{streams->name[i], number_shown(sheet, "%s/assays%s", streams->at[i], step),
                    number_shown(sheet, "%s/recovery%s", streams->at[i], step),
                    number_shown(sheet, "%s/separation_efficiency%s", streams->at[i], step)},
                   0};
  print_line("");
  table_print(&table);
}

static void print_analytes(Sheet* sheet, const Streams* streams) {
  Page* page = &sheet->page;
  Names analytes = {0};
  for (size_t i = 0; i < streams->count; ++i) {
    const char* assays = pool_text(&page->pool, "%s/assays", streams->at[i]);
    const size_t count = ask_count(page, "%s", assays);
    for (size_t a = 0; a < count; ++a) names_add(&page->pool, &analytes, ask_name(page, assays, a));
  }
  for (size_t a = 0; a < analytes.count; ++a) print_analyte(sheet, streams, analytes.name[a]);
}

/* ---- What was moved -------------------------------------------------------------------------- */

static const char* figures_name(Sheet* sheet, const char* at) {
  const char* what = ask_text(&sheet->page, "%s/what", at);
  return pool_text(&sheet->page.pool, "%s, %s", ask_text(&sheet->page, "%s/at", at), analyte_name(what));
}

static const char* z_text(Sheet* sheet, const char* at) {
  const double z = ask_number(&sheet->page, "%s/z", at);
  return isnan(z) ? "" : with_decimals(&sheet->page.pool, z, 1);
}

static void print_changes(Sheet* sheet) {
  const size_t count = ask_count(&sheet->page, "/changes");
  if (count == 0) return;
  Table table;
  table_open(&table, &sheet->page.pool, 4, 1);
  *table_add(&table) = (TableRow){{"Moved so as to agree", "measured", "balanced", "z"}, 0};
  for (size_t i = 0; i < count; ++i) {
    const char* at = pool_text(&sheet->page.pool, "/changes/%zu", i);
    *table_add(&table) = (TableRow){{figures_name(sheet, at), shown(sheet, "%s/measured", at),
                                     shown(sheet, "%s/balanced", at), z_text(sheet, at)},
                                    0};
  }
  print_line("");
  table_print(&table);
}

static const char* chance_text(Sheet* sheet) {
  Pool* pool = &sheet->page.pool;
  const double p = ask_number(&sheet->page, "/p");
  const char* chance = p < 0.001 ? "less than 0.1" : with_figures(pool, 100 * p, 2);
  return pool_text(pool, "chance alone would move them as far %s" NBSP "%% of the time: the figures %s",
                   chance, p < 0.05 ? "DO NOT AGREE" : "agree, as far as their errors can tell");
}

/* The figure farthest off, and others that are within 1 % as far: sums alone cannot tell them apart. */
static void print_at_fault(Sheet* sheet) {
  Page* page = &sheet->page;
  const double worst = fabs(ask_number(page, "/at_fault/z"));
  const size_t count = ask_count(page, "/changes");
  Names figures = {0};
  if (isnan(worst)) return;
  for (size_t i = 0; i < count; ++i) {
    const char* at = pool_text(&page->pool, "/changes/%zu", i);
    if (fabs(ask_number(page, "%s/z", at)) >= 0.99 * worst)
      names_add(&page->pool, &figures, pool_text(&page->pool, "\"%s\"", figures_name(sheet, at)));
  }
  print_wrapped("  ", pool_text(&page->pool, "Look first at %s: %s off by %s standard deviations.%s",
                                names_text(&page->pool, &figures), figures.count > 1 ? "each" : "it is",
                                with_decimals(&page->pool, worst, 1),
                                figures.count > 1 ? " Which of them it is, the sums cannot tell." : ""));
}

static void print_verdict(Sheet* sheet) {
  Page* page = &sheet->page;
  const char* degrees = ask_text(page, "/degrees");
  print_line("");
  if (isnan(ask_number(page, "/p"))) {
    print_wrapped("  ", "The figures just suffice: none is there to test another.");
    return;
  }
  print_wrapped("  ", pool_text(&page->pool, "χ²" NBSP "%s with %s degree%s of freedom; %s.",
                                with_figures(&page->pool, ask_number(page, "/chi_squared"), 3), degrees,
                                strcmp(degrees, "1") == 0 ? "" : "s", chance_text(sheet)));
  print_at_fault(sheet);
}

void print_balance(Sheet* sheet) {
  const Streams streams = streams_of(&sheet->page);
  print_title(sheet, "A balance: streams made to agree");
  const char* basis = ask_text(&sheet->page, "/basis");
  if (*basis != '\0')
    print_wrapped("  ",
                  pool_text(&sheet->page.pool, "No mass was stated: %s, and the rest goes by it.", basis));
  print_masses(sheet, &streams);
  print_analytes(sheet, &streams);
  print_changes(sheet);
  print_verdict(sheet);
}
