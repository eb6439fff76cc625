/* Where the gold of the best route went, and in a line each the other metals that are paid. */
#include <math.h>
#include <string.h>

#include "page.h"

/* One metal's places on the best route. */
typedef struct Places {
  const char* at;
  double fed;
  int decimals; /* of its grams */
} Places;

static Places places_of(Page* page, const char* metal) {
  Places places;
  places.at = pool_text(&page->pool, "%s/metal%s", page->best->at, ask_step(page, metal));
  places.fed = ask_number(page, "%s/fed", places.at);
  places.decimals = places.fed >= 10000 ? 0 : places.fed >= 100 ? 1 : places.fed >= 1 ? 3 : 5;
  return places;
}

static const char* grams_text(Page* page, const Places* places, double grams) {
  return with_decimals(&page->pool, grams, places->decimals);
}

/* A place that took nothing worth a row is left out. */
static int rounds_to_nothing(const Places* places, double grams) {
  return grams < 0.5 * pow(10, -places->decimals);
}

static void print_place(Page* page, const Places* places, const char* what, double grams,
                        const char* remark) {
  if (rounds_to_nothing(places, grams)) return;
  Text line = {0};
  text_add(&line, "  ");
  text_add_column(&line, 24, what);
  text_add_column(&line, -11, pool_text(&page->pool, "%s g", grams_text(page, places, grams)));
  text_add_column(
      &line, -9,
      pool_text(&page->pool, "%s %%",
                with_decimals(&page->pool, 100 * grams / places->fed, grams < 0.001 * places->fed ? 2 : 1)));
  text_add(&line, "   ");
  print_wrapped(text_of(&line), remark);
  text_free(&line);
}

static const char* buyers_text(Page* page) {
  const size_t count = ask_count(page, "%s/products", page->best->at);
  Names buyers = {0};
  for (size_t i = 0; i < count; ++i)
    names_add(&page->pool, &buyers,
              with_the(&page->pool, ask_text(page, "%s/products/%zu/at", page->best->at, i)));
  return buyers.count > 0 ? pool_text(&page->pool, "by %s", names_text(&page->pool, &buyers)) : "";
}

/* "slag 17.5 g, middlings 27.2 g": only where that is all of it. */
static const char* back_text(Page* page, const Places* places, const Doing* doing, double returned) {
  double sum = 0;
  Names parts = {0};
  for (size_t i = 0; i < doing->back_count; ++i) {
    sum += doing->back[i].grams;
    names_add(&page->pool, &parts,
              pool_text(&page->pool, "%s %s g", doing->back[i].output,
                        grams_text(page, places, doing->back[i].grams)));
  }
  if (!(fabs(sum - returned) <= 1e-4 * returned)) return "";
  return names_listed(&page->pool, &parts);
}

static void print_lost(Page* page, const Places* places) {
  const char* lost = pool_text(&page->pool, "%s/lost", places->at);
  const size_t count = ask_count(page, "%s", lost);
  for (size_t i = 0; i < count; ++i) {
    const char* place = ask_name(page, lost, i);
    print_place(page, places, "lost", ask_number(page, "%s%s", lost, ask_step(page, place)), place);
  }
}

/* "Silver: 126 g fed, 87 g paid, 3 g held back, …". */
static void print_other(Page* page, const char* metal) {
  const Places places = places_of(page, metal);
  static const char* const parts[][2] = {
      {"payable", "paid"}, {"unpaid", "held back"}, {"returned", "sent back"}, {"kept", "kept"}};
  double rest = places.fed;
  Names said = {0};
  for (size_t i = 0; i < sizeof parts / sizeof *parts; ++i) {
    const double grams = ask_number(page, "%s/%s", places.at, parts[i][0]);
    rest -= grams;
    if (!rounds_to_nothing(&places, grams))
      names_add(&page->pool, &said,
                pool_text(&page->pool, "%s g %s", grams_text(page, &places, grams), parts[i][1]));
  }
  if (!rounds_to_nothing(&places, rest))
    names_add(&page->pool, &said, pool_text(&page->pool, "%s g lost", grams_text(page, &places, rest)));
  print_wrapped("  ", pool_text(&page->pool, "Of %s g of %s: %s.", grams_text(page, &places, places.fed),
                                metal_name(metal), names_listed(&page->pool, &said)));
}

static void print_others(Page* page, const char* metal) {
  const char* all = pool_text(&page->pool, "%s/metal", page->best->at);
  const size_t count = ask_count(page, "%s", all);
  for (size_t i = 0; i < count; ++i) {
    const char* other = ask_name(page, all, i);
    if (strcmp(other, metal) != 0 && ask_number(page, "%s%s/payable", all, ask_step(page, other)) > 0)
      print_other(page, other);
  }
}

void print_metal(Page* page, const Doing* doing, const char* metal) {
  const Places places = places_of(page, metal);
  const double returned = ask_number(page, "%s/returned", places.at);
  print_line(pool_text(&page->pool, "Where the %s went, of %s g fed", metal_name(metal),
                       grams_text(page, &places, places.fed)));
  print_place(page, &places, "paid", ask_number(page, "%s/payable", places.at), buyers_text(page));
  print_place(page, &places, "held back", ask_number(page, "%s/unpaid", places.at), "sold, not paid for");
  print_place(page, &places, "sent back to the plant", returned, back_text(page, &places, doing, returned));
  print_place(page, &places, "kept", ask_number(page, "%s/kept", places.at),
              names_text(&page->pool, &doing->kept));
  print_lost(page, &places);
  print_others(page, metal);
}
