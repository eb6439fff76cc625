/* The money of the best route: what is laid out, in hand by which day, and what is not cash. */
#include <math.h>

#include "page.h"

static void print_row(Page* page, const char* what, double amount, const char* remark) {
  Text line = {0};
  text_add(&line, "  ");
  text_add_column(&line, 24, what);
  text_add_column(&line, -11, money_text(page, amount));
  text_add(&line, "   %s", remark);
  print_line(text_of(&line));
  text_free(&line);
}

static double cash_day(Page* page, size_t i) {
  return ask_number(page, "%s/cash_days/%zu/day", page->best->at, i);
}
static double cash_total(Page* page, size_t i) {
  return ask_number(page, "%s/cash_days/%zu/total", page->best->at, i);
}

/* Cash in hand at the end of a day. */
static double in_hand(Page* page, double day) {
  const size_t count = ask_count(page, "%s/cash_days", page->best->at);
  double total = 0;
  for (size_t i = 0; i < count && cash_day(page, i) <= day; ++i) total = cash_total(page, i);
  return total;
}

/* The most that is paid out before money comes in. */
static void print_laid_out(Page* page) {
  const size_t count = ask_count(page, "%s/cash_days", page->best->at);
  double least = 0, day = 0;
  for (size_t i = 0; i < count; ++i) {
    if (!(cash_total(page, i) < least)) continue;
    least = cash_total(page, i);
    day = cash_day(page, i);
  }
  if (least < 0)
    print_row(page, "laid out at most", -least,
              pool_text(&page->pool, "by day %s", day_text(&page->pool, day)));
}

static void print_in_hand(Page* page, double day, const char* remark) {
  print_row(page, pool_text(&page->pool, "in hand by day %s", day_text(&page->pool, day)), in_hand(page, day),
            remark);
}

/* The day of the largest amount: before it there is little, after it most. */
static double largest_day(Page* page) {
  const size_t count = ask_count(page, "%s/cash_days", page->best->at);
  double most = 0, day = 0;
  for (size_t i = 0; i < count; ++i) {
    const double amount = ask_number(page, "%s/cash_days/%zu/amount", page->best->at, i);
    if (!(amount > most)) continue;
    most = amount;
    day = cash_day(page, i);
  }
  return day;
}

/* Says what is in hand by a day, where that is something and something else than was said before. */
static void print_mark(Page* page, double day, double* told) {
  const double amount = in_hand(page, day);
  if (amount <= 0 || amount == *told) return;
  print_in_hand(page, day, "");
  *told = amount;
}

/* A week, a month, a quarter, and the day of the largest amount between them; then the last day. */
static void print_days(Page* page) {
  static const double usual[] = {7, 30, 90};
  const size_t count = ask_count(page, "%s/cash_days", page->best->at);
  if (count == 0) return;
  const double last = cash_day(page, count - 1), largest = ceil(largest_day(page) - 1e-9);
  double told = 0, before = -1;
  for (size_t i = 0; i < 3; ++i) {
    if (largest > before && largest < usual[i] && largest < last) print_mark(page, largest, &told);
    if (usual[i] < last) print_mark(page, usual[i], &told);
    before = usual[i];
  }
  print_in_hand(page, last, "all of the cash");
}

/* "less the 912 that waiting costs: it leaves 78,058". */
static const char* waiting_text(Page* page, double net) {
  const double waiting = net - page->best->leaves;
  if (fabs(waiting) < 0.5 * pow(10, -page->cents)) return "";
  return pool_text(&page->pool, "less the %s that waiting costs: it leaves %s", money_text(page, waiting),
                   money_text(page, page->best->leaves));
}

static const char* credit_text(Page* page) {
  const int before = json_member(json_member(page->plan, "lot"), "credited") != NULL;
  return before ? "not cash: what is sent back, less what this lot was credited before"
                : "not cash: what is sent back, as the plan credits it";
}

void print_money(Page* page) {
  const double credit = ask_number(page, "%s/credit", page->best->at);
  const double net = ask_number(page, "%s/net", page->best->at);
  print_line(pool_text(&page->pool, "The money of the best route, %s", page->currency));
  print_laid_out(page);
  print_days(page);
  if (credit != 0) print_row(page, "still in the plant", credit, credit_text(page));
  print_row(page, "in all", net, waiting_text(page, net));
}
