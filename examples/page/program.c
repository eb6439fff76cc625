#include "program.h"

#include <stdio.h>
#include <string.h>

#include "json.h"

/* The classes of a status are its hundreds, and the programs' exit codes are the same. */
int exit_of(bw_status status) {
  const int hundreds = (int)(status / 100);
  if (hundreds >= exit_usage && hundreds <= exit_no_solution) return hundreds;
  return hundreds == exit_memory ? exit_memory : exit_internal;
}

/* ---- Reading -------------------------------------------------------------------------------- */

static int is_standard_input(const char* file) { return file == NULL || strcmp(file, "-") == 0; }

const char* source_name(const char* file) { return is_standard_input(file) ? "standard input" : file; }

static int read_all(FILE* file, Text* text) {
  char block[16384];
  size_t size;
  while ((size = fread(block, 1, sizeof block, file)) > 0) text_add_bytes(text, block, size);
  return !ferror(file);
}

int read_source(const char* program, const char* file, Text* text) {
  FILE* source = is_standard_input(file) ? stdin : fopen(file, "rb");
  const int read = source != NULL && read_all(source, text);
  if (!read) fprintf(stderr, "%s: %s cannot be read\n", program, source_name(file));
  if (source != NULL && source != stdin) fclose(source);
  return read;
}

/* ---- Telling -------------------------------------------------------------------------------- */

void tell_errors(const bw_context* context, const char* source, int with_places) {
  Pool pool = {0};
  Entry error = {0};
  int told = 0;
  while (json_next(json_document(bw_error_list(context, NULL)), &error)) {
    const char* place = with_places ? json_text(&pool, json_member(error.value, "pointer")) : "";
    const char* text = json_text(&pool, json_member(error.value, "text"));
    print_error(pool_text(&pool, "%s: %s%s%s", source, place, *place != '\0' ? ": " : "", text));
    ++told;
  }
  if (!told) print_error(pool_text(&pool, "%s: %s", source, bw_error_text(context)));
  pool_free(&pool);
}

int when_written(const char* program, int code) {
  if (fflush(stdout) == 0) return code;
  fprintf(stderr, "%s: the output cannot be written\n", program);
  return exit_usage;
}
