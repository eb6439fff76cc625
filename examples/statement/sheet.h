/* The statement on paper: what was delivered, at what prices, what it comes to, and what is open. */
#ifndef STATEMENT_SHEET_H
#define STATEMENT_SHEET_H

#include "../page/page.h"

/* The column at whose left figures and amounts end; remarks stand to its right. */
#define SHEET_EDGE 68

typedef struct Sheet {
  Page page;     /* the answer, asked by pointer */
  Json delivery; /* the request, for what the answer does not repeat */
  Json terms;    /* the terms in it */
  int refused;
  int cents_hidden, digits_hidden; /* whether anything shown was rounded for it */
} Sheet;

/* Takes what the sheet needs from the answer and the delivery's text; sheet_close frees it. */
void sheet_open(Sheet* sheet, bw_context* context, const bw_answer* answer, const char* delivery_text);
void sheet_close(Sheet* sheet);

/* Prints the sheet; with how, beneath each amount how it was worked out. */
void sheet_print(Sheet* sheet, int how);

/* ---- Figures: exact, from text to text ------------------------------------------------------- */

/* A decimal rounded to so many places, halves away from zero: "-1234.565" gives "-1,234.57". */
const char* rounded(Pool* pool, const char* decimal, int places);
/* Places that a decimal needs after its point, zeros at its end left out. */
int places_needed(const char* decimal);
/* Places at which figures beside each other are shown: those they need, but none of them more than eight
 * digits in all. An empty text is none of them. */
int places_shown(Sheet* sheet, const char* const* decimals, size_t count);
/* An amount of money to the cent. */
const char* to_the_cent(Sheet* sheet, const char* decimal);
/* A quantity's number and its unit: "12.4" and "kg". */
const char* number_of(Sheet* sheet, const char* quantity);
const char* unit_of(const char* quantity);
/* A text of the terms; NULL where there is none, or a figure that is uncertain. */
const char* term_text(Sheet* sheet, Json place, const char* name);
/* A quantity for reading: "1,846.3333 g/t". */
const char* quantity_shown(Sheet* sheet, const char* quantity);

/* ---- The parts of the sheet ------------------------------------------------------------------ */

void print_delivered(Sheet* sheet);
void print_prices(Sheet* sheet);
void print_amounts(Sheet* sheet, int how);
void print_paid_metal(Sheet* sheet);
void print_open(Sheet* sheet);    /* and what the terms refuse */
void print_changes(Sheet* sheet); /* since the earlier statement */
void print_doubts(Sheet* sheet);

/* A row of a label and a figure that ends at the edge; a long label stands on lines of its own. */
void print_figure_row(Sheet* sheet, const char* label, const char* figure);

/* A row of a name and three figures under their headings; in words where a column cannot hold one. */
typedef struct Triple {
  const char* cell[3];
} Triple;
void print_triple(Sheet* sheet, const char* name, const Triple* headings, const Triple* figures);

#endif
