/* Asking the answer by pointer. */
#include <stdarg.h>
#include <string.h>

#include "page.h"

Page asking(bw_context* context, const bw_answer* answer) {
  Page page;
  memset(&page, 0, sizeof page);
  page.context = context;
  page.answer = answer;
  page.currency = ask_text(&page, "/currency");
  return page;
}

static double number_at(Page* page, const char* pointer) {
  double value;
  bw_answer_number(page->context, page->answer, pointer, &value); /* NaN where none stands */
  return value;
}

static const char* text_at(Page* page, const char* pointer) {
  size_t needed = 0;
  if (bw_answer_string(page->context, page->answer, pointer, NULL, 0, &needed) != BW_OK) return "";
  char* text = pool_block(&page->pool, needed);
  bw_answer_string(page->context, page->answer, pointer, text, needed, NULL);
  return text;
}

static size_t count_at(Page* page, const char* pointer) {
  size_t count;
  bw_answer_count(page->context, page->answer, pointer, &count); /* 0 where none stands */
  return count;
}

double ask_number(Page* page, const char* pointer, ...) {
  va_list values;
  va_start(values, pointer);
  const double value = number_at(page, pool_format(&page->pool, pointer, values));
  va_end(values);
  return value;
}

const char* ask_text(Page* page, const char* pointer, ...) {
  va_list values;
  va_start(values, pointer);
  const char* text = text_at(page, pool_format(&page->pool, pointer, values));
  va_end(values);
  return text;
}

size_t ask_count(Page* page, const char* pointer, ...) {
  va_list values;
  va_start(values, pointer);
  const size_t count = count_at(page, pool_format(&page->pool, pointer, values));
  va_end(values);
  return count;
}

const char* ask_name(Page* page, const char* pointer, size_t index) {
  size_t needed = 0;
  if (bw_answer_name(page->context, page->answer, pointer, index, NULL, 0, &needed) != BW_OK) return "";
  char* text = pool_block(&page->pool, needed);
  bw_answer_name(page->context, page->answer, pointer, index, text, needed, NULL);
  return text;
}

const char* ask_step(Page* page, const char* name) {
  Text step = {0};
  text_add_byte(&step, '/');
  for (; *name != '\0'; ++name) {
    if (*name == '~') text_add(&step, "~0");
    else if (*name == '/') text_add(&step, "~1");
    else text_add_byte(&step, *name);
  }
  return pool_keep(&page->pool, &step);
}
