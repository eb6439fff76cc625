#include "figure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- Figures of an answer -------------------------------------------------------------------- */

static const char* unit_of(const char* quantity) {
  const char* space = strchr(quantity, ' ');
  return space != NULL ? space + 1 : "";
}

/* Of a figure whose spread is told as a share of it. */
static double sd_of(Page* page, const char* pointer, double value) {
  const double sd = ask_number(page, "%s/sd", pointer), share = ask_number(page, "%s/rsd", pointer);
  if (sd > 0) return sd;
  return share > 0 ? fabs(value) * share / 100 : 0;
}

Figure figure_at(Page* page, const char* pointer) {
  Figure figure = {ask_number(page, "%s", pointer), 0, ""};
  if (!isnan(figure.value)) {
    figure.unit = unit_of(ask_text(page, "%s", pointer));
    return figure;
  }
  figure.value = ask_number(page, "%s/value", pointer);
  figure.sd = sd_of(page, pointer, figure.value);
  figure.unit = unit_of(ask_text(page, "%s/value", pointer));
  return figure;
}

int has_figure(Figure figure) { return !isnan(figure.value); }

Figure with_sd(Figure figure, double sd) { return (Figure){figure.value, sd > 0 ? sd : 0, figure.unit}; }

int is_precious(const char* analyte) {
  static const char* const precious[] = {"Au", "Ag", "Pt", "Pd", "Rh", "Ru", "Ir", "Os", "Hg"};
  for (size_t i = 0; i < sizeof precious / sizeof *precious; ++i)
    if (strcmp(analyte, precious[i]) == 0) return 1;
  return 0;
}

Figure in_unit(Figure figure, double to_one, const char* unit) {
  return (Figure){to_one * figure.value, to_one * figure.sd, unit};
}

/* ---- For reading ----------------------------------------------------------------------------- */

int places_of_sd(double sd) {
  Pool pool = {0};
  const char* rounded = pool_text(&pool, "%.*e", sd_digits - 1, sd);
  const int places = sd_digits - 1 - atoi(strchr(rounded, 'e') + 1);
  pool_free(&pool);
  return places;
}

const char* to_places(Pool* pool, double value, int places) {
  if (places >= 0) return with_decimals(pool, value, places);
  const double step = pow(10, -places);
  return with_decimals(pool, step * round(value / step), 0);
}

/* Zeros at the end say nothing of a figure that nobody called uncertain. */
static const char* without_zeros(Pool* pool, const char* number) {
  size_t size = strlen(number);
  if (strchr(number, '.') == NULL) return number;
  while (number[size - 1] == '0') --size;
  if (number[size - 1] == '.') --size;
  return pool_text(pool, "%.*s", (int)size, number);
}

const char* figure_number(Pool* pool, Figure figure) {
  if (!has_figure(figure)) return "";
  if (!(figure.sd > 0)) return without_zeros(pool, with_figures(pool, figure.value, plain_digits));
  const int places = places_of_sd(figure.sd);
  return pool_text(pool, "%s" NBSP "±" NBSP "%s", to_places(pool, figure.value, places),
                   to_places(pool, figure.sd, places));
}

static const char* with_its_unit(Pool* pool, const char* number, const char* unit) {
  return *unit != '\0' ? pool_text(pool, "%s" NBSP "%s", number, unit) : number;
}

const char* figure_text(Pool* pool, Figure figure) {
  return has_figure(figure) ? with_its_unit(pool, figure_number(pool, figure), figure.unit) : "";
}

const char* quantity_text(Pool* pool, const char* quantity) {
  if (strspn(quantity, "-0123456789") == 0) return quantity; /* a name */
  const char* number = pool_text(pool, "%.*s", (int)strcspn(quantity, " "), quantity);
  return with_its_unit(pool, with_commas(pool, number), unit_of(quantity));
}

/* ---- Quantities of a request ----------------------------------------------------------------- */

static const char* member_text(Pool* pool, Json object, const char* name) {
  const Json member = json_member(object, name);
  return member != NULL ? quantity_text(pool, json_text(pool, member)) : "";
}

/* "2 values, 1,075 and 1,094 g/t"; of more than three the least and the largest. */
static const char* values_text(Pool* pool, Json values) {
  Entry entry = {0};
  const char *least = "", *largest = "";
  size_t count = 0;
  for (; json_next(values, &entry); ++count) {
    const char* value = json_text(pool, entry.value);
    if (count == 0 || strtod(value, NULL) < strtod(least, NULL)) least = value;
    if (count == 0 || strtod(value, NULL) > strtod(largest, NULL)) largest = value;
  }
  if (count < 2) return quantity_text(pool, least);
  return pool_text(pool, "%zu" NBSP "values, %s to %s", count,
                   strcmp(unit_of(least), unit_of(largest)) == 0
                       ? with_commas(pool, pool_text(pool, "%.*s", (int)strcspn(least, " "), least))
                       : quantity_text(pool, least),
                   quantity_text(pool, largest));
}

const char* stated_text(Pool* pool, Json quantity) {
  if (quantity == NULL) return "";
  if (json_is_text(quantity)) return quantity_text(pool, json_text(pool, quantity));
  if (*quantity != '{') return json_text(pool, quantity);
  const char *value = member_text(pool, quantity, "value"), *sd = member_text(pool, quantity, "sd"),
             *share = member_text(pool, quantity, "rsd"), *median = member_text(pool, quantity, "median"),
             *low = member_text(pool, quantity, "low"), *high = member_text(pool, quantity, "high"),
             *mode = member_text(pool, quantity, "mode");
  if (*value != '\0') return pool_text(pool, "%s ±" NBSP "%s", value, *sd != '\0' ? sd : share);
  if (*median != '\0')
    return pool_text(pool, "%s within a factor of %s", median, member_text(pool, quantity, "gsd"));
  if (*low != '\0')
    return pool_text(pool, "%s to %s%s%s", low, high, *mode != '\0' ? ", likeliest " : "", mode);
  return values_text(pool, json_member(quantity, "values"));
}
