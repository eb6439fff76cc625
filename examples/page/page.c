/* The page as a whole. */
#include "page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- Opening -------------------------------------------------------------------------------- */

static Route read_route(Page* page, size_t i) {
  Route route = {0};
  route.name = ask_name(page, "/routes", i);
  route.at = pool_text(&page->pool, "/routes%s", ask_step(page, route.name));
  route.order = i;
  route.refused = ask_count(page, "%s/refused", route.at) > 0;
  route.conditional = ask_count(page, "%s/conditional", route.at) > 0;
  route.leaves = ask_number(page, "%s/present_value", route.at);
  return route;
}

static int best_first(const void* left, const void* right) {
  const Route *a = left, *b = right;
  if (a->refused != b->refused) return a->refused - b->refused;
  if (!a->refused && a->leaves != b->leaves) return a->leaves > b->leaves ? -1 : 1;
  return a->order < b->order ? -1 : 1;
}

void page_open(Page* page, bw_context* context, const bw_answer* answer, const char* plan_text) {
  memset(page, 0, sizeof *page);
  page->context = context;
  page->answer = answer;
  page->plan = json_document(plan_text);
  page->currency = ask_text(page, "/currency");
  page->count = ask_count(page, "/routes");
  page->routes = pool_block(&page->pool, page->count * sizeof *page->routes);
  for (size_t i = 0; i < page->count; ++i) page->routes[i] = read_route(page, i);
  qsort(page->routes, page->count, sizeof *page->routes, best_first);
  if (page->count > 0 && !page->routes[0].refused) page->best = &page->routes[0];
  page->cents = page->best != NULL && fabs(page->best->leaves) < 1000 ? 2 : 0;
}

void page_close(Page* page) { pool_free(&page->pool); }

/* ---- The head, and what to do ---------------------------------------------------------------- */

static void print_head(Page* page) {
  const Json lot = json_member(page->plan, "lot");
  const char* name = json_text(&page->pool, json_member(lot, "id"));
  const char* date = json_text(&page->pool, json_member(lot, "date"));
  print_wrapped("", pool_text(&page->pool, "%s%s%s: %zu %s compared, money in %s",
                              *name != '\0' ? name : "The lot", *date != '\0' ? ", " : "", date, page->count,
                              page->count == 1 ? "route" : "routes", page->currency));
}

/* How many other routes leave nearly as much as the best. */
static size_t close_to_best(const Page* page) {
  size_t close = 0;
  for (size_t i = 1; i < page->count && !page->routes[i].refused; ++i)
    close += page->best->leaves - page->routes[i].leaves < 0.01 * fabs(page->best->leaves);
  return close;
}

/* "It leaves 78,058 USD, 283 more than the next: too close to call." */
static void add_lead(Page* page, Text* text) {
  text_add(text, "It leaves %s" NBSP "%s", money_text(page, page->best->leaves), page->currency);
  if (page->count > 1 && !page->routes[1].refused)
    text_add(text, ", %s more than the next, \"%s\"",
             money_text(page, page->best->leaves - page->routes[1].leaves), page->routes[1].name);
  const size_t close = close_to_best(page);
  if (close > 0) text_add(text, ": too close to call");
  if (close > 1) text_add(text, " (%zu others are within 1" NBSP "%%)", close);
  text_add(text, ".");
}

/* The metal whose way the page follows: gold, or else the first that is paid. */
static const char* metal_followed(Page* page) {
  const char* all = pool_text(&page->pool, "%s/metal", page->best->at);
  const size_t count = ask_count(page, "%s", all);
  if (ask_number(page, "%s/Au/fed", all) > 0) return "Au";
  for (size_t i = 0; i < count; ++i) {
    const char* metal = ask_name(page, all, i);
    if (ask_number(page, "%s%s/payable", all, ask_step(page, metal)) > 0) return metal;
  }
  return "Au";
}

static void print_what_to_do(Page* page, const Doing* doing) {
  const enum Mercury mercury = mercury_before_heat(page);
  Text text = {0};
  print_line("");
  print_wrapped("What to do: ", page->best->name);
  if (mercury == mercury_known)
    print_wrapped("  ", "STOP: this way heats mercury. Do not begin it before the cautions below are met.");
  print_wrapped("  ", doing->sentences);
  add_lead(page, &text);
  if (page->best->conditional) text_add(&text, " It hangs on a test that was not made: see Conditional.");
  if (mercury == mercury_untested) text_add(&text, " Have it tested for mercury before any heat.");
  print_wrapped("  ", text_of(&text));
  text_free(&text);
}

static void print_nothing_to_do(void) {
  print_line("");
  print_line("Nothing can be done as planned: every route is refused.");
}

/* ---- The page ------------------------------------------------------------------------------- */

static void print_best(Page* page) {
  const char* metal = metal_followed(page);
  const Doing doing = doing_of(page, page->best, metal);
  print_what_to_do(page, &doing);
  print_line("");
  print_routes(page);
  print_line("");
  print_money(page);
  print_line("");
  print_metal(page, &doing, metal);
}

void page_print(Page* page) {
  print_head(page);
  if (page->best != NULL) print_best(page);
  else print_nothing_to_do();
  print_reasons(page);
  if (page->best != NULL) print_work(page);
  print_cautions(page);
}
