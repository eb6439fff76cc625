/* How sure a plan's choice is: the library's answers, asked one after another, and the page made of them. */
#ifndef SURE_SURE_H
#define SURE_SURE_H

#include <buttonworth.h>

#include "../page/json.h"
#include "../page/number.h"
#include "../page/page.h"
#include "../page/table.h"

enum { most_answers = 32 };

/* Where the question comes from. */
typedef struct Source {
  const char* plan;    /* the files' names, for messages */
  const char* options; /* NULL without one */
  const char* draws;   /* how many, instead of the options' own; NULL for those */
  int keep;            /* whether the draws are wanted for a picture */
} Source;

typedef struct Sure {
  bw_context* context;
  const bw_plan* plan;
  Json document; /* the plan's */
  Json options;  /* the object of an options file; NULL without one */
  Pool pool;
  Page comparison; /* its best route is the one that the simulation prefers; none where all are refused */
  Page simulation, worth, offers, cut, sensitivity; /* answers that were not asked for say nothing */
  Page tips[most_answers], maps[most_answers];
  size_t tip_count, map_count;
  bw_answer* answers[2 * most_answers + 8]; /* all of them, in the order in which they were asked */
  const char* parts[2 * most_answers + 8];  /* which part of the options each answers, or "compare" */
  size_t answer_count;
} Sure;

/* ---- Asking ---------------------------------------------------------------------------------- */

/* Asks all that the options name, or the usual without them; gives the exit code, errors told. Close it in
 * either case. */
int sure_ask(Sure* sure, bw_context* context, const bw_plan* plan, const Text* options, const Source* source);
void sure_close(Sure* sure);
/* All answers as one JSON object, by the options' names of their parts. */
void print_answers(const Sure* sure);

/* ---- Words ----------------------------------------------------------------------------------- */

/* The route that the simulation prefers, "" where every route is refused in every draw. */
const char* preferred(Sure* sure);
/* A route's pointer in the simulation. */
const char* route_at(Page* simulation, const char* name);
/* Routes in the order of what they leave on average, the always refused last. */
const char** routes_in_order(Sure* sure, size_t* count);
/* "8 in 10", "97 in 100", for a share of 100. */
const char* often_text(Pool* pool, double percent);
/* For a column of draws in 100: "73", "<1", "" for none. */
const char* in_hundred(Pool* pool, double percent);
/* A quantity of an answer to four figures: "3,044 USD/ozt". */
const char* short_quantity(Pool* pool, const char* quantity);
/* An amount of an answer without places that nobody reads. */
const char* amount_text(Sure* sure, double amount);
/* "\"tabled at best\"". */
const char* quoted(Pool* pool, const char* name);
/* A sentence of the library, broken nowhere between a figure and its unit. */
const char* kept_figures(Pool* pool, const char* sentence);

/* ---- The page -------------------------------------------------------------------------------- */

void print_sure(Sure* sure);
void print_choice(Sure* sure);
void print_chances(Sure* sure);
void print_inputs(Sure* sure);
void print_worth(Sure* sure);
void print_tips(Sure* sure);
void print_swings(Sure* sure);
void print_offers(Sure* sure);
void print_forgiving(Sure* sure);

#endif
