/* Changing a member of an object in a JSON text without touching the rest of it. */
#ifndef BENCH_SPLICE_H
#define BENCH_SPLICE_H

#include "../page/json.h"

/* The value at a JSON pointer of a text; NULL where none stands. */
Json value_at(const char* text, const char* pointer);
/* Columns before an object's members, each on a line of its own; -1 where they share the object's line. */
int indent_of(const char* text, Json object);
/* Gives a member of the object at a pointer another value; a member that is new comes after the one named, or
 * else after the last. 0 where there is no such object. */
int set_member(Text* text, const char* pointer, const char* name, const char* value, const char* after);

#endif
