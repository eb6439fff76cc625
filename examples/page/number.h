/* Decimals for reading, added and rounded digit by digit: money and masses never pass through a double. */
#ifndef PAGE_NUMBER_H
#define PAGE_NUMBER_H

#include "text.h"

enum { number_whole = 80, number_fraction = 60 };

/* A sum of decimals; all zeros is 0. */
typedef struct Number {
  int digit[number_whole + number_fraction]; /* each with its own sign until the number is written */
} Number;

/* Adds a decimal, "-1234.5"; what follows it, a unit, is left. */
void number_add(Number* number, const char* decimal);
void number_take(Number* number, const char* decimal); /* takes it off */
/* The sum rounded to so many places, halves away from zero, with commas: "-1,234.57". */
const char* number_text(Pool* pool, const Number* number, int places);

/* One decimal, or a quantity's number, rounded to so many places: "1,846.333" for "1846.33333 g". */
const char* rounded_to(Pool* pool, const char* decimal, int places);
/* An amount of money to the cent. */
const char* cents(Pool* pool, const char* amount);
/* Whether a number as it is shown is nothing. */
int is_nothing(const char* shown);

#endif
