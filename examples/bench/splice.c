#include "splice.h"

#include <stdlib.h>
#include <string.h>

/* ---- Finding --------------------------------------------------------------------------------- */

/* A step of a pointer as the name it stands for. */
static const char* name_of_step(Pool* pool, const char* step, size_t size) {
  Text name = {0};
  for (size_t i = 0; i < size; ++i) {
    const int escaped = step[i] == '~' && i + 1 < size;
    text_add_byte(&name, !escaped ? step[i] : step[++i] == '1' ? '/' : '~');
  }
  return pool_keep(pool, &name);
}

static Json entry_of(Json list, const char* number) {
  if (strspn(number, "0123456789") != strlen(number) || *number == '\0') return NULL;
  Entry entry = {0};
  for (long left = strtol(number, NULL, 10); left >= 0; --left)
    if (!json_next(list, &entry)) return NULL;
  return entry.value;
}

Json value_at(const char* text, const char* pointer) {
  Pool pool = {0};
  Json at = json_document(text);
  while (at != NULL && *pointer == '/') {
    const size_t size = strcspn(++pointer, "/");
    const char* name = name_of_step(&pool, pointer, size);
    at = *at == '[' ? entry_of(at, name) : json_member(at, name);
    pointer += size;
  }
  pool_free(&pool);
  return *pointer == '\0' ? at : NULL;
}

static int find_member(Pool* pool, Json object, const char* name, Entry* found) {
  memset(found, 0, sizeof *found);
  while (json_next(object, found))
    if (strcmp(json_text(pool, found->name), name) == 0) return 1;
  return 0;
}

static int last_member(Json object, Entry* last) {
  Entry entry = {0};
  int any = 0;
  while (json_next(object, &entry)) {
    *last = entry;
    any = 1;
  }
  return any;
}

/* ---- Where it stands on its line -------------------------------------------------------------- */

/* Columns before a place, where nothing but spaces stands there; else -1. */
static int columns_before(const char* text, const char* place) {
  const char* line = place;
  while (line > text && line[-1] == ' ') --line;
  return line == text || line[-1] == '\n' ? (int)(place - line) : -1;
}

int indent_of(const char* text, Json object) {
  Entry first = {0};
  return json_next(object, &first) ? columns_before(text, first.name) : -1;
}

/* ---- Changing -------------------------------------------------------------------------------- */

static void replace(Text* text, const char* from, const char* to, const char* with) {
  Text changed = {0};
  text_add_bytes(&changed, text->start, (size_t)(from - text->start));
  text_add(&changed, "%s%s", with, to);
  text_free(text);
  *text = changed;
}

/* A new member after a place, in the manner of those that are there. */
static void insert(Text* text, Json object, const char* place, const char* name, const char* value) {
  const int indent = indent_of(text->start, object), is_first = place == object + 1;
  Text member = {0};
  if (!is_first) text_add_byte(&member, ',');
  if (indent >= 0) text_add(&member, "\n%*s", indent, "");
  else if (!is_first) text_add_byte(&member, ' ');
  json_add_string(&member, name, strlen(name));
  text_add(&member, ": %s", value);
  replace(text, place, place, text_of(&member));
  text_free(&member);
}

int set_member(Text* text, const char* pointer, const char* name, const char* value, const char* after) {
  Pool pool = {0};
  Entry entry = {0};
  const Json object = value_at(text_of(text), pointer);
  const int is_object = object != NULL && *object == '{';
  if (is_object && find_member(&pool, object, name, &entry)) {
    replace(text, entry.value, json_end(entry.value), value);
  } else if (is_object) {
    const int any = find_member(&pool, object, after, &entry) || last_member(object, &entry);
    insert(text, object, any ? json_end(entry.value) : object + 1, name, value);
  }
  pool_free(&pool);
  return is_object;
}
