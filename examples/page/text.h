/* Texts: built up, kept until the end, rounded for reading, wrapped for the page. */
#ifndef PAGE_TEXT_H
#define PAGE_TEXT_H

#include <stdarg.h>
#include <stddef.h>

#if defined(__GNUC__)
#define PAGE_FORMAT(text, rest) __attribute__((format(printf, text, rest)))
#else
#define PAGE_FORMAT(text, rest)
#endif

/* Columns of the page; a program may be built with fewer. */
#ifndef PAGE_WIDTH
#define PAGE_WIDTH 100
#endif
/* A space at which a line is not broken: between a number and its unit. */
#define NBSP "\xC2\xA0"

/* A text that grows; all zeros is an empty one. */
typedef struct Text {
  char* start;
  size_t size, room;
} Text;

/* Memory that is freed together, when the page is done. Running out of it ends the program. */
typedef struct Pool {
  void** blocks;
  size_t count, room;
} Pool;

void* pool_block(Pool* pool, size_t size); /* zeroed */
const char* pool_text(Pool* pool, const char* format, ...) PAGE_FORMAT(2, 3);
const char* pool_format(Pool* pool, const char* format, va_list values);
const char* pool_keep(Pool* pool, Text* text); /* what a text holds; the text is empty again */
void pool_free(Pool* pool);

/* Adding to a text. */
void text_add(Text* text, const char* format, ...) PAGE_FORMAT(2, 3);
void text_add_byte(Text* text, char byte);
void text_add_bytes(Text* text, const char* bytes, size_t size);
const char* text_of(const Text* text); /* never NULL */
void text_free(Text* text);

/* Adds a text and spaces up to a width; to the right of them where the width is below 0. */
void text_add_column(Text* text, int width, const char* what);

/* Characters of a UTF-8 text, which take one column each here. */
size_t columns(const char* text);

/* Prints a text broken at spaces, the first line after `first`, the others after as many spaces. A word
 * that no line can hold is broken where the line ends. */
void print_wrapped(const char* first, const char* text);
/* Prints one line as it is. */
void print_line(const char* text);
/* An empty line and a heading. */
void print_heading(const char* heading);
/* A line on standard error. */
void print_error(const char* text);

/* The same digits with a comma at every third place before the point. */
const char* with_commas(Pool* pool, const char* digits);

/* Numbers for reading: "78,058", "37.0", "5.39". */
const char* with_decimals(Pool* pool, double value, int decimals);
const char* with_figures(Pool* pool, double value, int figures);
/* "808 g", "37.0 kg". */
const char* mass_text(Pool* pool, double kilograms);
/* The day by which it is certain: 7.2 gives "8". */
const char* day_text(Pool* pool, double day);

#endif
