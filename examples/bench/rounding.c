#include "rounding.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "figure.h"

/* ---- Numbers --------------------------------------------------------------------------------- */

/* Digits that only a sum has: what is written by hand has fewer. */
enum { worked_out_digits = 7 };

static size_t digits_of(const char* number) {
  size_t count = 0;
  number += strspn(number, "-0.");
  for (; *number != '\0' && *number != ' '; ++number) count += *number >= '0' && *number <= '9';
  return count;
}

/* As JSON has it: no commas. Places below 0 are before the point. */
static const char* plain_number(Pool* pool, double value, int places) {
  if (places >= 0) return pool_text(pool, "%.*f", places, value);
  const double step = pow(10, -places);
  return pool_text(pool, "%.0f", step * round(value / step));
}

/* To so many digits, zeros at the end left out. */
static const char* to_digits(Pool* pool, double value, int digits) {
  const char* rounded = pool_text(pool, "%.*e", digits - 1, value);
  const int places = digits - 1 - atoi(strchr(rounded, 'e') + 1);
  const char* number = plain_number(pool, value, places);
  size_t size = strlen(number);
  if (strchr(number, '.') == NULL) return number;
  while (number[size - 1] == '0') --size;
  return pool_text(pool, "%.*s", (int)(number[size - 1] == '.' ? size - 1 : size), number);
}

/* ---- Quantities ------------------------------------------------------------------------------ */

/* What a quantity is multiplied by, and the unit that it then has. */
typedef struct Unit {
  double factor;
  const char* name;
} Unit;

static Unit own_unit(const char* quantity) {
  const char* space = strchr(quantity, ' ');
  return (Unit){1, space != NULL ? space : ""};
}

static void add_number(Text* text, const char* number, Unit unit) {
  text_add(text, "\"%s%s\"", number, unit.name);
}

static void add_uncertain(Pool* pool, Text* text, Json value, Json sd, Unit unit) {
  const double spread = unit.factor * strtod(json_text(pool, sd), NULL);
  const int places = places_of_sd(spread);
  text_add(text, "{\"value\": ");
  add_number(text, plain_number(pool, unit.factor * strtod(json_text(pool, value), NULL), places), unit);
  text_add(text, ", \"sd\": ");
  add_number(text, plain_number(pool, spread, places), unit);
  text_add_byte(text, '}');
}

static void add_certain(Pool* pool, Text* text, const char* quantity, Unit unit) {
  const double value = unit.factor * strtod(quantity, NULL);
  const int worked_out = digits_of(quantity) >= worked_out_digits;
  if (!worked_out && unit.factor == 1) json_add_string(text, quantity, strlen(quantity));
  else add_number(text, to_digits(pool, value, worked_out ? plain_digits : worked_out_digits), unit);
}

static void add_in_unit(Pool* pool, Text* text, Json quantity, Unit unit) {
  const Json value = json_member(quantity, "value"), sd = json_member(quantity, "sd");
  if (json_is_text(quantity)) add_certain(pool, text, json_text(pool, quantity), unit);
  else if (value != NULL && sd != NULL && strtod(json_text(pool, sd), NULL) > 0)
    add_uncertain(pool, text, value, sd, unit);
  else add_value(pool, text, quantity);
}

void add_quantity(Pool* pool, Text* text, Json quantity) {
  const Json value = json_member(quantity, "value");
  add_in_unit(pool, text, quantity, own_unit(json_text(pool, value != NULL ? value : quantity)));
}

/* ---- Assays ---------------------------------------------------------------------------------- */

void add_assay(Pool* pool, Text* text, const char* analyte, Json quantity) {
  const Json value = json_member(quantity, "value");
  Unit unit = own_unit(json_text(pool, value != NULL ? value : quantity));
  if (strcmp(unit.name, " g/t") == 0 && !is_precious(analyte)) unit = (Unit){1e-4, " %"};
  add_in_unit(pool, text, quantity, unit);
}

/* ---- Anything -------------------------------------------------------------------------------- */

static int is_quantity(Json value) {
  return json_is_text(value) || (json_member(value, "value") != NULL && json_member(value, "sd") != NULL);
}

void add_value(Pool* pool, Text* text, Json value) {
  if (is_quantity(value)) {
    add_quantity(pool, text, value);
    return;
  }
  if (*value != '{' && *value != '[') {
    text_add(text, "%s", json_text(pool, value));
    return;
  }
  Entry entry = {0};
  text_add_byte(text, *value);
  for (int i = 0; json_next(value, &entry); ++i) {
    if (i > 0) text_add(text, ", ");
    if (entry.name != NULL) text_add(text, "%.*s: ", (int)(json_end(entry.name) - entry.name), entry.name);
    add_value(pool, text, entry.value);
  }
  text_add_byte(text, *value == '{' ? '}' : ']');
}
