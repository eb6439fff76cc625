#include "json.h"

#include <stdlib.h>
#include <string.h>

static Json over_space(Json at) { return at + strspn(at, " \t\r\n"); }

static Json after_text(Json at) {
  for (++at; *at != '"' && *at != '\0'; ++at)
    if (*at == '\\' && at[1] != '\0') ++at;
  return *at == '"' ? at + 1 : at;
}

Json json_end(Json at) {
  if (*at == '"') return after_text(at);
  if (*at != '{' && *at != '[') return at + strcspn(at, ",]} \t\r\n");
  int depth = 0;
  do {
    if (*at == '{' || *at == '[') ++depth;
    if (*at == '}' || *at == ']') --depth;
    at = *at == '"' ? after_text(at) : at + 1;
  } while (depth > 0 && *at != '\0');
  return at;
}

Json json_document(const char* text) { return text != NULL ? strpbrk(text, "{[") : NULL; }

int json_next(Json container, Entry* entry) {
  if (container == NULL || (*container != '{' && *container != '[')) return 0;
  Json at = over_space(entry->value == NULL ? container + 1 : json_end(entry->value));
  if (*at == ',') at = over_space(at + 1);
  if (*at == '}' || *at == ']' || *at == '\0') return 0;
  entry->name = *container == '{' ? at : NULL;
  if (entry->name != NULL) at = over_space(over_space(after_text(at)) + 1); /* over the colon */
  entry->value = at;
  return 1;
}

/* ---- Strings ------------------------------------------------------------------------------- */

static unsigned long four_digits(Json at) {
  char digits[5] = {0};
  strncpy(digits, at, 4);
  return strtoul(digits, NULL, 16);
}

static void add_character(Text* text, unsigned long code) {
  if (code < 0x80) {
    text_add_byte(text, (char)code);
    return;
  }
  const int more = code < 0x800 ? 1 : code < 0x10000 ? 2 : 3; /* bytes after the first */
  const unsigned long lead = more == 1 ? 0xC0 : more == 2 ? 0xE0 : 0xF0;
  text_add_byte(text, (char)(lead | code >> 6 * more));
  for (int i = more - 1; i >= 0; --i) text_add_byte(text, (char)(0x80 | (code >> 6 * i & 0x3F)));
}

/* Adds the character of \uXXXX, or of two that make one; gives its last digit's place. */
static Json add_numbered(Text* text, Json at) {
  unsigned long code = four_digits(at + 1);
  at += 4;
  if (code >= 0xD800 && code < 0xDC00 && at[1] == '\\' && at[2] == 'u') {
    code = 0x10000 + ((code - 0xD800) << 10) + (four_digits(at + 3) - 0xDC00);
    at += 6;
  }
  add_character(text, code);
  return at;
}

static Json add_escaped(Text* text, Json at) {
  static const char marks[] = "bfnrt", meant[] = "\b\f\n\r\t";
  if (*at == 'u') return add_numbered(text, at);
  const char* mark = strchr(marks, *at);
  text_add_byte(text, mark != NULL ? meant[mark - marks] : *at);
  return at;
}

int json_is_text(Json value) { return value != NULL && *value == '"'; }

const char* json_text(Pool* pool, Json value) {
  if (value == NULL) return "";
  if (*value != '"') return pool_text(pool, "%.*s", (int)(json_end(value) - value), value);
  Text text = {0};
  for (Json at = value + 1; *at != '"' && *at != '\0'; ++at) {
    if (*at == '\\') at = add_escaped(&text, at + 1);
    else text_add_byte(&text, *at);
  }
  return pool_keep(pool, &text);
}

Json json_member(Json object, const char* name) {
  Pool pool = {0};
  Json found = NULL;
  Entry entry = {0};
  while (found == NULL && json_next(object, &entry))
    if (entry.name != NULL && strcmp(json_text(&pool, entry.name), name) == 0) found = entry.value;
  pool_free(&pool);
  return found;
}

void json_add_string(Text* text, const char* bytes, size_t size) {
  text_add_byte(text, '"');
  for (size_t i = 0; i < size; ++i) {
    const unsigned char byte = (unsigned char)bytes[i];
    if (byte == '"' || byte == '\\') text_add(text, "\\%c", byte);
    else if (byte < 0x20) text_add(text, "\\u%04x", byte);
    else text_add_byte(text, bytes[i]);
  }
  text_add_byte(text, '"');
}
