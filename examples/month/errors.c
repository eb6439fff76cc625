/* Where an error is: the library points into its request, the operator has files and rows. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "../page/json.h"
#include "folder.h"

typedef struct Source {
  const char* list; /* the pointer's first step */
  const char* file;
} Source;

static Source source_of(const Folder* folder, const char* pointer) {
  const Source known[] = {
      {"/deliveries", folder->deliveries}, {"/received", folder->received}, {"/returns", folder->returns}};
  for (size_t i = 0; i < sizeof known / sizeof *known; ++i) {
    const size_t size = strlen(known[i].list);
    if (strncmp(pointer, known[i].list, size) == 0 && (pointer[size] == '/' || pointer[size] == '\0'))
      return known[i];
  }
  return (Source){"", folder->heading};
}

/* "moisture" for "delivered/moisture": a table has no objects in it, its columns go by the last names. */
static const char* column_of(Pool* pool, const char* place) {
  static const char* const objects[] = {"delivered/", "assays/"};
  for (size_t i = 0; i < 2; ++i)
    if (strncmp(place, objects[i], strlen(objects[i])) == 0) place += strlen(objects[i]);
  Text text = {0};
  for (; *place != '\0'; ++place) text_add_byte(&text, *place == '/' ? ' ' : *place);
  return pool_keep(pool, &text);
}

/* The library counts rows from 0 without the header, a spreadsheet from 1 with it. */
static const char* in_table(Pool* pool, const char* file, const char* rest) {
  if (!isdigit((unsigned char)rest[0])) return file;
  const char* place = strchr(rest, '/');
  const long row = strtol(rest, NULL, 10) + 2;
  if (place == NULL) return pool_text(pool, "%s: row %ld", file, row);
  return pool_text(pool, "%s: row %ld, %s", file, row, column_of(pool, place + 1));
}

static const char* place_text(Pool* pool, const Folder* folder, const char* pointer) {
  const Source source = source_of(folder, pointer);
  const size_t size = strlen(source.list);
  if (size > 0) return in_table(pool, source.file, pointer[size] == '/' ? pointer + size + 1 : "");
  return *pointer != '\0' ? pool_text(pool, "%s: %s", source.file, pointer) : source.file;
}

/* The library names the row itself, where it knows that a table was read. */
static const char* without_row(const char* text) {
  static const char of_the_table[] = " of the table: ";
  if (strncmp(text, "row ", 4) != 0) return text;
  const char* end = text + 4 + strspn(text + 4, "0123456789");
  return strncmp(end, of_the_table, sizeof of_the_table - 1) == 0 ? end + sizeof of_the_table - 1 : text;
}

void tell_folder_errors(bw_context* context, Folder* folder) {
  Pool* pool = &folder->pool;
  Entry error = {0};
  int told = 0;
  while (json_next(json_document(bw_error_list(context, NULL)), &error)) {
    const char* pointer = json_text(pool, json_member(error.value, "pointer"));
    const char* text = without_row(json_text(pool, json_member(error.value, "text")));
    print_error(pool_text(pool, "%s: %s", place_text(pool, folder, pointer), text));
    ++told;
  }
  if (!told) print_error(pool_text(pool, "%s: %s", folder->heading, bw_error_text(context)));
}
