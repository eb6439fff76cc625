/* How far a buyer's figures lie from ours over all lots, in plain words. */
#include <math.h>
#include <string.h>

#include "book.h"

/* ---- Names ----------------------------------------------------------------------------------- */

/* "Gold assays" for "Au assay", "Wet masses" for "wet mass". */
static const char* figures_name(Pool* pool, const char* what) {
  const char* assay = strstr(what, " assay");
  if (assay != NULL && strcmp(assay, " assay") == 0) {
    const char* analyte = pool_text(pool, "%.*s", (int)(assay - what), what);
    return pool_text(pool, "%s assays", with_capital(pool, analyte_name(analyte)));
  }
  const size_t size = strlen(what);
  return pool_text(pool, "%s%s", with_capital(pool, what), size > 0 && what[size - 1] == 's' ? "es" : "s");
}

/* ---- Percentages ----------------------------------------------------------------------------- */

static double percent(double ratio) { return 100 * (ratio - 1); }

/* Places that tell something beside so much doubt. */
static int places_of(double doubt) {
  if (!(doubt > 0)) return 2;
  int places = 1;
  while (places < 4 && doubt * pow(10, places) < 2) ++places;
  return places;
}

/* An end of the interval that is not 0 is not shown as 0. */
static int places_for(double low, double high) {
  int places = places_of((high - low) / 2);
  while (places < 4 && (fabs(low) * pow(10, places) < 0.5 || fabs(high) * pow(10, places) < 0.5)) ++places;
  return places;
}

static const char* side_of(double value) { return value < 0 ? "below" : "above"; }

static const char* size_text(Pool* pool, double value, int places) {
  return with_decimals(pool, fabs(value), places);
}

/* "1.1 % below ours", "the same as ours". */
static const char* distance_text(Pool* pool, double value, int places) {
  const char* size = size_text(pool, value, places);
  return is_nothing(size) ? "the same as ours"
                          : pool_text(pool, "%s" NBSP "%% %s ours", size, side_of(value));
}

/* "0.6 to 1.6 % below", "0.2 % below to 0.9 % above". */
static const char* range_text(Pool* pool, double low, double high, int places) {
  const char *from = size_text(pool, low, places), *to = size_text(pool, high, places);
  if (low < 0 && high > 0) return pool_text(pool, "%s" NBSP "%% below to %s" NBSP "%% above", from, to);
  return pool_text(pool, "%s to %s" NBSP "%% %s", low < 0 ? to : from, low < 0 ? from : to, side_of(low));
}

/* ---- Chance ---------------------------------------------------------------------------------- */

/* To two digits: nobody knows a chance better. */
static const char* two_digits(Pool* pool, double number) {
  const double scale = number >= 100 ? pow(10, floor(log10(number)) - 1) : 1;
  return with_decimals(pool, round(number / scale) * scale, 0);
}

static const char* chance_text(Pool* pool, double p) {
  if (p < 1e-6) return "less than 1 time in a million";
  if (p > 0.95) return "nearly every time";
  if (p > 0.4) return pool_text(pool, "%d times in 10", (int)round(10 * p));
  return pool_text(pool, "1 time in %s", two_digits(pool, 1 / p));
}

static const char* advice_text(const char* verdict) {
  if (strcmp(verdict, "questioned") == 0) return ": worth a question";
  if (strcmp(verdict, "to be acted on") == 0) return ": to be taken up with them";
  return ": nothing out of the ordinary";
}

/* ---- The sentence ---------------------------------------------------------------------------- */

static const char* lots_text(Page* page, const char* at) {
  const char* pairs = ask_text(page, "%s/pairs", at);
  return pool_text(&page->pool, "%s%slot%s", pairs, NBSP, strcmp(pairs, "1") == 0 ? "" : "s");
}

/* Where every lot lies as far off as every other, or there is but one. */
static const char* sure_text(Page* page, const char* at, const char* name) {
  const double off = percent(ask_number(page, "%s/ratio", at));
  const char* distance = distance_text(&page->pool, off, 2);
  const char* alike = strcmp(ask_text(page, "%s/pairs", at), "1") == 0 ? "" : ", all alike";
  return pool_text(&page->pool, "%s: theirs are %s over %s%s.", name, distance, lots_text(page, at), alike);
}

static const char* spread_text(Page* page, const char* at, const char* name) {
  Pool* pool = &page->pool;
  const double off = percent(ask_number(page, "%s/ratio", at));
  const double low = percent(ask_number(page, "%s/low", at)), high = percent(ask_number(page, "%s/high", at));
  const int places = places_for(low, high);
  return pool_text(pool, "%s: theirs are %s over %s (95" NBSP "%%: %s); chance alone would do so %s%s.", name,
                   distance_text(pool, off, places), lots_text(page, at), range_text(pool, low, high, places),
                   chance_text(pool, ask_number(page, "%s/p", at)),
                   advice_text(ask_text(page, "%s/verdict", at)));
}

/* Lots far from the rest, by name. */
static const char* outliers_text(Page* page, const char* at) {
  Names names = {0};
  const size_t count = ask_count(page, "%s/outliers", at);
  for (size_t i = 0; i < count; ++i) {
    const double off = percent(ask_number(page, "%s/outliers/%zu/ratio", at, i));
    const char* id = ask_text(page, "%s/outliers/%zu/id", at, i);
    names_add(
        &page->pool, &names,
        pool_text(&page->pool, "%s (%s)", id, distance_text(&page->pool, off, fabs(off) < 0.95 ? 2 : 1)));
  }
  if (count == 0) return "";
  const double rest = percent(ask_number(page, "%s/ratio_of_rest", at));
  return pool_text(&page->pool, " Far from the rest: %s; without %s theirs are %s.",
                   names_text(&page->pool, &names), count == 1 ? "it" : "them",
                   distance_text(&page->pool, rest, fabs(rest) < 0.95 ? 2 : 1));
}

static const char* caution_text(Page* page, const char* at) {
  const char* caution = ask_text(page, "%s/caution", at);
  return *caution != '\0' ? pool_text(&page->pool, " %s.", with_capital(&page->pool, caution)) : "";
}

void print_figure_sentence(Page* page, const char* at) {
  const char* name = figures_name(&page->pool, ask_text(page, "%s/what", at));
  if (strcmp(ask_text(page, "%s/pairs", at), "0") == 0) return;
  const int spread = *ask_text(page, "%s/p", at) != '\0';
  const char* sentence = spread ? spread_text(page, at, name) : sure_text(page, at, name);
  print_wrapped("  - ",
                pool_text(&page->pool, "%s%s%s", sentence, outliers_text(page, at), caution_text(page, at)));
}
