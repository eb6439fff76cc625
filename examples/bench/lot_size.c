/* How long to gather before a lot goes out. */
#include <math.h>
#include <string.h>

#include "sheet.h"

static const char* days_text(Sheet* sheet, const char* pointer) {
  return with_decimals(&sheet->page.pool, ask_number(&sheet->page, "%s", pointer), 1);
}

static const char* money_at(Sheet* sheet, const char* pointer) {
  const double amount = ask_number(&sheet->page, "%s", pointer);
  return isnan(amount) ? "" : with_decimals(&sheet->page.pool, amount, 0);
}

static void print_best(Sheet* sheet) {
  Page* page = &sheet->page;
  if (isnan(ask_number(page, "/wait"))) {
    print_line("No route is accepted by its buyers, however long one waits.");
    return;
  }
  print_row("Gather for", pool_text(&page->pool, "%s days", days_text(sheet, "/wait")));
  print_figure(sheet, "which makes", "/wet_mass");
  print_row("then", ask_text(page, "/route"));
  print_row("worth", pool_text(&page->pool, "%s" NBSP "%s a day, lot after lot, counting what waiting costs",
                               money_at(sheet, "/per_day"), page->currency));
}

static void print_steps(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/steps");
  const double best = ask_number(page, "/wait");
  Table table;
  table_open(&table, &page->pool, 6, 1);
  *table_add(&table) = (TableRow){{"", "days", "wet, kg", "a lot is worth", "a day", "route"}, 0};
  for (size_t i = 0; i < count; ++i) {
    const char* at = pool_text(&page->pool, "/steps/%zu", i);
    const int refused = strcmp(ask_text(page, "%s/route", at), "null") == 0;
    *table_add(&table) = (TableRow){{ask_number(page, "%s/wait", at) == best ? "best" : "",
                                     days_text(sheet, pool_text(&page->pool, "%s/wait", at)),
                                     with_decimals(&page->pool, ask_number(page, "%s/wet_mass", at), 0),
                                     money_at(sheet, pool_text(&page->pool, "%s/present_value", at)),
                                     money_at(sheet, pool_text(&page->pool, "%s/per_day", at)),
                                     refused ? "all refused" : ask_text(page, "%s/route", at)},
                                    0};
  }
  print_heading(pool_text(&page->pool, "How it goes with the time, %s", page->currency));
  table_print(&table);
}

static void print_closed_form(Sheet* sheet) {
  Page* page = &sheet->page;
  if (ask_count(page, "/closed_form") == 0) return;
  print_line("");
  print_wrapped("  ", pool_text(&page->pool,
                                "If a lot's worth were a straight line in its size, %s" NBSP
                                "%s a day less %s" NBSP "%s a lot, the best would be %s days.",
                                money_at(sheet, "/closed_form/value_per_day"), page->currency,
                                money_at(sheet, "/closed_form/fixed_per_lot"), page->currency,
                                days_text(sheet, "/closed_form/wait")));
}

void print_lot_size(Sheet* sheet) {
  print_title(sheet, "How long to gather before a lot goes out");
  print_best(sheet);
  print_steps(sheet);
  print_closed_form(sheet);
}
