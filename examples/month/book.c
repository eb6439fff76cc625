/* The page as a whole. */
#include "book.h"

#include <string.h>

Buyer* buyers_of(Page* page, size_t* count) {
  *count = ask_count(page, "/buyers");
  Buyer* buyers = pool_block(&page->pool, (*count + 1) * sizeof *buyers);
  for (size_t i = 0; i < *count; ++i) {
    buyers[i].name = ask_name(page, "/buyers", i);
    buyers[i].at = pool_text(&page->pool, "/buyers%s", ask_step(page, buyers[i].name));
  }
  return buyers;
}

void book_open(Book* book, bw_context* context, const bw_answer* answer) {
  memset(book, 0, sizeof *book);
  book->page = asking(context, answer);
  book->buyers = buyers_of(&book->page, &book->count);
  book->to = ask_text(&book->page, "/to");
}

void book_close(Book* book) { pool_free(&book->page.pool); }

const char* money_at(Book* book, const char* pointer, ...) {
  va_list values;
  va_start(values, pointer);
  const char* at = pool_format(&book->page.pool, pointer, values);
  va_end(values);
  const char* amount = ask_text(&book->page, "%s", at);
  const char* point = strchr(amount, '.');
  if (point != NULL && strlen(point) > 3 && !is_nothing(point + 3)) book->cents_hidden = 1;
  return cents(&book->page.pool, amount);
}

static void print_head(Book* book) {
  print_wrapped("", pool_text(&book->page.pool, "The month's book, %s to %s. Money in %s.",
                              ask_text(&book->page, "/from"), book->to, book->page.currency));
}

static void print_foot(const Book* book) {
  if (!book->cents_hidden) return;
  print_line("");
  print_wrapped(
      "",
      "Amounts that are not whole cents are rounded to the cent for showing only: a sum may be a cent "
      "off what its parts as shown add up to.");
}

void book_print(Book* book) {
  print_head(book);
  print_delivered(book);
  print_owed(book);
  print_overdue(book);
  print_falls_due(book);
  print_metal_stands(book);
  print_kinds(book);
  print_doubts(book);
  print_foot(book);
}
