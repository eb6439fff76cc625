/* An answer of the bench on paper: a heading, its tables, its cautions. */
#ifndef BENCH_SHEET_H
#define BENCH_SHEET_H

#include "../page/page.h"
#include "../page/table.h"
#include "figure.h"
#include "requests.h"

typedef struct Sheet {
  Page page;        /* the answer, asked by pointer */
  Json request;     /* for what the answer does not repeat */
  const char* name; /* of the file */
  int hurts;        /* whether a caution tells of what can hurt somebody */
} Sheet;

/* Prints all answers, and what holds for all of them once. */
void sheets_print(bw_context* context, const Requests* requests);
/* Whether the answer is that nothing can be done: no route is accepted, however long one waits. */
int is_refusal(bw_context* context, const Request* request);

/* ---- What the sheets have in common ---------------------------------------------------------- */

/* The heading of a sheet, its file to the right, and beneath it the request's note. */
void print_title(Sheet* sheet, const char* title);
/* A line of a label and what it says, wrapped. */
void print_row(const char* label, const char* text);
/* A figure of the answer with its unit: "418.5 ± 3.2 kg"; "" where none stands. */
const char* shown(Sheet* sheet, const char* pointer, ...) PAGE_FORMAT(2, 3);
/* The same without its unit, for a column that names it. */
const char* number_shown(Sheet* sheet, const char* pointer, ...) PAGE_FORMAT(2, 3);
/* The row of a label and a figure, where there is the figure. */
void print_figure(Sheet* sheet, const char* label, const char* pointer, ...) PAGE_FORMAT(3, 4);
/* A member of the request, as it was stated, in words. */
const char* stated_at(Sheet* sheet, Json object, const char* name);
/* "gold" for "Au" where the trade says so, and the file's own names as they are. */
const char* analyte_at(Sheet* sheet, const char* pointer, size_t index);

/* ---- The sheets ------------------------------------------------------------------------------ */

void print_sampling(Sheet* sheet);
void print_screen_assay(Sheet* sheet);
void print_run_sheet(Sheet* sheet);
void print_balance(Sheet* sheet);
void print_table_test(Sheet* sheet);
void print_flux(Sheet* sheet);
void print_bar(Sheet* sheet);
void print_lot_size(Sheet* sheet);

void print_bench_cautions(Sheet* sheet);

#endif
