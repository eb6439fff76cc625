/* What simpler ways of choosing would leave, how near this comes to the best, and what can hurt somebody. */
#include <math.h>
#include <string.h>

#include "../page/table.h"
#include "schedule.h"

static const struct Other {
  const char *name, *words;
} others[] = {{"lot_by_lot", "lot by lot as they come, while there is room"},
              {"greedy", "always the one that brings most for its room"},
              {"without_limits", "each lot its best way, room or not"}};
enum { other_count = sizeof others / sizeof *others };

static void add_other(Page* page, Table* table, const struct Other* other) {
  TableRow* row = table_add(table);
  row->cell[0] = pool_text(&page->pool, "  %s", other->words);
  row->cell[1] = with_decimals(&page->pool, ask_number(page, "/compared/%s/present_value", other->name), 0);
}

/* What a simpler way leaves counts for nothing where it does not keep to what has to be kept to. */
static void print_missed(Page* page, const struct Other* other) {
  Names missed = {0};
  const size_t count = ask_count(page, "/compared/%s/misses", other->name);
  for (size_t i = 0; i < count; ++i)
    names_add(&page->pool, &missed, ask_text(page, "/compared/%s/misses/%zu", other->name, i));
  if (count > 0)
    print_wrapped("  ", pool_text(&page->pool, "\"%s\" does not keep to: %s.", other->words,
                                  names_listed(&page->pool, &missed)));
}

static void print_nearness(Page* page) {
  Pool* pool = &page->pool;
  const double looked = ask_number(page, "/looked_at/lots_alone") + ask_number(page, "/looked_at/pairs") +
                        ask_number(page, "/looked_at/triples") + ask_number(page, "/looked_at/larger");
  const double gap = ask_number(page, "/gap");
  const char* near = gap < 5e-5 ? "nothing among them leaves more"
                                : pool_text(pool, "nothing among them leaves more than %s %% above it",
                                            with_figures(pool, gap, 2));
  print_wrapped("  ", pool_text(pool, "%s lots and blends on all routes were worked out; %s.",
                                with_decimals(pool, looked, 0), near));
}

void print_others(Page* page) {
  Table table;
  print_heading(pool_text(&page->pool, "What simpler ways would leave, %s", page->currency));
  table_open(&table, &page->pool, 2, 1);
  table_add(&table)->cell[1] = "leaves";
  TableRow* row = table_add(&table);
  row->cell[0] = "  this schedule";
  row->cell[1] = with_decimals(&page->pool, ask_number(page, "/present_value"), 0);
  for (size_t i = 0; i < other_count; ++i) add_other(page, &table, &others[i]);
  table_print(&table);
  for (size_t i = 0; i < other_count; ++i) print_missed(page, &others[i]);
  print_nearness(page);
}

/* ---- Cautions -------------------------------------------------------------------------------- */

/* A caution with the steps it holds for, whichever shipments they are of. */
typedef struct Danger {
  const char* what;
  Names at;
  int hazard;
} Danger;

static void gather(Page* page, const char* pointer, Danger* dangers, size_t* count) {
  const size_t cautions = ask_count(page, "%s", pointer);
  for (size_t i = 0; i < cautions; ++i) {
    const char* what = ask_text(page, "%s/%zu/what", pointer, i);
    const char* plain = without_rules(&page->pool, what);
    size_t d = 0;
    while (d < *count && strcmp(dangers[d].what, plain) != 0) ++d;
    if (d == *count) {
      const Danger fresh = {plain, {0}, is_hazard(what)};
      dangers[(*count)++] = fresh;
    }
    names_add(&page->pool, &dangers[d].at, ask_text(page, "%s/%zu/at", pointer, i));
  }
}

/* Mercury first. */
static void print_danger_lines(Page* page, const Danger* dangers, size_t count, int mercury) {
  for (size_t i = 0; i < count; ++i)
    if (is_of_mercury(dangers[i].what) == mercury)
      print_wrapped("  - ", pool_text(&page->pool, "%s (%s)", dangers[i].what,
                                      names_listed(&page->pool, &dangers[i].at)));
}

void print_dangers(Page* page) {
  const size_t shipments = ask_count(page, "/shipments");
  size_t most = 0, count = 0;
  int hazards = 0;
  for (size_t i = 0; i < shipments; ++i) most += ask_count(page, "/shipments/%zu/cautions", i);
  if (most == 0) return;
  Danger* dangers = pool_block(&page->pool, most * sizeof *dangers);
  for (size_t i = 0; i < shipments; ++i)
    gather(page, pool_text(&page->pool, "/shipments/%zu/cautions", i), dangers, &count);
  print_heading("Cautions");
  print_danger_lines(page, dangers, count, 1);
  print_danger_lines(page, dangers, count, 0);
  for (size_t i = 0; i < count; ++i) hazards |= dangers[i].hazard;
  if (hazards) print_wrapped("  ", rules_of_caution);
}
