/* What falls due on which day, and what is overdue. */
#include <stdlib.h>
#include <string.h>

#include "book.h"

/* One buyer's sum of a day, or one item that is open. */
typedef struct Due {
  const char* day; /* "" without one */
  const char* buyer;
  const char *delivery, *what; /* of an item */
  const char* amount;
  size_t order; /* its place in the answer */
} Due;

typedef struct Dues {
  Due* due;
  size_t count, room;
} Dues;

static void add_due(Book* book, Dues* dues, Due due) {
  if (dues->count == dues->room) {
    dues->room = dues->room != 0 ? 2 * dues->room : 32;
    Due* more = pool_block(&book->page.pool, dues->room * sizeof *more);
    if (dues->count > 0) memcpy(more, dues->due, dues->count * sizeof *more);
    dues->due = more;
  }
  due.order = dues->count;
  dues->due[dues->count++] = due;
}

/* By day, those without one last; of a day in the order of the answer. */
static int by_day(const void* left, const void* right) {
  const Due *a = left, *b = right;
  const int undated = (*a->day == '\0') - (*b->day == '\0');
  if (undated != 0) return undated;
  const int days = strcmp(a->day, b->day);
  return days != 0 ? days : (a->order > b->order) - (a->order < b->order);
}

static void sort_dues(Dues* dues) {
  if (dues->count > 1) qsort(dues->due, dues->count, sizeof *dues->due, by_day);
}

static const char* day_at(Book* book, const char* pointer) {
  const char* day = ask_text(&book->page, "%s", pointer);
  return strcmp(day, "null") == 0 ? "" : day;
}

static int is_overdue(const Book* book, const char* day) {
  return *day != '\0' && strcmp(day, book->to) <= 0;
}

/* ---- Overdue --------------------------------------------------------------------------------- */

static void gather_overdue(Book* book, Buyer buyer, Dues* dues) {
  Pool* pool = &book->page.pool;
  const size_t count = ask_count(&book->page, "%s/outstanding", buyer.at);
  for (size_t i = 0; i < count; ++i) {
    const char* at = pool_text(pool, "%s/outstanding/%zu", buyer.at, i);
    const char* day = day_at(book, pool_text(pool, "%s/due", at));
    if (!is_overdue(book, day)) continue;
    add_due(book, dues,
            (Due){day, buyer.name, ask_text(&book->page, "%s/delivery", at),
                  ask_text(&book->page, "%s/what", at), money_at(book, "%s/amount", at), 0});
  }
}

static void add_overdue_row(Table* table, const Due* due) {
  TableRow* row = table_add(table);
  row->cell[0] = pool_text(table->pool, "  %s", due->day);
  row->cell[1] = due->buyer;
  row->cell[2] =
      *due->delivery != '\0' ? pool_text(table->pool, "%s, %s", due->delivery, due->what) : due->what;
  row->cell[3] = due->amount;
}

static void add_sum(Table* table, const char* amount) {
  TableRow* sum = table_add(table);
  sum->cell[table->columns - 1] = amount;
  sum->is_sum = 1;
}

void print_overdue(Book* book) {
  Dues dues = {0};
  for (size_t i = 0; i < book->count; ++i) gather_overdue(book, book->buyers[i], &dues);
  if (dues.count == 0) {
    print_heading(pool_text(&book->page.pool, "Nothing is overdue on %s.", book->to));
    return;
  }
  sort_dues(&dues);
  print_heading(pool_text(&book->page.pool, "Overdue on %s", book->to));
  Table table;
  table_open(&table, &book->page.pool, 4, 3);
  table_add(&table);
  for (size_t i = 0; i < dues.count; ++i) add_overdue_row(&table, &dues.due[i]);
  add_sum(&table, money_at(book, "/total/overdue"));
  table_print(&table);
}

/* ---- Still to come --------------------------------------------------------------------------- */

static void gather_days(Book* book, Buyer buyer, Dues* dues, Number* sum) {
  const size_t count = ask_count(&book->page, "%s/due", buyer.at);
  for (size_t i = 0; i < count; ++i) {
    const char* day = day_at(book, pool_text(&book->page.pool, "%s/due/%zu/day", buyer.at, i));
    if (is_overdue(book, day)) continue;
    number_add(sum, ask_text(&book->page, "%s/due/%zu/amount", buyer.at, i));
    add_due(book, dues, (Due){day, buyer.name, "", "", money_at(book, "%s/due/%zu/amount", buyer.at, i), 0});
  }
}

/* A day stands once, at its first row. */
static void add_day_row(Table* table, const Dues* dues, size_t i) {
  const char* day = dues->due[i].day;
  const int again = i > 0 && strcmp(day, dues->due[i - 1].day) == 0;
  TableRow* row = table_add(table);
  row->cell[0] = again ? "" : pool_text(table->pool, "  %s", *day != '\0' ? day : "without a day");
  row->cell[1] = dues->due[i].buyer;
  row->cell[2] = dues->due[i].amount;
}

void print_falls_due(Book* book) {
  Dues dues = {0};
  Number sum = {{0}};
  for (size_t i = 0; i < book->count; ++i) gather_days(book, book->buyers[i], &dues, &sum);
  if (dues.count == 0) return;
  sort_dues(&dues);
  print_heading(pool_text(&book->page.pool, "Falls due after %s", book->to));
  Table table;
  table_open(&table, &book->page.pool, 3, 2);
  table_add(&table);
  for (size_t i = 0; i < dues.count; ++i) add_day_row(&table, &dues, i);
  add_sum(&table, number_text(&book->page.pool, &sum, 2));
  table_print(&table);
}
