/* Reading single values out of a JSON text that the library has already read without complaint, or
 * written itself: nothing is checked again here. Answers need none of this, they are asked by
 * pointer; a plan and a list of errors are text. And writing strings into one. */
#ifndef PAGE_JSON_H
#define PAGE_JSON_H

#include "text.h"

/* The first character of a value; NULL where nothing stands. */
typedef const char* Json;

/* An entry of an object or a list. Begin with zeros; json_next gives 0 after the last. */
typedef struct Entry {
  Json name; /* NULL in a list */
  Json value;
} Entry;

/* The value a whole text is: its object or list. */
Json json_document(const char* text);
int json_next(Json container, Entry* entry);
/* The value of a name in an object. */
Json json_member(Json object, const char* name);
/* A string's text, or any other value as it stands; "" where nothing stands. */
const char* json_text(Pool* pool, Json value);
int json_is_text(Json value);
/* The first character after a value. */
Json json_end(Json value);

/* Adds bytes as a JSON string, with its quotes. */
void json_add_string(Text* text, const char* bytes, size_t size);

#endif
