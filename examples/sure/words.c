/* Words and figures of the page. */
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

/* ---- Quantities by their pointer ------------------------------------------------------------- */

enum { most_steps = 64 };

typedef struct Way {
  const char* step[most_steps];
  size_t count;
} Way;

static Way way_of(Pool* pool, const char* pointer) {
  Way way = {{0}, 0};
  Text step = {0};
  for (const char* at = pointer; *at != '\0' && way.count < most_steps;) {
    for (++at; *at != '/' && *at != '\0'; ++at) {
      const int escaped = *at == '~' && (at[1] == '0' || at[1] == '1');
      text_add_byte(&step, !escaped ? *at : *++at == '1' ? '/' : '~');
    }
    way.step[way.count++] = pool_keep(pool, &step);
  }
  return way;
}

static int is_step(const Way* way, size_t i, const char* name) {
  return i < way->count && strcmp(way->step[i], name) == 0;
}

static int is_number(const char* step) { return *step != '\0' && step[strspn(step, "0123456789")] == '\0'; }

static const char* with_spaces(Pool* pool, const char* name) {
  char* text = pool_block(pool, strlen(name) + 1);
  for (size_t i = 0; name[i] != '\0'; ++i) text[i] = name[i] == '_' ? ' ' : name[i];
  return text;
}

/* The fields from one on in words: "gold, share of the price". */
static const char* fields_text(Pool* pool, const Way* way, size_t from) {
  Names names = {0};
  for (size_t i = from; i < way->count; ++i) {
    const char* step = way->step[i];
    if (strcmp(step, "pay") == 0 || strcmp(step, "assays") == 0) continue;
    if (is_number(step)) names_add(pool, &names, pool_text(pool, "no. %lu", strtoul(step, NULL, 10) + 1));
    else if (strcmp(step, "price_share") == 0) names_add(pool, &names, "share of the price");
    else names_add(pool, &names, analyte_name(with_spaces(pool, step)));
  }
  return names_listed(pool, &names);
}

/* "gold curve, constant a", "gold in the slag", "pull". */
static const char* step_figure(Pool* pool, const Way* way, size_t from) {
  if (is_step(way, from, "curve") && is_step(way, from + 2, "logit") && from + 4 == way->count)
    return pool_text(pool, "%s curve, constant %s", analyte_name(way->step[from + 1]),
                     is_step(way, from + 3, "0") ? "a" : "b");
  if (is_step(way, from, "curve") && from + 3 == way->count)
    return pool_text(pool, "%s curve, %s", analyte_name(way->step[from + 1]),
                     with_spaces(pool, way->step[from + 2]));
  if (is_step(way, from, "slag_grade") && from + 2 == way->count)
    return pool_text(pool, "%s in the slag", analyte_name(way->step[from + 1]));
  if (is_step(way, from, "into") && from + 3 == way->count)
    return pool_text(pool, "%s in the %s", analyte_name(way->step[from + 2]), way->step[from + 1]);
  if (is_step(way, from, "cut") && is_step(way, from + 1, "pull")) return "pull";
  return fields_text(pool, way, from);
}

static const char* assay_figure(Pool* pool, const Way* way, size_t from) {
  if (is_step(way, from, "assays") && from + 2 == way->count)
    return pool_text(pool, "%s assay", analyte_name(way->step[from + 1]));
  return fields_text(pool, way, from);
}

/* What the plan calls a part of the lot. */
static const char* part_name(Sure* sure, size_t part) {
  const Json parts = json_member(json_member(sure->document, "lot"), "parts");
  Entry entry = {0};
  for (size_t i = 0; json_next(parts, &entry); ++i) {
    if (i != part) continue;
    const char* id = json_text(&sure->pool, json_member(entry.value, "id"));
    if (*id != '\0') return id;
  }
  return pool_text(&sure->pool, "part %zu", part + 1);
}

static const char* lot_figure(Sure* sure, const Way* way) {
  Pool* pool = &sure->pool;
  if (is_step(way, 1, "parts") && way->count > 3)
    return pool_text(pool, "%s: %s", part_name(sure, strtoul(way->step[2], NULL, 10)),
                     assay_figure(pool, way, 3));
  if (is_step(way, 1, "apart") && way->count > 3)
    return pool_text(pool, "%s: %s", way->step[2], assay_figure(pool, way, 3));
  return pool_text(pool, "lot: %s", assay_figure(pool, way, 1));
}

/* What the plant makes of an output that is sent back. */
static const char* credit_figure(Sure* sure, const Way* way) {
  const size_t last = way->count - 1;
  if (way->count > 4 && is_step(way, last - 1, "return"))
    return pool_text(&sure->pool, "%s credited for %s", analyte_name(way->step[last]), way->step[last - 2]);
  return fields_text(&sure->pool, way, 2);
}

/* Where a figure stands does not matter where it is one with others. */
static const char* named(Sure* sure, const Way* way, size_t more) {
  Pool* pool = &sure->pool;
  if (is_step(way, 0, "prices") && way->count == 2)
    return pool_text(pool, "%s price", analyte_name(way->step[1]));
  if (is_step(way, 0, "exchange") && way->count == 2)
    return pool_text(pool, "exchange rate of %s", way->step[1]);
  if (is_step(way, 0, "lot")) return lot_figure(sure, way);
  if (is_step(way, 0, "steps") && way->count > 2)
    return more > 0 ? step_figure(pool, way, 2)
                    : pool_text(pool, "%s: %s", way->step[1], step_figure(pool, way, 2));
  if (is_step(way, 0, "terms") && way->count > 2)
    return pool_text(pool, "%s: %s", way->step[1], fields_text(pool, way, 2));
  if (is_step(way, 0, "routes") && way->count > 3)
    return more > 0 ? credit_figure(sure, way)
                    : pool_text(pool, "%s: %s", way->step[1], credit_figure(sure, way));
  return fields_text(pool, way, 0);
}

const char* figures_name(Sure* sure, const char* pointer, size_t more) {
  const Way way = way_of(&sure->pool, pointer);
  return named(sure, &way, more);
}

const char* figure_name(Sure* sure, const char* pointer) { return figures_name(sure, pointer, 0); }
