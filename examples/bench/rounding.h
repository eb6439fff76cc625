/* Values of an answer as they go into a plan, rounded for the eye: a figure with an sd to the sd's second
 * digit; one of seven digits or more, which only a sum has, to four; what says less stays as it was written.
 */
#ifndef BENCH_ROUNDING_H
#define BENCH_ROUNDING_H

#include "../page/json.h"

/* A quantity: a text, or an object with value and sd. */
void add_quantity(Pool* pool, Text* text, Json quantity);
/* An assay; those of base metals in per cent. */
void add_assay(Pool* pool, Text* text, const char* analyte, Json quantity);
/* Any value: quantities rounded, lists and objects on one line. */
void add_value(Pool* pool, Text* text, Json value);

#endif
