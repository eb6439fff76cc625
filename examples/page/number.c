#include "number.h"

#include <ctype.h>
#include <string.h>

enum { all = number_whole + number_fraction };

static void add(Number* number, const char* decimal, int sign) {
  if (*decimal == '-') sign = -sign;
  decimal += *decimal == '-';
  int at = number_whole - (int)strspn(decimal, "0123456789");
  for (; isdigit((unsigned char)*decimal) || *decimal == '.'; ++decimal) {
    if (*decimal == '.') continue;
    if (at >= 0 && at < all) number->digit[at] += sign * (*decimal - '0');
    ++at;
  }
}

void number_add(Number* number, const char* decimal) { add(number, decimal, 1); }
void number_take(Number* number, const char* decimal) { add(number, decimal, -1); }

/* Brings every digit to 0 to 9; what is left over in front is below 0 where the number is. */
static int carried(Number* number) {
  int carry = 0;
  for (int at = all - 1; at >= 0; --at) {
    const int sum = number->digit[at] + carry;
    carry = sum >= 0 ? sum / 10 : -((9 - sum) / 10);
    number->digit[at] = sum - 10 * carry;
  }
  return carry;
}

/* Makes a number's size of it; tells whether it was below 0. */
static int without_sign(Number* number) {
  if (carried(number) >= 0) return 0;
  for (int at = 0; at < all; ++at) number->digit[at] = -number->digit[at];
  number->digit[0] += 10; /* the ten that was borrowed from in front */
  carried(number);
  return 1;
}

static const char* digits_of(Pool* pool, const Number* number, int places) {
  Text text = {0};
  int first = 0;
  while (first < number_whole - 1 && number->digit[first] == 0) ++first;
  for (int at = first; at < number_whole + places; ++at) {
    if (at == number_whole) text_add_byte(&text, '.');
    text_add_byte(&text, (char)('0' + number->digit[at]));
  }
  return pool_keep(pool, &text);
}

const char* number_text(Pool* pool, const Number* number, int places) {
  Number size = *number;
  const int below = without_sign(&size), last = number_whole + places;
  if (size.digit[last] >= 5) ++size.digit[last - 1];
  carried(&size);
  const char* digits = digits_of(pool, &size, places);
  return pool_text(pool, "%s%s", below && !is_nothing(digits) ? "-" : "", with_commas(pool, digits));
}

const char* rounded_to(Pool* pool, const char* decimal, int places) {
  Number number = {{0}};
  number_add(&number, decimal);
  return *decimal != '\0' ? number_text(pool, &number, places) : "";
}

const char* cents(Pool* pool, const char* amount) { return rounded_to(pool, amount, 2); }

int is_nothing(const char* shown) { return strpbrk(shown, "123456789") == NULL; }
