/* Figures of the bench for reading: a value, its standard uncertainty to two digits, the value to the same
 * place. Nothing is worked out anew here. */
#ifndef BENCH_FIGURE_H
#define BENCH_FIGURE_H

#include "../page/page.h"

typedef struct Figure {
  double value, sd; /* a value that is not a number: none stands; an sd of 0: none is told */
  const char* unit; /* "" for a plain number */
} Figure;

/* The figure at a pointer: a text, or an object with its value and its sd. */
Figure figure_at(Page* page, const char* pointer);
int has_figure(Figure figure);
/* The same in a smaller unit: so many to one. */
Figure in_unit(Figure figure, double to_one, const char* unit);

/* The same with an sd that the answer tells apart. */
Figure with_sd(Figure figure, double sd);
/* Whether an analyte is told in grams a tonne, mercury among them; the others are in per cent. */
int is_precious(const char* analyte);

/* Digits that a figure without an sd is shown with. */
enum { plain_digits = 4, sd_digits = 2 };

/* Places after the point of an sd's second digit; below 0 before the point. */
int places_of_sd(double sd);
/* A value to so many places, which may be below 0: 7136.2 to -2 is "7,100". */
const char* to_places(Pool* pool, double value, int places);
/* "418.5 ± 3.2", "0.1761". */
const char* figure_number(Pool* pool, Figure figure);
/* "418.5 ± 3.2 kg". */
const char* figure_text(Pool* pool, Figure figure);
/* A quantity's number and unit with a thousands' comma, as it was written: "1,140 g/t". */
const char* quantity_text(Pool* pool, const char* quantity);

/* A quantity of a request in words: "62 t ± 6 %", "6 values, 1,071 to 1,218 g/t"; "" where none stands. */
const char* stated_text(Pool* pool, Json quantity);

#endif
