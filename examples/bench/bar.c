/* A bar: what it should be and what it is, what its weight in water says, what each melt took. */
#include <math.h>
#include <string.h>

#include "sheet.h"

/* ---- Expected -------------------------------------------------------------------------------- */

static void print_expected(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/expected/metal");
  if (ask_count(page, "/expected") == 0) return;
  const Figure mass = in_unit(figure_at(page, "/expected/mass"), 1000, "g");
  Table table;
  table_open(&table, &page->pool, 3, 1);
  *table_add(&table) = (TableRow){{"Expected in the bar", "g", "fine"}, 0};
  for (size_t i = 0; i < count; ++i) {
    const char* step = ask_step(page, ask_name(page, "/expected/metal", i));
    *table_add(&table) =
        (TableRow){{analyte_at(sheet, "/expected/metal", i), number_shown(sheet, "/expected/metal%s", step),
                    number_shown(sheet, "/expected/fineness%s", step)},
                   0};
  }
  TableRow* sum = table_add(&table);
  *sum = (TableRow){{"the bar", figure_number(&page->pool, mass), ""}, 1};
  table_print(&table);
}

/* ---- Found ----------------------------------------------------------------------------------- */

/* What the answer calls by its symbol, in words, and where the same figure stands as expected. */
typedef struct Found {
  const char *name, *unit, *expected;
  double to_unit;
} Found;

static Found found_of(Sheet* sheet, const char* what) {
  Pool* pool = &sheet->page.pool;
  if (strcmp(what, "mass") == 0) return (Found){"mass", "g", "/expected/mass", 1000};
  const char* metal = strstr(what, " metal");
  const char* symbol = metal != NULL ? pool_text(pool, "%.*s", (int)(metal - what), what) : what;
  const char* step = ask_step(&sheet->page, symbol);
  if (metal != NULL)
    return (Found){pool_text(pool, "%s in all", analyte_name(symbol)), "g",
                   pool_text(pool, "/expected/metal%s", step), 1};
  return (Found){pool_text(pool, "%s, fineness", analyte_name(symbol)), "fine",
                 pool_text(pool, "/expected/fineness%s", step), 1};
}

/* To the place that the expected figure is known to. */
static const char* found_text(Sheet* sheet, size_t i, const char* name, const Found* found) {
  const double value = found->to_unit * ask_number(&sheet->page, "/found/%zu/%s", i, name);
  const double sd = found->to_unit * figure_at(&sheet->page, found->expected).sd;
  const int places = sd > 0 ? places_of_sd(sd) : 1;
  return to_places(&sheet->page.pool, value, places > 1 ? 1 : places);
}

static void print_found(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/found");
  if (count == 0) return;
  Table table;
  table_open(&table, &page->pool, 6, 1);
  *table_add(&table) = (TableRow){{"Found", "expected", "found", "difference", "z", ""}, 0};
  for (size_t i = 0; i < count; ++i) {
    const Found found = found_of(sheet, ask_text(page, "/found/%zu/what", i));
    const double z = ask_number(page, "/found/%zu/z", i);
    *table_add(&table) = (TableRow){
        {pool_text(&page->pool, "%s, %s", found.name, found.unit), found_text(sheet, i, "expected", &found),
         found_text(sheet, i, "found", &found), found_text(sheet, i, "difference", &found),
         isnan(z) ? "" : with_decimals(&page->pool, z, 1), ask_text(page, "/found/%zu/verdict", i)},
        0};
  }
  print_line("");
  table_print(&table);
  if (*ask_text(page, "/found/0/verdict") != '\0')
    print_wrapped(
        "  ",
        "z: the difference in standard deviations. Beyond 2 it is worth a question, beyond 3 it is to be "
        "acted on.");
}

/* ---- Weighed in water ------------------------------------------------------------------------ */

static void print_weighing(Sheet* sheet) {
  Page* page = &sheet->page;
  if (ask_count(page, "/weighing") == 0) return;
  print_line("");
  print_figure(sheet, "Density", "/weighing/density");
  print_row("Gold by its density",
            pool_text(&page->pool, "between %s and %s" NBSP "fine",
                      with_decimals(&page->pool, ask_number(page, "/weighing/Au/low"), 0),
                      with_decimals(&page->pool, ask_number(page, "/weighing/Au/high"), 0)));
  const size_t count = ask_count(page, "/weighing/if");
  for (size_t i = 0; i < count; ++i) {
    const char* metal = ask_name(page, "/weighing/if", i);
    print_row(i == 0 ? "  if all the rest were" : "",
              pool_text(&page->pool, "%s: %s", analyte_name(metal),
                        shown(sheet, "/weighing/if%s", ask_step(page, metal))));
  }
}

/* ---- Melts ----------------------------------------------------------------------------------- */

static void print_melts(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/melts");
  if (count == 0) return;
  Table table;
  table_open(&table, &page->pool, 3, 2);
  *table_add(&table) = (TableRow){{"Melt", "lost of", "%"}, 0};
  for (size_t i = 0; i < count; ++i) {
    const char* what = ask_text(page, "/melts/%zu/what", i);
    if (*what == '\0') what = pool_text(&page->pool, "melt %zu", i + 1);
    *table_add(&table) = (TableRow){{what, "weight", number_shown(sheet, "/melts/%zu/weight_loss", i)}, 0};
    const char* losses = pool_text(&page->pool, "/melts/%zu/metal_loss", i);
    const size_t metals = ask_count(page, "%s", losses);
    for (size_t m = 0; m < metals; ++m) {
      const char* metal = ask_name(page, losses, m);
      *table_add(&table) = (TableRow){
          {"", analyte_name(metal), number_shown(sheet, "%s%s", losses, ask_step(page, metal))}, 0};
    }
  }
  print_line("");
  table_print(&table);
  print_wrapped(
      "  ",
      "Weight is lost as slag and base metal burn off; what counts is the metal. A gain stands below 0.");
}

void print_bar(Sheet* sheet) {
  print_title(sheet, "The bar");
  print_expected(sheet);
  print_found(sheet);
  print_weighing(sheet);
  print_melts(sheet);
}
