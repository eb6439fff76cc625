/* What holds the month back, what the steps do on which day, and when money moves. */
#include <math.h>
#include <string.h>

#include "../page/table.h"
#include "schedule.h"

/* What more of it, or doing without it, would bring. */
static const char* worth_text(Page* page, size_t i) {
  Pool* pool = &page->pool;
  const double more = ask_number(page, "/limits/%zu/more/worth", i);
  const double without = ask_number(page, "/limits/%zu/without/worth", i);
  if (more >= 0.5)
    return pool_text(pool, "%s more: %s", ask_text(page, "/limits/%zu/more/of", i),
                     with_decimals(pool, more, 0));
  if (without >= 0.5) return pool_text(pool, "without it: %s", with_decimals(pool, without, 0));
  return isnan(more) && isnan(without) ? "" : "nothing";
}

/* A figure of a limit to three figures, with its unit. */
static const char* figure_at(Page* page, size_t i, const char* name) {
  const char* text = ask_text(page, "/limits/%zu/%s", i, name);
  const char* unit = strchr(text, ' ');
  const double value = ask_number(page, "/limits/%zu/%s", i, name);
  const int whole = fabs(value) >= 100 || fabs(value - round(value)) < 5e-3;
  return pool_text(&page->pool, "%s%s",
                   whole ? with_decimals(&page->pool, value, 0) : with_figures(&page->pool, value, 3),
                   unit != NULL ? unit : "");
}

static const char* wanted_text(Page* page, size_t i) {
  const int most = *ask_text(page, "/limits/%zu/most", i) != '\0';
  return pool_text(&page->pool, "at %s %s", most ? "most" : "least",
                   figure_at(page, i, most ? "most" : "least"));
}

/* Whether a later row of the same limit, another day's, says more. */
static int is_less_than_another(Page* page, size_t i) {
  const char* at = ask_text(page, "/limits/%zu/at", i);
  const size_t count = ask_count(page, "/limits");
  const double reached = ask_number(page, "/limits/%zu/reached", i);
  for (size_t k = 0; k < count; ++k)
    if (k != i && strcmp(ask_text(page, "/limits/%zu/at", k), at) == 0 &&
        ask_number(page, "/limits/%zu/reached", k) > reached)
      return 1;
  return 0;
}

/* Hours of the whole period that nobody stated are told where they matter, metal on hand on its fullest day.
 */
static int says_something(Page* page, size_t i) {
  const char* at = ask_text(page, "/limits/%zu/at", i);
  const int kept = strcmp(ask_text(page, "/limits/%zu/kept", i), "true") == 0;
  const char* worth = worth_text(page, i);
  const int idle = *worth == '\0' || strcmp(worth, "nothing") == 0;
  if (!kept || !idle) return 1;
  if (strcmp(at, "/period") == 0) return 0;
  return strncmp(at, "/on_hand", 8) != 0 || !is_less_than_another(page, i);
}

void print_limits(Page* page) {
  const size_t count = ask_count(page, "/limits");
  Table table;
  if (count == 0) return;
  print_heading(
      pool_text(&page->pool, "What has to be kept to, and what more would bring, %s", page->currency));
  table_open(&table, &page->pool, 4, 1);
  TableRow* head = table_add(&table);
  head->cell[1] = "wanted";
  head->cell[2] = "in the schedule";
  head->cell[3] = "would bring";
  for (size_t i = 0; i < count; ++i) {
    if (!says_something(page, i)) continue;
    const int kept = strcmp(ask_text(page, "/limits/%zu/kept", i), "true") == 0;
    TableRow* row = table_add(&table);
    row->cell[0] =
        pool_text(&page->pool, "  %s%s", ask_text(page, "/limits/%zu/what", i), kept ? "" : ", NOT KEPT");
    row->cell[1] = wanted_text(page, i);
    row->cell[2] = figure_at(page, i, "reached");
    row->cell[3] = worth_text(page, i);
  }
  table_print(&table);
}

void print_steps(Page* page) {
  const size_t count = ask_count(page, "/timetable");
  Table table;
  if (count == 0) return;
  print_heading("The steps, by day");
  table_open(&table, &page->pool, 5, 1);
  TableRow* head = table_add(&table);
  head->cell[1] = "from day";
  head->cell[2] = "to day";
  head->cell[3] = "hours";
  head->cell[4] = "shipment";
  for (size_t i = 0; i < count; ++i) {
    const char* at = pool_text(&page->pool, "/timetable/%zu", i);
    TableRow* row = table_add(&table);
    row->cell[0] = pool_text(&page->pool, "  %s", ask_text(page, "%s/step", at));
    row->cell[1] = with_decimals(&page->pool, ask_number(page, "%s/from", at), 1);
    row->cell[2] = with_decimals(&page->pool, ask_number(page, "%s/to", at), 1);
    row->cell[3] = with_decimals(&page->pool, ask_number(page, "%s/hours", at), 1);
    row->cell[4] = with_decimals(&page->pool, ask_number(page, "%s/shipment", at) + 1, 0);
  }
  table_print(&table);
}

void print_cash(Page* page) {
  const size_t count = ask_count(page, "/cash_days");
  Table table;
  if (count == 0) return;
  print_heading(pool_text(&page->pool, "Cash, %s", page->currency));
  table_open(&table, &page->pool, 3, 1);
  TableRow* head = table_add(&table);
  head->cell[0] = "  day";
  head->cell[1] = "in or out";
  head->cell[2] = "in hand by then";
  for (size_t i = 0; i < count; ++i) {
    TableRow* row = table_add(&table);
    row->cell[0] =
        pool_text(&page->pool, "  %s", day_of(page, pool_text(&page->pool, "/cash_days/%zu/day", i)));
    row->cell[1] = with_decimals(&page->pool, ask_number(page, "/cash_days/%zu/amount", i), 2);
    row->cell[2] = with_decimals(&page->pool, ask_number(page, "/cash_days/%zu/total", i), 2);
  }
  table_print(&table);
}
