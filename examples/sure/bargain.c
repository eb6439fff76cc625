/* What a buyer who loses could offer, and how far the cut may be off. */
#include <math.h>
#include <string.h>

#include "sure.h"

/* ---- Counter-offers -------------------------------------------------------------------------- */

/* The library's sentences after the first, which says what stands in the heading. */
static const char* rest_of_words(Sure* sure, const char* at) {
  const size_t count = ask_count(&sure->offers, "%s/words", at);
  Text text = {0};
  for (size_t i = 1; i < count; ++i)
    text_add(&text, "%s%s", i > 1 ? " " : "", ask_text(&sure->offers, "%s/words/%zu", at, i));
  return kept_figures(&sure->pool, pool_keep(&sure->pool, &text));
}

static void print_buyer(Sure* sure, const char* name) {
  Page* page = &sure->offers;
  const char* at = pool_text(&sure->pool, "/buyers%s", ask_step(page, name));
  const double less = ask_number(page, "%s/short", at);
  if (isnan(less)) {
    print_wrapped("  - ", ask_text(page, "%s/words/0", at));
    return;
  }
  print_wrapped("  - ",
                pool_text(&sure->pool, "%s: %s less, with %s. %s", with_capital(&sure->pool, name),
                          amount_text(sure, less), quoted(&sure->pool, ask_text(page, "%s/route", at)),
                          rest_of_words(sure, at)));
}

void print_offers(Sure* sure) {
  const size_t count = ask_count(&sure->offers, "/buyers");
  if (count == 0) return;
  print_heading("What the other buyers would have to offer, one figure alone");
  for (size_t i = 0; i < count; ++i) print_buyer(sure, ask_name(&sure->offers, "/buyers", i));
}

/* ---- The cut --------------------------------------------------------------------------------- */

void print_forgiving(Sure* sure) {
  const size_t count = ask_count(&sure->cut, "/words");
  if (count == 0) return;
  print_heading(pool_text(&sure->pool, "How far the cut may be off, on %s",
                          quoted(&sure->pool, ask_text(&sure->cut, "/route"))));
  for (size_t i = 0; i < count; ++i)
    print_wrapped(
        "  - ", with_capital(&sure->pool, kept_figures(&sure->pool, ask_text(&sure->cut, "/words/%zu", i))));
}
