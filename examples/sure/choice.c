/* What to do, and how sure that is; what each route leaves. */
#include <math.h>
#include <string.h>

#include "sure.h"

/* Below this share of draws in which the route is ahead nobody can say which is better. */
static const double too_close = 60;

static const char* money_with_currency(Sure* sure, double amount) {
  return pool_text(&sure->pool, "%s" NBSP "%s", amount_text(sure, amount), sure->simulation.currency);
}

/* ---- What it leaves -------------------------------------------------------------------------- */

static const char* leaves_text(Sure* sure, const char* at) {
  Page* page = &sure->simulation;
  if (ask_count(page, "/inputs") == 0)
    return pool_text(&sure->pool, "It leaves %s.",
                     money_with_currency(sure, ask_number(page, "%s/mean", at)));
  return pool_text(&sure->pool,
                   "It leaves %s on average; 95" NBSP "in" NBSP
                   "100 draws lie between %s and %s, and the worst "
                   "5" NBSP "in" NBSP "100 leave %s on average.",
                   money_with_currency(sure, ask_number(page, "%s/mean", at)),
                   amount_text(sure, ask_number(page, "%s/low", at)),
                   amount_text(sure, ask_number(page, "%s/high", at)),
                   amount_text(sure, ask_number(page, "%s/worst_mean", at)));
}

/* ---- How sure -------------------------------------------------------------------------------- */

static void add_lead(Sure* sure, Text* text) {
  Page* page = &sure->simulation;
  const double ahead = ask_number(page, "/lead/ahead"), mean = ask_number(page, "/lead/mean");
  const char* next = quoted(&sure->pool, ask_text(page, "/lead/over"));
  if (ahead < too_close)
    text_add(text, "It and the next, %s, are too close to call: it is ahead in %s draws, ", next,
             often_text(&sure->pool, ahead));
  else text_add(text, "It is ahead of the next, %s, in %s draws, ", next, often_text(&sure->pool, ahead));
  if (mean >= 0) text_add(text, "by %s on average.", amount_text(sure, mean));
  else text_add(text, "though it leaves %s less on average.", amount_text(sure, -mean));
}

/* The other route that is the best most often; NULL where none ever is. */
static const char* rival(Sure* sure, double* share) {
  Page* page = &sure->simulation;
  const size_t count = ask_count(page, "/routes");
  const char* found = NULL;
  *share = 0;
  for (size_t i = 0; i < count; ++i) {
    const char* name = ask_name(page, "/routes", i);
    const double its = ask_number(page, "%s/best_share", route_at(page, name));
    if (strcmp(name, preferred(sure)) == 0 || !(its > *share)) continue;
    *share = its;
    found = name;
  }
  return found;
}

static const char* sure_text(Sure* sure, const char* at) {
  Page* page = &sure->simulation;
  Text text = {0};
  double share;
  if (ask_count(page, "/inputs") == 0)
    return "nothing in the plan is stated as uncertain, so that cannot be said.";
  if (isnan(ask_number(page, "/lead/mean"))) return "there is no other route to choose.";
  const char* other = rival(sure, &share);
  text_add(&text, "of all routes it is the best in %s draws",
           often_text(&sure->pool, ask_number(page, "%s/best_share", at)));
  if (other != NULL)
    text_add(&text, ", %s in %s", quoted(&sure->pool, other), often_text(&sure->pool, share));
  text_add(&text, ". ");
  add_lead(sure, &text);
  return pool_keep(&sure->pool, &text);
}

/* ---- By other measures ----------------------------------------------------------------------- */

static void add_choice(Sure* sure, const char* name, const char* measure, Names* others) {
  const char* choice = ask_text(&sure->simulation, "/choices/%s", name);
  if (strcmp(choice, preferred(sure)) == 0 || *choice == '\0') return;
  names_add(&sure->pool, others,
            strcmp(choice, "null") == 0
                ? pool_text(&sure->pool, "%s, none", measure)
                : pool_text(&sure->pool, "%s, %s", measure, quoted(&sure->pool, choice)));
}

/* Whether a careful man, or the plan without its spreads, would choose otherwise. */
static const char* measures_text(Sure* sure) {
  Names others = {0};
  add_choice(sure, "plan", "by the plan's own figures", &others);
  add_choice(sure, "mean", "by the average", &others);
  add_choice(sure, "worst 5 % mean", "by the worst 5" NBSP "in" NBSP "100", &others);
  add_choice(sure, "mean less sd", "by the average less the spread", &others);
  if (others.count == 0) return "The average, the worst draws and the plan's own figures all choose it.";
  return pool_text(&sure->pool, "It would be otherwise %s.", names_text(&sure->pool, &others));
}

static const char* certainty_text(Sure* sure) {
  return pool_text(
      &sure->pool,
      "Knowing every figure beforehand would bring %s more on average: no measurement is worth more.",
      money_with_currency(sure, ask_number(&sure->simulation, "/worth_of_certainty")));
}

static void print_standing(Sure* sure) {
  Page* page = &sure->comparison;
  const char* at = route_at(&sure->simulation, preferred(sure));
  const double refused = ask_number(&sure->simulation, "%s/refused_share", at);
  print_wrapped("  ", leaves_text(sure, at));
  print_wrapped("  ", pool_text(&sure->pool, "How sure: %s", sure_text(sure, at)));
  if (refused > 0)
    print_wrapped("  ", pool_text(&sure->pool, "It is refused in %s draws, and worth nothing in these.",
                                  often_text(&sure->pool, refused)));
  if (ask_count(&sure->simulation, "/inputs") > 0) {
    print_wrapped("  ", measures_text(sure));
    print_wrapped("  ", certainty_text(sure));
  }
  if (page->best != NULL && page->best->conditional)
    print_wrapped("  ", "It hangs on a test that was not made: see Conditional.");
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

static int is_conditional(Sure* sure, const char* name) {
  for (size_t i = 0; i < sure->comparison.count; ++i)
    if (strcmp(sure->comparison.routes[i].name, name) == 0)
      return sure->comparison.routes[i].conditional && !sure->comparison.routes[i].refused;
  return 0;
}

static void add_route(Sure* sure, Table* table, const char* name) {
  Page* page = &sure->simulation;
  const char* at = route_at(page, name);
  const double refused = ask_number(page, "%s/refused_share", at);
  TableRow* row = table_add(table);
  row->cell[0] = pool_text(&sure->pool, "%s %s", is_conditional(sure, name) ? "?" : " ", name);
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
