/* What was refused, what is provisional, what was passed over, and other cautions. */
#include <stdlib.h>
#include <string.h>

#include "book.h"

static const char refused[] = "refused: ";

static int is_refusal(const char* what) { return strncmp(what, refused, sizeof refused - 1) == 0; }

int is_refused(Book* book, const char* delivery) {
  const size_t count = ask_count(&book->page, "/cautions");
  for (size_t i = 0; i < count; ++i)
    if (is_refusal(ask_text(&book->page, "/cautions/%zu/what", i)) &&
        strcmp(ask_text(&book->page, "/cautions/%zu/at", i), delivery) == 0)
      return 1;
  return 0;
}

/* Cautions that tell of a refusal, or those that do not. */
static void print_told(Book* book, const char* heading, int refusals) {
  Page* page = &book->page;
  const size_t count = ask_count(page, "/cautions");
  int any = 0;
  for (size_t i = 0; i < count; ++i) {
    const char* what = ask_text(page, "/cautions/%zu/what", i);
    if (is_refusal(what) != refusals) continue;
    if (!any++) print_heading(heading);
    print_wrapped("  - ", pool_text(&page->pool, "%s: %s", ask_text(page, "/cautions/%zu/at", i),
                                    refusals ? what + sizeof refused - 1 : what));
  }
}

/* ---- Provisional ----------------------------------------------------------------------------- */

/* Names stand in the list of deliveries, which the heading may ask for. */
static Names provisional_of(Page* page, const char* buyer) {
  Names names = {0};
  const size_t count = ask_count(page, "/deliveries");
  for (size_t i = 0; i < count; ++i) {
    if (strcmp(ask_text(page, "/deliveries/%zu/stage", i), "provisional") != 0) continue;
    if (strcmp(ask_text(page, "/deliveries/%zu/buyer", i), buyer) != 0) continue;
    if (ask_count(page, "/deliveries/%zu/refused", i) > 0) continue;
    names_add(&page->pool, &names, ask_text(page, "/deliveries/%zu/id", i));
  }
  return names;
}

static void print_provisional(Book* book) {
  Page* page = &book->page;
  const char* count = ask_text(page, "/total/provisional");
  if (strcmp(count, "0") == 0) return;
  print_heading(
      pool_text(&page->pool, "Provisional, as a figure is open or the delivery says so (%s)", count));
  for (size_t i = 0; i < book->count; ++i) {
    const char* own = ask_text(page, "%s/provisional", book->buyers[i].at);
    if (strcmp(own, "0") == 0) continue;
    const Names names = provisional_of(page, book->buyers[i].name);
    print_wrapped("  - ", pool_text(&page->pool, "%s: %s", book->buyers[i].name,
                                    names.count > 0 ? names_text(&page->pool, &names) : own));
  }
}

/* ---- Passed over ----------------------------------------------------------------------------- */

static void print_passed_over(Book* book) {
  static const char* const kinds[][3] = {{"deliveries", "delivery", "deliveries"},
                                         {"received", "sum of money", "sums of money"},
                                         {"metal", "movement of metal", "movements of metal"}};
  Names told = {0};
  for (size_t i = 0; i < sizeof kinds / sizeof *kinds; ++i) {
    const char* count = ask_text(&book->page, "/passed_over/%s", kinds[i][0]);
    if (strcmp(count, "0") == 0) continue;
    const char* kind = kinds[i][strcmp(count, "1") == 0 ? 1 : 2];
    names_add(&book->page.pool, &told, pool_text(&book->page.pool, "%s" NBSP "%s", count, kind));
  }
  if (told.count == 0) return;
  print_heading("Passed over, as their days lie outside the month");
  print_wrapped("  - ", names_text(&book->page.pool, &told));
}

void print_doubts(Book* book) {
  print_told(book, "Refused by the terms: nothing is owed", 1);
  print_provisional(book);
  print_told(book, "To be looked at", 0);
  print_passed_over(book);
}
