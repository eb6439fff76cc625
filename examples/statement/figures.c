/* Figures for reading, rounded digit by digit: money and masses never pass through a double. */
#include <limits.h>
#include <string.h>

#include "sheet.h"

enum { most_digits = 8 };

static size_t whole_digits(const char* decimal) { return strcspn(decimal, "."); }

/* The digit at a place after the point; 0 beyond the last. */
static char digit_at(const char* decimal, int place) {
  const size_t point = whole_digits(decimal);
  const size_t at = point + (size_t)place;
  return decimal[point] == '.' && at < strlen(decimal) ? decimal[at] : '0';
}

/* Adds one to the last digit; a number of nines grows by a digit. */
static void count_up(Pool* pool, char** digits) {
  char* at = *digits + strlen(*digits);
  while (at > *digits) {
    --at;
    if (*at == '.') continue;
    if (*at != '9') {
      ++*at;
      return;
    }
    *at = '0';
  }
  char* longer = pool_block(pool, strlen(*digits) + 2);
  longer[0] = '1';
  memcpy(longer + 1, *digits, strlen(*digits));
  *digits = longer;
}

const char* rounded(Pool* pool, const char* decimal, int places) {
  const int negative = *decimal == '-';
  decimal += negative;
  const size_t whole = whole_digits(decimal);
  char* digits = pool_block(pool, whole + (size_t)places + 2);
  memcpy(digits, decimal, whole);
  if (places > 0) digits[whole] = '.';
  for (int place = 1; place <= places; ++place) digits[whole + (size_t)place] = digit_at(decimal, place);
  if (digit_at(decimal, places + 1) >= '5') count_up(pool, &digits);
  const int nothing = strpbrk(digits, "123456789") == NULL;
  return pool_text(pool, "%s%s", negative && !nothing ? "-" : "", with_commas(pool, digits));
}

int places_needed(const char* decimal) {
  const char* point = strchr(decimal, '.');
  if (point == NULL) return 0;
  int places = (int)strlen(point + 1);
  while (places > 0 && point[places] == '0') --places;
  return places;
}

/* Digits from the first that is not 0 to the point; below 1, the zeros after the point count back. */
static int order_of(const char* decimal) {
  decimal += *decimal == '-';
  decimal += strspn(decimal, "0");
  if (*decimal != '.') return (int)whole_digits(decimal);
  return -(int)strspn(decimal + 1, "0");
}

int places_shown(Sheet* sheet, const char* const* decimals, size_t count) {
  int needed = 0, most = INT_MAX;
  for (size_t i = 0; i < count; ++i) {
    if (*decimals[i] == '\0') continue;
    const int own = places_needed(decimals[i]), left = most_digits - order_of(decimals[i]);
    if (own > needed) needed = own;
    if (left < most) most = left > 0 ? left : 0;
  }
  if (needed <= most) return needed;
  sheet->digits_hidden = 1;
  return most;
}

const char* to_the_cent(Sheet* sheet, const char* decimal) {
  if (places_needed(decimal) > 2) sheet->cents_hidden = 1;
  return rounded(&sheet->page.pool, decimal, 2);
}

const char* number_of(Sheet* sheet, const char* quantity) {
  return pool_text(&sheet->page.pool, "%.*s", (int)strcspn(quantity, " "), quantity);
}

const char* unit_of(const char* quantity) {
  const char* space = strchr(quantity, ' ');
  return space != NULL ? space + 1 : "";
}

const char* term_text(Sheet* sheet, Json place, const char* name) {
  const Json value = json_member(place, name);
  return json_is_text(value) ? json_text(&sheet->page.pool, value) : NULL;
}

const char* quantity_shown(Sheet* sheet, const char* quantity) {
  Pool* pool = &sheet->page.pool;
  const char* number = number_of(sheet, quantity);
  return pool_text(pool, "%s" NBSP "%s", rounded(pool, number, places_shown(sheet, &number, 1)),
                   unit_of(quantity));
}
