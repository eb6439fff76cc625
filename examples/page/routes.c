/* What each route leaves, and why some are refused or hang on a test. */
#include <math.h>
#include <string.h>

#include "page.h"

enum { least_width = 26, name_width = 40 }; /* the heading needs the least */

/* A route's name, shortened to its column. */
static const char* short_name(Page* page, const char* name, int width) {
  if ((int)columns(name) <= width) return name;
  size_t size = 0;
  for (int column = 0; column < width - 1; ++column) do
      ++size;
    while (((unsigned char)name[size] & 0xC0) == 0x80);
  return pool_text(&page->pool, "%.*s…", (int)size, name);
}

static int widest_name(const Page* page) {
  size_t widest = least_width;
  for (size_t i = 0; i < page->count; ++i)
    if (columns(page->routes[i].name) > widest) widest = columns(page->routes[i].name);
  return widest < name_width ? (int)widest : name_width;
}

/* The day on which the first money comes in; NaN where none does. */
static double first_money(Page* page, const Route* route) {
  const size_t count = ask_count(page, "%s/cash_days", route->at);
  for (size_t i = 0; i < count; ++i)
    if (ask_number(page, "%s/cash_days/%zu/amount", route->at, i) > 0)
      return ask_number(page, "%s/cash_days/%zu/day", route->at, i);
  return NAN;
}

static const char* on_day(Page* page, double day) {
  return isnan(day) ? "-" : pool_text(&page->pool, "day %s", day_text(&page->pool, day));
}

static void add_figures(Page* page, const Route* route, Text* line) {
  const double credit = ask_number(page, "%s/credit", route->at);
  const double less = page->best->leaves - route->leaves;
  text_add_column(line, -10, money_text(page, route->leaves));
  text_add_column(line, -13,
                  route == page->best ? "" : pool_text(&page->pool, "%s less", money_text(page, less)));
  text_add_column(line, -11, on_day(page, first_money(page, route)));
  text_add_column(line, -9, on_day(page, ask_number(page, "%s/last_cash_day", route->at)));
  text_add_column(line, -15, credit == 0 ? "-" : money_text(page, credit));
}

static void print_route(Page* page, const Route* route, int width) {
  Text line = {0};
  text_add_column(&line, 2, route->conditional && !route->refused ? "?" : "");
  text_add_column(&line, width, short_name(page, route->name, width));
  if (route->refused) text_add_column(&line, -10, "refused");
  else add_figures(page, route, &line);
  print_line(text_of(&line));
  text_free(&line);
}

static void print_routes_heading(Page* page, int width) {
  Text line = {0};
  text_add_column(&line, width + 2, pool_text(&page->pool, "What each route leaves, %s", page->currency));
  text_add_column(&line, -10, "leaves");
  text_add_column(&line, -13 - 11, "money from");
  text_add_column(&line, -9, "to");
  text_add_column(&line, -15, "in the plant");
  print_line(text_of(&line));
  text_free(&line);
}

/* "22 % a year" for "22 %/a". */
static const char* waiting_rate(Page* page) {
  const Json rate = json_member(page->plan, "discount");
  const char* text = json_text(&page->pool, rate);
  if (!json_is_text(rate) || strstr(text, "/a") == NULL) return "the plan's rate";
  return pool_text(&page->pool, "%.*s a year", (int)(strstr(text, "/a") - text), text);
}

void print_routes(Page* page) {
  const int width = widest_name(page);
  print_routes_heading(page, width);
  for (size_t i = 0; i < page->count; ++i) print_route(page, &page->routes[i], width);
  print_wrapped("  ", pool_text(&page->pool,
                                "Leaves: what comes in less what is paid, counting what waiting costs,"
                                " %s (present value).",
                                waiting_rate(page)));
}

/* ---- Reasons -------------------------------------------------------------------------------- */

/* How many reasons of a kind there are to tell. What a refused route hangs on besides is of no use. */
static size_t reasons_of(Page* page, const Route* route, const char* list) {
  if (route->refused && strcmp(list, "conditional") == 0) return 0;
  return ask_count(page, "%s/%s", route->at, list);
}

/* Prints a reason once, after the names of all routes that have it. */
static void print_reason(Page* page, const char* list, const char* title, const char* reason) {
  Names routes = {0};
  for (size_t r = 0; r < page->count; ++r) {
    const size_t count = reasons_of(page, &page->routes[r], list);
    for (size_t i = 0; i < count; ++i)
      if (strcmp(ask_text(page, "%s/%s/%zu", page->routes[r].at, list, i), reason) == 0)
        names_add(&page->pool, &routes, page->routes[r].name);
  }
  print_wrapped(title, names_text(&page->pool, &routes));
  print_wrapped("  ", reason);
}

static void print_list_of_reasons(Page* page, const char* list, const char* title) {
  Names told = {0};
  for (size_t r = 0; r < page->count; ++r) {
    const size_t count = reasons_of(page, &page->routes[r], list);
    for (size_t i = 0; i < count; ++i) {
      const char* reason = ask_text(page, "%s/%s/%zu", page->routes[r].at, list, i);
      if (names_have(&told, reason)) continue;
      names_add(&page->pool, &told, reason);
      print_reason(page, list, title, reason);
    }
  }
}

static int any_reasons(Page* page) {
  size_t reasons = ask_count(page, "/untested");
  for (size_t r = 0; r < page->count; ++r)
    reasons += ask_count(page, "%s/refused", page->routes[r].at) +
               ask_count(page, "%s/conditional", page->routes[r].at);
  return reasons > 0;
}

static void print_untested(Page* page) {
  const size_t count = ask_count(page, "/untested");
  Names names = {0};
  for (size_t i = 0; i < count; ++i) {
    const char* symbol = ask_text(page, "/untested/%zu", i);
    const char* name = metal_name(symbol);
    names_add(&page->pool, &names, name == symbol ? symbol : pool_text(&page->pool, "%s (%s)", name, symbol));
  }
  if (count > 0) print_line(pool_text(&page->pool, "Not tested: %s", names_text(&page->pool, &names)));
}

void print_reasons(Page* page) {
  if (!any_reasons(page)) return;
  print_line("");
  print_list_of_reasons(page, "refused", "Refused: ");
  print_list_of_reasons(page, "conditional", "? Conditional: ");
  print_untested(page);
}
