/* What to do, and how sure that is; what each route leaves. */
#include <string.h>

#include "sure.h"

/* In the library's words. */
static void print_standing(Sure* sure) {
  const size_t count = ask_count(&sure->simulation, "/words");
  for (size_t i = 0; i < count; ++i)
    print_wrapped("  ", kept_figures(&sure->pool, ask_text(&sure->simulation, "/words/%zu", i)));
}

static void print_doing(Page* page) {
  const enum Mercury mercury = mercury_before_heat(page);
  if (mercury == mercury_known)
    print_wrapped("  ", "STOP: this way heats mercury. Do not begin it before the cautions below are met.");
  if (page->best == NULL || page->best->refused) return;
  print_wrapped("  ", doing_of(page, page->best, "Au").sentences);
  if (mercury == mercury_untested) print_wrapped("  ", "Have it tested for mercury before any heat.");
}

void print_choice(Sure* sure) {
  print_line("");
  if (*preferred(sure) == '\0') {
    print_line("Nothing can be done as planned: every route is refused in every draw.");
    return;
  }
  print_wrapped("What to do: ", preferred(sure));
  print_doing(&sure->comparison);
  print_standing(sure);
}

/* ---- What each route leaves ------------------------------------------------------------------ */

static void add_route(Sure* sure, Table* table, const char* name) {
  Page* page = &sure->simulation;
  const char* at = route_at(page, name);
  const double refused = ask_number(page, "%s/refused_share", at);
  TableRow* row = table_add(table);
  const int conditional = ask_count(page, "%s/conditional", at) > 0 && !(refused >= 100);
  row->cell[0] = pool_text(&sure->pool, "%s %s", conditional ? "?" : " ", name);
  if (refused >= 100) {
    row->cell[1] = "refused";
    return;
  }
  static const char* const figures[] = {"mean", "low", "high", "worst_mean"};
  for (size_t i = 0; i < 4; ++i)
    row->cell[i + 1] = amount_text(sure, ask_number(page, "%s/%s", at, figures[i]));
  row->cell[5] = in_hundred(&sure->pool, ask_number(page, "%s/best_share", at));
  row->cell[6] = in_hundred(&sure->pool, refused);
}

void print_chances(Sure* sure) {
  size_t count;
  const char** names = routes_in_order(sure, &count);
  Table table;
  print_line("");
  table_open(&table, &sure->pool, 7, 1);
  *table_add(&table) =
      (TableRow){{pool_text(&sure->pool, "What each route leaves, %s", sure->simulation.currency), "average",
                  "low", "high", "worst 5", "best", "refused"},
                 0};
  for (size_t i = 0; i < count; ++i) add_route(sure, &table, names[i]);
  table_print(&table);
  print_wrapped("  ",
                "Low to high: 95 in 100 draws lie between. Worst 5: the average of the worst 5 in 100. Best, "
                "refused: in so many of 100 draws.");
}
