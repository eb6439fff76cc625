/* What the programs over the library share: exit codes, where a document comes from, how errors are told. */
#ifndef PAGE_PROGRAM_H
#define PAGE_PROGRAM_H

#include <buttonworth.h>

#include "text.h"

/* What scripts can go by. */
enum {
  exit_good = 0,
  exit_usage = 1,
  exit_document = 2,
  exit_domain = 3,
  exit_no_solution = 4,
  exit_refused = 5, /* by every buyer that was asked */
  exit_memory = 7,
  exit_internal = 8
};

/* The exit code for a failed call. */
int exit_of(bw_status status);

/* Reads a whole file, or standard input where the file is NULL or "-"; 0 where it cannot be read, which
 * was told. */
int read_source(const char* program, const char* file, Text* text);
/* A source's name for messages. */
const char* source_name(const char* file);

/* Tells what was wrong in the last call: one line for each independent error, "plan.json: /lot/wet_mass:
 * …". Places in what a program wrote itself would help nobody. */
void tell_errors(const bw_context* context, const char* source, int with_places);

/* The code, once all that was printed is written; exit_usage where it cannot be, which was told. */
int when_written(const char* program, int code);

#endif
