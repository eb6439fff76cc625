/* The page an operator reads: what to do, what each route leaves, and why. */
#ifndef PAGE_PAGE_H
#define PAGE_PAGE_H

#include <buttonworth.h>

#include "json.h"
#include "text.h"

/* One route of the answer. */
typedef struct Route {
  const char* name;
  const char* at; /* its pointer in the answer */
  size_t order;   /* its place there */
  int refused, conditional;
  double leaves; /* counting what waiting costs */
} Route;

typedef struct Page {
  bw_context* context;
  const bw_answer* answer;
  Json plan;
  Pool pool;
  Route* routes; /* best first, the refused last */
  size_t count;
  const Route* best; /* NULL where every route is refused */
  const char* currency;
  int cents; /* decimals of money: none for large sums */
} Page;

/* Takes what the page needs from the answer and the plan's text; page_close frees it. */
void page_open(Page* page, bw_context* context, const bw_answer* answer, const char* plan_text);
void page_close(Page* page);

/* Prints the page; prints how every amount of every route was worked out. */
void page_print(Page* page);
void page_print_how(Page* page);

/* ---- The answer, by pointer: NaN, "" or 0 where nothing of the kind stands ------------------ */

/* A page of nothing but an answer; frees itself with pool_free(&page.pool). */
Page asking(bw_context* context, const bw_answer* answer);

double ask_number(Page* page, const char* pointer, ...) PAGE_FORMAT(2, 3);
const char* ask_text(Page* page, const char* pointer, ...) PAGE_FORMAT(2, 3);
size_t ask_count(Page* page, const char* pointer, ...) PAGE_FORMAT(2, 3);
const char* ask_name(Page* page, const char* pointer, size_t index);
/* A name as a step of a pointer. */
const char* ask_step(Page* page, const char* name);

/* ---- Words --------------------------------------------------------------------------------- */

typedef struct Names {
  const char** name;
  size_t count, room;
} Names;

void names_add(Pool* pool, Names* names, const char* name); /* once only */
int names_have(const Names* names, const char* name);
/* "one, two and three". */
const char* names_text(Pool* pool, const Names* names);
/* "one, two, three". */
const char* names_listed(Pool* pool, const Names* names);
/* "the harbour smelter" for a name in small letters, "Bray & Sons" as it is. */
const char* with_the(Pool* pool, const char* name);
/* "gold" for "Au". */
const char* metal_name(const char* symbol);
/* The same with the base metals: "arsenic" for "As", where a sentence begins with it or a table lists them.
 */
const char* analyte_name(const char* symbol);
/* "Gold" for "gold". */
const char* with_capital(Pool* pool, const char* word);
const char* money_text(Page* page, double amount);
/* How an amount was worked out, to be broken before its signs and after commas only, so that a figure
 * keeps its unit. */
const char* whole_figures(Page* page, const char* how);

/* ---- Cautions ------------------------------------------------------------------------------- */

/* The sentence that ends each caution of what can hurt somebody, to be said once, after the last. */
extern const char rules_of_caution[];
/* Whether it ends a caution; the caution without it. */
int is_hazard(const char* what);
const char* without_rules(Pool* pool, const char* what);
int is_of_mercury(const char* what);

/* ---- The parts of the page ------------------------------------------------------------------ */

/* Gold that an output of a step took back to the plant. */
typedef struct Share {
  const char* output;
  double grams;
} Share;
/* What to do on a route, and what its walk met. */
typedef struct Doing {
  const char* sentences;
  Share* back;
  size_t back_count;
  Names kept; /* outputs that are kept */
} Doing;
Doing doing_of(Page* page, const Route* route, const char* metal);

void print_routes(Page* page);
void print_money(Page* page);
void print_metal(Page* page, const Doing* doing, const char* metal);
void print_reasons(Page* page);
void print_work(Page* page);
void print_cautions(Page* page);
/* Whether the best route heats mercury, or what nobody tested for it. */
enum Mercury { mercury_none, mercury_untested, mercury_known };
enum Mercury mercury_before_heat(Page* page);

#endif
