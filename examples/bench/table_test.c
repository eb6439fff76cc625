/* The curve of a table from a test: which form fits, how well, and what it says elsewhere. */
#include <math.h>
#include <string.h>

#include "sheet.h"

enum { most_forms = 3 };

typedef struct Forms {
  const char* name[most_forms];
  size_t count;
} Forms;

static Forms forms_of(Page* page) {
  Forms forms = {{0}, ask_count(page, "/fits")};
  if (forms.count > most_forms) forms.count = most_forms;
  for (size_t i = 0; i < forms.count; ++i) forms.name[i] = ask_name(page, "/fits", i);
  return forms;
}

/* ---- The forms ------------------------------------------------------------------------------- */

/* The curve at a pointer in the terms of its formula: "a 5.12 ± 0.14, b 1.002 ± 0.037". */
static const char* constants_text(Sheet* sheet, const char* at) {
  Pool* pool = &sheet->page.pool;
  const char* odds = number_shown(sheet, "%s/odds", at);
  if (*odds != '\0') return pool_text(pool, "S" NBSP "%s", odds);
  const char* limit = shown(sheet, "%s/limit_recovery", at);
  if (*limit != '\0')
    return pool_text(pool, "L" NBSP "%s, k" NBSP "%s", limit, number_shown(sheet, "%s/rate", at));
  return pool_text(pool, "a" NBSP "%s, b" NBSP "%s", number_shown(sheet, "%s/logit/0", at),
                   number_shown(sheet, "%s/logit/1", at));
}

static const char* points_text(Sheet* sheet, const char* form, const char* name) {
  const double points = ask_number(&sheet->page, "/fits/%s/%s", form, name);
  return isnan(points) ? "" : with_figures(&sheet->page.pool, points, 2);
}

static void print_forms(Sheet* sheet, const Forms* forms) {
  Page* page = &sheet->page;
  const char* chosen = ask_text(page, "/form");
  Table table;
  table_open(&table, &page->pool, 4, 1);
  table.may_go[2] = table.may_go[3] = 1;
  *table_add(&table) = (TableRow){{"Form", "constants", "misfit", "left out"}, 0};
  for (size_t i = 0; i < forms->count; ++i) {
    const char* form = forms->name[i];
    const int is_chosen = strcmp(form, chosen) == 0;
    *table_add(&table) =
        (TableRow){{is_chosen ? pool_text(&page->pool, "%s, chosen", form) : form,
                    constants_text(sheet, pool_text(&page->pool, "/fits/%s/curve", form)),
                    points_text(sheet, form, "misfit"), points_text(sheet, form, "left_out")},
                   0};
  }
  table_print(&table);
}

static void print_legend(void) {
  print_wrapped(
      "  ",
      "R, recovery, against y, the share of the dry feed that is pulled. Odds: R/(1−R) = S y/(1−y). Logit: "
      "ln(R/(1−R)) = a + b ln(y/(1−y)). Saturating: R = L (1 − exp(−k y)). Misfit: how far the points lie "
      "off, "
      "in percentage points; left out: how far each lies off a curve fitted without it.");
}

/* ---- Found and fitted ------------------------------------------------------------------------ */

static const char* share_text(Sheet* sheet, double share, int places) {
  return isnan(share) ? "" : with_decimals(&sheet->page.pool, share, places);
}

static void print_points(Sheet* sheet, const Forms* forms) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/points");
  Table table;
  table_open(&table, &page->pool, 2 + forms->count, 0);
  TableRow* row = table_add(&table);
  row->cell[0] = "pull, %";
  row->cell[1] = "found, %";
  for (size_t f = 0; f < forms->count; ++f) row->cell[2 + f] = forms->name[f];
  for (size_t i = 0; i < count; ++i) {
    row = table_add(&table);
    row->cell[0] = share_text(sheet, ask_number(page, "/points/%zu/pull", i), 2);
    row->cell[1] = share_text(sheet, ask_number(page, "/points/%zu/recovery", i), 1);
    for (size_t f = 0; f < forms->count; ++f)
      row->cell[2 + f] = share_text(sheet, ask_number(page, "/points/%zu/fitted/%s", i, forms->name[f]), 1);
  }
  print_heading("What was found, and what each form makes of it");
  table_print(&table);
}

static void print_elsewhere(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/at");
  if (count == 0) return;
  Table table;
  table_open(&table, &page->pool, 3, 0);
  *table_add(&table) = (TableRow){{"pull, %", "recovery, %", ""}, 0};
  for (size_t i = 0; i < count; ++i) {
    const int beyond = strcmp(ask_text(page, "/at/%zu/extrapolated", i), "true") == 0;
    *table_add(&table) =
        (TableRow){{share_text(sheet, ask_number(page, "/at/%zu/pull", i), 2),
                    number_shown(sheet, "/at/%zu/recovery", i), beyond ? "outside the test" : ""},
                   0};
  }
  print_heading("The chosen curve where it was asked");
  table_print(&table);
}

/* ---- What a plan takes ----------------------------------------------------------------------- */

static void print_for_the_plan(Sheet* sheet) {
  Page* page = &sheet->page;
  print_line("");
  print_row("Curve for the plan", constants_text(sheet, "/curve"));
  const double correlation = ask_number(page, "/correlation");
  if (!isnan(correlation))
    print_row("", pool_text(&page->pool, "(the two move together: correlation %s)",
                            with_decimals(&page->pool, correlation, 2)));
  const size_t limits = ask_count(page, "/limit");
  for (size_t i = 0; i < limits; ++i)
    print_row("Limit", pool_text(&page->pool, "%s no richer than %s", analyte_at(sheet, "/limit", i),
                                 shown(sheet, "/limit%s", ask_step(page, ask_name(page, "/limit", i)))));
  print_row("Best cut to be sought",
            pool_text(&page->pool, "from %s to %s", shown(sheet, "/search/0"), shown(sheet, "/search/1")));
}

void print_table_test(Sheet* sheet) {
  const Forms forms = forms_of(&sheet->page);
  print_title(sheet, pool_text(&sheet->page.pool, "The curve of a table: %s",
                               analyte_name(ask_text(&sheet->page, "/of"))));
  print_forms(sheet, &forms);
  print_legend();
  print_points(sheet, &forms);
  print_elsewhere(sheet);
  print_for_the_plan(sheet);
}
