/* The page as a whole. */
#include <string.h>

#include "sure.h"

static void print_head(Sure* sure) {
  Page* page = &sure->simulation;
  const Json lot = json_member(sure->document, "lot");
  const char* name = json_text(&sure->pool, json_member(lot, "id"));
  const char* date = json_text(&sure->pool, json_member(lot, "date"));
  print_wrapped("", pool_text(&sure->pool, "%s%s%s: %zu routes drawn %s times, money in %s",
                              *name != '\0' ? name : "The lot", *date != '\0' ? ", " : "", date,
                              ask_count(page, "/routes"),
                              with_decimals(&sure->pool, ask_number(page, "/draws"), 0), page->currency));
}

/* What is said of an input names it. */
static const char* remark_text(Sure* sure, const char* at, const char* what) {
  Page* page = &sure->simulation;
  const size_t count = ask_count(page, "/inputs");
  for (size_t i = 0; i < count; ++i)
    if (strcmp(ask_text(page, "/inputs/%zu/of", i), at) == 0)
      return pool_text(&sure->pool, "%s: %s", ask_text(page, "/inputs/%zu/name", i), what);
  return what;
}

/* What the simulation has to say of itself; what can hurt somebody is the comparison's. */
static void print_remarks(Sure* sure) {
  Page* page = &sure->simulation;
  const size_t count = ask_count(page, "/cautions");
  int told = 0;
  for (size_t i = 0; i < count; ++i) {
    const char* at = ask_text(page, "/cautions/%zu/at", i);
    const char* what = ask_text(page, "/cautions/%zu/what", i);
    if (is_hazard(what) || is_of_mercury(what)) continue;
    if (!told++) print_heading("To be looked at");
    print_wrapped("  - ", remark_text(sure, at, what));
  }
}

static void print_foot(Sure* sure) {
  Page* page = &sure->simulation;
  print_line("");
  print_wrapped(
      "", pool_text(
              &sure->pool,
              "What a route leaves counts what waiting costs. Cuts are those of the plan's own figures in "
              "every draw: nobody cuts with hindsight. A refused lot is worth nothing in its draw. Drawn by "
              "%s, seed %.0f.%s",
              ask_text(page, "/method"), ask_number(page, "/seed"),
              sure->options == NULL
                  ? " No options were given: every figure was drawn by itself, also where two are one thing."
                  : ""));
}

void print_sure(Sure* sure) {
  print_head(sure);
  print_choice(sure);
  if (*preferred(sure) != '\0') {
    print_chances(sure);
    print_inputs(sure);
    print_worth(sure);
    print_tips(sure);
    print_swings(sure);
    print_offers(sure);
    print_forgiving(sure);
  }
  print_reasons(&sure->comparison);
  print_remarks(sure);
  print_cautions(&sure->comparison);
  print_foot(sure);
}
