/* The month on paper: what was delivered, what is owed and when, which metal stands where, what is to be
 * looked at, and what the buyers returned. */
#ifndef MONTH_BOOK_H
#define MONTH_BOOK_H

#include "../page/number.h"
#include "../page/page.h"
#include "../page/table.h"

typedef struct Buyer {
  const char* name;
  const char* at; /* its pointer in the answer */
} Buyer;

typedef struct Book {
  Page page; /* the book, asked by pointer */
  Buyer* buyers;
  size_t count;
  const char* to; /* the month's last day */
  int cents_hidden;
} Book;

void book_open(Book* book, bw_context* context, const bw_answer* answer);
void book_close(Book* book);
/* Prints the page, all but the returns. */
void book_print(Book* book);

/* Prints the returns, an answer of its own, beneath the book. */
void returns_print(Book* book, const bw_answer* answer);

/* ---- What the parts have in common ----------------------------------------------------------- */

/* The entries of an object and their pointers. */
Buyer* buyers_of(Page* page, size_t* count);
/* An amount at a pointer, to the cent, remembering whether that hid something. */
const char* money_at(Book* book, const char* pointer, ...) PAGE_FORMAT(2, 3);
/* Whether the terms refused a delivery. */
int is_refused(Book* book, const char* delivery);

/* ---- The parts of the page ------------------------------------------------------------------- */

void print_delivered(Book* book);
void print_owed(Book* book);
void print_falls_due(Book* book);
void print_overdue(Book* book);
void print_metal_stands(Book* book);
void print_kinds(Book* book);
void print_doubts(Book* book);

/* One sentence on a figure over all lots of a buyer, and its outliers by name. */
void print_figure_sentence(Page* page, const char* at);

#endif
