/* The page from top to bottom, and what its parts share. */
#include "schedule.h"

#include <math.h>
#include <string.h>

const char* day_of(Page* page, const char* pointer) {
  const double day = ask_number(page, "%s", pointer);
  return with_decimals(&page->pool, day, fabs(day - round(day)) < 0.05 ? 0 : 1);
}

static const char* share_of(Page* page, const char* share, const char* lot) {
  if (strcmp(share, "100 %") == 0) return lot;
  if (strcmp(share, "50 %") == 0) return pool_text(&page->pool, "half of %s", lot);
  return pool_text(&page->pool, "%s of %s", share, lot);
}

const char* lots_of(Page* page, size_t shipment) {
  Names names = {0};
  const char* at = pool_text(&page->pool, "/shipments/%zu/lots", shipment);
  const size_t count = ask_count(page, "%s", at);
  for (size_t i = 0; i < count; ++i) {
    const char* lot = ask_name(page, at, i);
    const char* share = ask_text(page, "%s%s", at, ask_step(page, lot));
    names_add(&page->pool, &names, share_of(page, share, lot));
  }
  return names_listed(&page->pool, &names);
}

static void print_words(Page* page) {
  const size_t count = ask_count(page, "/words");
  for (size_t i = 0; i < count; ++i) print_wrapped("  ", ask_text(page, "/words/%zu", i));
}

void print_schedule(Page* page) {
  print_line("The month's lots together");
  print_words(page);
  print_shipments(page);
  print_left(page);
  print_limits(page);
  print_steps(page);
  print_cash(page);
  print_others(page);
  print_dangers(page);
}
