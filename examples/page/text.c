#include "text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- Memory ------------------------------------------------------------------------------- */

/* A page without memory cannot be finished, and half a page would mislead. */
static void* or_stop(void* block) {
  if (block != NULL) return block;
  fputs("there is not enough memory for this\n", stderr);
  exit(7);
}

void* pool_block(Pool* pool, size_t size) {
  if (pool->count == pool->room) {
    pool->room = pool->room != 0 ? 2 * pool->room : 64;
    pool->blocks = or_stop(realloc(pool->blocks, pool->room * sizeof *pool->blocks));
  }
  pool->blocks[pool->count] = or_stop(calloc(1, size != 0 ? size : 1));
  return pool->blocks[pool->count++];
}

const char* pool_format(Pool* pool, const char* format, va_list values) {
  va_list again;
  va_copy(again, values);
  const size_t size = (size_t)vsnprintf(NULL, 0, format, again) + 1;
  va_end(again);
  char* text = pool_block(pool, size);
  vsnprintf(text, size, format, values);
  return text;
}

const char* pool_text(Pool* pool, const char* format, ...) {
  va_list values;
  va_start(values, format);
  const char* text = pool_format(pool, format, values);
  va_end(values);
  return text;
}

const char* pool_keep(Pool* pool, Text* text) {
  const char* kept = pool_text(pool, "%s", text_of(text));
  text_free(text);
  return kept;
}

void pool_free(Pool* pool) {
  while (pool->count > 0) free(pool->blocks[--pool->count]);
  free(pool->blocks);
  memset(pool, 0, sizeof *pool);
}

/* ---- A text that grows --------------------------------------------------------------------- */

static char* text_room(Text* text, size_t more) {
  if (text->size + more + 1 > text->room) {
    text->room = 2 * (text->size + more + 1);
    text->start = or_stop(realloc(text->start, text->room));
  }
  return text->start + text->size;
}

void text_add(Text* text, const char* format, ...) {
  va_list values, again;
  va_start(values, format);
  va_copy(again, values);
  const size_t size = (size_t)vsnprintf(NULL, 0, format, values);
  vsnprintf(text_room(text, size), size + 1, format, again);
  text->size += size;
  va_end(again);
  va_end(values);
}

void text_add_bytes(Text* text, const char* bytes, size_t size) {
  char* end = text_room(text, size);
  memcpy(end, bytes, size);
  end[size] = '\0';
  text->size += size;
}

void text_add_byte(Text* text, char byte) { text_add_bytes(text, &byte, 1); }

const char* text_of(const Text* text) { return text->start != NULL ? text->start : ""; }

void text_free(Text* text) {
  free(text->start);
  memset(text, 0, sizeof *text);
}

void text_add_column(Text* text, int width, const char* what) {
  const int wide = (int)columns(what);
  const int gap = (width < 0 ? -width : width) - wide;
  if (width < 0) text_add(text, "%*s%s", gap > 0 ? gap : 0, "", what);
  else text_add(text, "%s%*s", what, gap > 0 ? gap : 0, "");
}

/* ---- Lines --------------------------------------------------------------------------------- */

/* Columns of a text's first bytes: those that begin a character. */
static size_t columns_of(const char* text, size_t size) {
  size_t count = 0;
  for (size_t i = 0; i < size; ++i) count += ((unsigned char)text[i] & 0xC0) != 0x80;
  return count;
}

size_t columns(const char* text) { return columns_of(text, strlen(text)); }

/* Puts so many bytes of a text, its kept-together spaces as plain ones. Names come from a document:
 * what would steer a terminal becomes a space too. */
static void put(FILE* file, const char* text, size_t size) {
  for (size_t i = 0; i < size; ++i) {
    const int kept = i + 1 < size && memcmp(text + i, NBSP, 2) == 0;
    const int steers = (unsigned char)text[i] < 0x20 || text[i] == 0x7F;
    putc(kept || steers ? ' ' : text[i], file);
    if (kept) ++i;
  }
}

void print_line(const char* text) {
  size_t size = strlen(text);
  while (size > 0 && text[size - 1] == ' ') --size;
  put(stdout, text, size);
  putchar('\n');
}

void print_heading(const char* heading) {
  print_line("");
  print_wrapped("", heading);
}

void print_error(const char* text) {
  put(stderr, text, strlen(text));
  putc('\n', stderr);
}

/* Bytes of the next word, or of as many of its characters as so many columns hold. */
static size_t next_word(const char* text, size_t most) {
  size_t size = strcspn(text, " ");
  while (columns_of(text, size) > most) --size;
  return size;
}

void print_wrapped(const char* first, const char* text) {
  const size_t indent = columns(first);
  const size_t most = indent < PAGE_WIDTH ? PAGE_WIDTH - indent : 1;
  size_t column = indent;
  if (*text == '\0') {
    print_line(first);
    return;
  }
  put(stdout, first, strlen(first));
  while (*text != '\0') {
    const size_t size = next_word(text, most);
    const size_t wide = columns_of(text, size);
    if (column > indent && column + 1 + wide > PAGE_WIDTH) {
      printf("\n%*s", (int)indent, "");
      column = indent;
    } else if (column > indent) {
      putchar(' ');
      ++column;
    }
    put(stdout, text, size);
    column += wide;
    text += size;
    while (*text == ' ') ++text;
  }
  putchar('\n');
}

/* ---- Numbers ------------------------------------------------------------------------------- */

const char* with_commas(Pool* pool, const char* digits) {
  const size_t whole = strcspn(digits, ".");
  Text text = {0};
  for (size_t i = 0; digits[i] != '\0'; ++i) {
    if (i > 0 && i < whole && (whole - i) % 3 == 0 && digits[i - 1] != '-') text_add_byte(&text, ',');
    text_add_byte(&text, digits[i]);
  }
  return pool_keep(pool, &text);
}

const char* with_decimals(Pool* pool, double value, int decimals) {
  const char* digits = pool_text(pool, "%.*f", decimals, value);
  if (strpbrk(digits, "123456789") == NULL) digits = pool_text(pool, "%.*f", decimals, 0.0); /* not "-0" */
  return with_commas(pool, digits);
}

const char* with_figures(Pool* pool, double value, int figures) {
  if (value == 0 || !isfinite(value)) return "0";
  /* The power of ten after rounding: 99.96 to three figures is 100, not 100.0. */
  const char* rounded = pool_text(pool, "%.*e", figures - 1, value);
  const int power = atoi(strchr(rounded, 'e') + 1);
  const int decimals = figures - 1 - power;
  return with_decimals(pool, strtod(rounded, NULL), decimals < 0 ? 0 : decimals);
}

const char* mass_text(Pool* pool, double kilograms) {
  const int small = fabs(kilograms) < 0.9995;
  return pool_text(pool, "%s" NBSP "%s", with_figures(pool, small ? 1000 * kilograms : kilograms, 3),
                   small ? "g" : "kg");
}

const char* day_text(Pool* pool, double day) { return with_decimals(pool, ceil(day - 1e-9), 0); }
