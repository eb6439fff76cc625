/* Words and figures of the page. */
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sure.h"

/* ---- Routes ---------------------------------------------------------------------------------- */

const char* route_at(Page* simulation, const char* name) {
  return pool_text(&simulation->pool, "/routes%s", ask_step(simulation, name));
}

static int is_always(double percent) { return percent >= 100; }

const char* preferred(Sure* sure) {
  Page* page = &sure->simulation;
  const char* name = ask_text(page, "/preferred");
  return is_always(ask_number(page, "%s/refused_share", route_at(page, name))) ? "" : name;
}

typedef struct Standing {
  const char* name;
  double mean;
  int refused;
  size_t order;
} Standing;

static int larger_mean_first(const void* left, const void* right) {
  const Standing *a = left, *b = right;
  if (a->refused != b->refused) return a->refused - b->refused;
  if (a->mean != b->mean) return a->mean > b->mean ? -1 : 1;
  return a->order < b->order ? -1 : 1;
}

const char** routes_in_order(Sure* sure, size_t* count) {
  Page* page = &sure->simulation;
  *count = ask_count(page, "/routes");
  Standing* all = pool_block(&sure->pool, *count * sizeof *all);
  const char** names = pool_block(&sure->pool, *count * sizeof *names);
  for (size_t i = 0; i < *count; ++i) {
    all[i].name = ask_name(page, "/routes", i);
    const char* at = route_at(page, all[i].name);
    all[i].mean = ask_number(page, "%s/mean", at);
    all[i].refused = is_always(ask_number(page, "%s/refused_share", at));
    all[i].order = i;
  }
  qsort(all, *count, sizeof *all, larger_mean_first);
  for (size_t i = 0; i < *count; ++i) names[i] = all[i].name;
  return names;
}

const char* quoted(Pool* pool, const char* name) { return pool_text(pool, "\"%s\"", name); }

/* ---- Shares of the draws --------------------------------------------------------------------- */

const char* often_text(Pool* pool, double percent) {
  if (percent >= 100) return "all";
  if (percent <= 0) return "none";
  if (percent >= 99.5) return "more than 99" NBSP "in" NBSP "100";
  if (percent < 0.5) return "less than 1" NBSP "in" NBSP "100";
  if (percent >= 9.5 && percent < 90.5)
    return pool_text(pool, "%.0f" NBSP "in" NBSP "10", floor(percent / 10 + 0.5));
  return pool_text(pool, "%.0f" NBSP "in" NBSP "100", floor(percent + 0.5));
}

const char* in_hundred(Pool* pool, double percent) {
  if (!(percent > 0)) return "-";
  if (percent < 0.5) return "<1";
  if (percent >= 99.5 && percent < 100) return ">99";
  return pool_text(pool, "%.0f", floor(percent + 0.5));
}

/* ---- Figures --------------------------------------------------------------------------------- */

enum { shown_figures = 4 };

const char* short_quantity(Pool* pool, const char* quantity) {
  const char* unit = strchr(quantity, ' ');
  const double value = strtod(quantity, NULL);
  const char* number = with_figures(pool, value, shown_figures);
  /* Zeros after the point say nothing here. */
  if (strchr(number, '.') != NULL) {
    size_t size = strlen(number);
    while (number[size - 1] == '0') --size;
    if (number[size - 1] == '.') --size;
    number = pool_text(pool, "%.*s", (int)size, number);
  }
  return unit != NULL ? pool_text(pool, "%s" NBSP "%s", number, unit + 1) : number;
}

const char* amount_text(Sure* sure, double amount) {
  return with_decimals(&sure->pool, amount, sure->comparison.cents);
}

/* ---- Sentences ------------------------------------------------------------------------------- */

const char* kept_figures(Pool* pool, const char* sentence) {
  Text text = {0};
  for (const char* at = sentence; *at != '\0'; ++at) {
    const int after_figure = at > sentence && isdigit((unsigned char)at[-1]);
    const int before_unit =
        isupper((unsigned char)at[1]) || at[1] == '%' || memchr(at + 1, '/', strcspn(at + 1, " ")) != NULL;
    const int of_hundred = strncmp(at, " in 10", 6) == 0; /* "8 in 10" */
    if (after_figure && of_hundred) {
      text_add(&text, NBSP "in" NBSP);
      at += 3;
    } else if (*at == ' ' && after_figure && before_unit) text_add(&text, NBSP);
    else text_add_byte(&text, *at);
  }
  return pool_keep(pool, &text);
}
