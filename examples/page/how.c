/* How every amount of every route was worked out, one line an amount. */
#include <string.h>

#include "page.h"

static void print_amount(Page* page, const char* at) {
  Text line = {0};
  text_add(&line, "    ");
  text_add_column(&line, 26, ask_text(page, "%s/what", at));
  text_add_column(&line, -14, with_decimals(&page->pool, ask_number(page, "%s/amount", at), 2));
  text_add_column(
      &line, -11,
      pool_text(&page->pool, "day %s", with_decimals(&page->pool, ask_number(page, "%s/day", at), 1)));
  text_add(&line, "   ");
  print_wrapped(text_of(&line), whole_figures(page, ask_text(page, "%s/how", at)));
  text_free(&line);
}

static void print_amounts(Page* page, const Route* route) {
  const size_t count = ask_count(page, "%s/lines", route->at);
  const char* place = "";
  for (size_t i = 0; i < count; ++i) {
    const char* at = pool_text(&page->pool, "%s/lines/%zu", route->at, i);
    const char* next = ask_text(page, "%s/at", at);
    if (strcmp(next, place) != 0)
      print_wrapped("  ", strcmp(next, "return") == 0 ? "sent back to the plant" : next);
    print_amount(page, at);
    place = next;
  }
}

static void print_sums(Page* page, const Route* route) {
  Pool* pool = &page->pool;
  print_wrapped(
      "  ",
      pool_text(pool,
                "Cash %s, still in the plant %s: %s in all, which leaves %s counting what waiting costs.",
                with_decimals(pool, ask_number(page, "%s/cash", route->at), 2),
                with_decimals(pool, ask_number(page, "%s/credit", route->at), 2),
                with_decimals(pool, ask_number(page, "%s/net", route->at), 2),
                with_decimals(pool, route->leaves, 2)));
}

void page_print_how(Page* page) {
  print_line("");
  print_line(pool_text(&page->pool, "How each amount was worked out, %s", page->currency));
  for (size_t i = 0; i < page->count; ++i) {
    if (page->routes[i].refused) continue;
    print_line("");
    print_line(page->routes[i].name);
    print_amounts(page, &page->routes[i]);
    print_sums(page, &page->routes[i]);
  }
}
