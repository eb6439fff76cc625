/* The prices that were used, and the metal they were paid for. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheet.h"

enum { name_width = 16, price_width = 24 };

/* ---- The days of an average ------------------------------------------------------------------ */

/* The month some months after a day's. */
static const char* month_after(Sheet* sheet, const char* day, int months) {
  int year = 0, month = 1;
  sscanf(day, "%d-%d", &year, &month);
  const int count = 12 * year + month - 1 + months;
  return pool_text(&sheet->page.pool, "%04d-%02d", count / 12, count % 12 + 1);
}

/* The answer counts the days of the period; which period, the delivery says. */
static const char* period_text(Sheet* sheet, const char* metal) {
  Pool* pool = &sheet->page.pool;
  const Json period = json_member(json_member(sheet->delivery, "period"), metal);
  const char* after = json_text(pool, json_member(period, "months_after"));
  if (*after != '\0') return month_after(sheet, ask_text(&sheet->page, "/arrived"), atoi(after));
  const char* month = json_text(pool, json_member(period, "month"));
  if (*month != '\0') return month;
  return pool_text(pool, "%s to %s", json_text(pool, json_member(period, "from")),
                   json_text(pool, json_member(period, "to")));
}

static const char* days_text(Sheet* sheet, const char* count, const char* kind) {
  return pool_text(&sheet->page.pool, "%s %s%s", count, kind, strcmp(count, "1") == 0 ? "" : "s");
}

static const char* average_text(Sheet* sheet, const char* at, const char* metal) {
  const char* quoted = ask_text(&sheet->page, "%s/quoted_days", at);
  const char* unquoted = ask_text(&sheet->page, "%s/unquoted_days", at);
  if (*quoted == '\0') return "fixed";
  const char* without =
      strcmp(unquoted, "0") == 0 ? "no working day" : days_text(sheet, unquoted, "working day");
  return pool_text(&sheet->page.pool, "average of %s, %s; %s without a quote",
                   days_text(sheet, quoted, "day"), period_text(sheet, metal), without);
}

/* ---- Prices --------------------------------------------------------------------------------- */

/* A price has its cents, and what comes after them. */
static const char* price_text(Sheet* sheet, const char* price) {
  const char* number = number_of(sheet, price);
  const int places = places_shown(sheet, &number, 1);
  return pool_text(&sheet->page.pool, "%s" NBSP "%s",
                   rounded(&sheet->page.pool, number, places < 2 ? 2 : places), unit_of(price));
}

static void print_price(Sheet* sheet, const char* metal) {
  const char* at = pool_text(&sheet->page.pool, "/prices%s", ask_step(&sheet->page, metal));
  Text line = {0};
  text_add(&line, "  ");
  text_add_column(&line, name_width - 2, metal);
  text_add_column(&line, price_width, price_text(sheet, ask_text(&sheet->page, "%s/average", at)));
  text_add(&line, " ");
  print_wrapped(pool_keep(&sheet->page.pool, &line), average_text(sheet, at, metal));
}

void print_prices(Sheet* sheet) {
  const size_t count = ask_count(&sheet->page, "/prices");
  if (count == 0) return;
  print_line("");
  print_line("Prices");
  for (size_t i = 0; i < count; ++i) print_price(sheet, ask_name(&sheet->page, "/prices", i));
}

/* ---- Metal ---------------------------------------------------------------------------------- */

/* For reading only: nothing is worked out from it. */
static const char* share_text(Sheet* sheet, const char* at) {
  const double contained = ask_number(&sheet->page, "%s/contained", at);
  const double paid = ask_number(&sheet->page, "%s/payable", at);
  if (!(contained > 0)) return "-";
  return pool_text(&sheet->page.pool, "%s" NBSP "%%",
                   with_decimals(&sheet->page.pool, 100 * paid / contained, 2));
}

static const char* grams(Sheet* sheet, const char* mass) {
  const char* number = number_of(sheet, mass);
  if (places_needed(number) > 3) sheet->digits_hidden = 1;
  return rounded(&sheet->page.pool, number, 3);
}

/* Of the metals with a price: what the others weigh concerns nobody's money. */
void print_paid_metal(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = sheet->refused ? 0 : ask_count(page, "/prices");
  if (count == 0) return;
  print_line("");
  static const Triple headings = {{"contained", "paid", "share paid"}};
  print_triple(sheet, "Metal, g", &headings, &headings);
  for (size_t i = 0; i < count; ++i) {
    const char* name = ask_name(page, "/prices", i);
    const char* at = pool_text(&page->pool, "/metal%s", ask_step(page, name));
    const Triple figures = {{grams(sheet, ask_text(page, "%s/contained", at)),
                             grams(sheet, ask_text(page, "%s/payable", at)), share_text(sheet, at)}};
    print_triple(sheet, pool_text(&page->pool, "  %s", name), &headings, &figures);
  }
}
