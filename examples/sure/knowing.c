/* What is worth knowing, and whether one more measurement is worth its cost. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sure.h"

enum { most_inputs = 10 };

/* ---- Inputs ---------------------------------------------------------------------------------- */

typedef struct Input {
  size_t place; /* in the answer */
  double share, worth;
} Input;

static int more_worth_first(const void* left, const void* right) {
  const Input *a = left, *b = right;
  if (a->worth != b->worth) return a->worth > b->worth ? -1 : 1;
  if (a->share != b->share) return a->share > b->share ? -1 : 1;
  return a->place < b->place ? -1 : 1;
}

/* What is shown as 0 is not told. */
static int says_something(Sure* sure, const Input* input) {
  return input->share >= 0.5 || !is_nothing(amount_text(sure, input->worth));
}

static const char* share_text(Pool* pool, double share) {
  return share > 0 ? pool_text(pool, "%s" NBSP "%%", in_hundred(pool, share)) : "-";
}

static void add_input(Sure* sure, Table* table, const Input* input) {
  Page* page = &sure->simulation;
  TableRow* row = table_add(table);
  row->cell[0] = pool_text(&sure->pool, "  %s", ask_text(page, "/inputs/%zu/name", input->place));
  row->cell[1] = share_text(&sure->pool, input->share);
  row->cell[2] = amount_text(sure, input->worth);
}

static Input* inputs_of(Sure* sure, size_t count) {
  Page* page = &sure->simulation;
  Input* inputs = pool_block(&sure->pool, count * sizeof *inputs);
  for (size_t i = 0; i < count; ++i)
    inputs[i] =
        (Input){i, ask_number(page, "/inputs/%zu/share", i), ask_number(page, "/inputs/%zu/worth", i)};
  qsort(inputs, count, sizeof *inputs, more_worth_first);
  return inputs;
}

/* What no single figure makes of the spread. */
static void print_rest(Sure* sure, const Input* inputs, size_t count, size_t told) {
  double sum = 0;
  for (size_t i = 0; i < count; ++i) sum += inputs[i].share;
  Text text = {0};
  text_add(&text,
           "Share: of the spread of the lead over the next route, where both are taken. Worth: of knowing "
           "that figure alone for "
           "certain before choosing.");
  if (told < count) text_add(&text, " The other %zu figures say less.", count - told);
  if (sum < 90) text_add(&text, " What is left of 100" NBSP "%% comes of figures acting together.");
  print_wrapped("  ", pool_keep(&sure->pool, &text));
}

void print_inputs(Sure* sure) {
  const size_t count = ask_count(&sure->simulation, "/inputs");
  if (count == 0 || isnan(ask_number(&sure->simulation, "/inputs/0/worth"))) return;
  const Input* inputs = inputs_of(sure, count);
  size_t told = 0;
  Table table;
  table_open(&table, &sure->pool, 3, 1);
  *table_add(&table) = (TableRow){
      {"What is worth knowing", "share", pool_text(&sure->pool, "worth, %s", sure->simulation.currency)}, 0};
  for (size_t i = 0; i < count && told < most_inputs; ++i) {
    if (!says_something(sure, &inputs[i])) continue;
    add_input(sure, &table, &inputs[i]);
    ++told;
  }
  print_line("");
  if (told == 0) {
    print_wrapped("What is worth knowing: ", "no single figure; none of them alone changes what to do.");
    return;
  }
  table_print(&table);
  print_rest(sure, inputs, count, told);
}

/* ---- Measurements ---------------------------------------------------------------------------- */

/* The count whose figures are shown: the best one, or one where none pays. */
static size_t shown_count(Page* page, size_t candidate) {
  const double best = ask_number(page, "/candidates/%zu/best", candidate);
  return best >= 1 ? (size_t)best : 1;
}

static void add_candidate(Sure* sure, Table* table, size_t i) {
  Page* page = &sure->worth;
  const char* at = pool_text(&sure->pool, "/candidates/%zu/counts/%zu", i, shown_count(page, i) - 1);
  const double best = ask_number(page, "/candidates/%zu/best", i);
  TableRow* row = table_add(table);
  row->cell[0] = pool_text(&sure->pool, "  %s", ask_text(page, "/candidates/%zu/name", i));
  row->cell[1] = pool_text(&sure->pool, "%zu", shown_count(page, i));
  row->cell[2] = amount_text(sure, ask_number(page, "%s/cost", at));
  row->cell[3] = amount_text(sure, ask_number(page, "%s/worth", at));
  row->cell[4] = amount_text(sure, ask_number(page, "%s/net", at));
  row->cell[5] = best >= 1 ? pool_text(&sure->pool, "buy" NBSP "%.0f", best) : "buy" NBSP "none";
}

static const char* verdict(Sure* sure) {
  Page* page = &sure->worth;
  const double count = ask_number(page, "/best/count");
  if (!(count >= 1)) return "Buy none: no measurement looked at is worth what it costs.";
  return pool_text(
      &sure->pool,
      "Buy %.0f of %s. %s %s more than it costs, on average, as what it shows may change the route.", count,
      ask_text(page, "/best/name"), count > 1 ? "They bring" : "It brings",
      amount_text(sure, ask_number(page, "/best/net")));
}

void print_worth(Sure* sure) {
  const size_t count = ask_count(&sure->worth, "/candidates");
  if (count == 0) return;
  Table table;
  print_line("");
  table_open(&table, &sure->pool, 6, 1);
  *table_add(&table) =
      (TableRow){{pool_text(&sure->pool, "Is one more worth its cost, %s", sure->worth.currency), "how many",
                  "cost", "worth", "net", "so"},
                 0};
  for (size_t i = 0; i < count; ++i) add_candidate(sure, &table, i);
  table_print(&table);
  print_wrapped("  ", verdict(sure));
}
