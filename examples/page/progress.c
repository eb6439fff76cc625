/* C99 does not know terminals; POSIX does. */
#define _POSIX_C_SOURCE 200112L /* NOLINT(bugprone-reserved-identifier): the name is POSIX's */

#include <stdio.h>
#include <unistd.h>

#include "progress.h"

static int somebody_looks(void) { return isatty(STDERR_FILENO); }

/* Columns that wipe out whatever stood on the line. */
enum { line_width = 60 };

void show_progress(const char* what) {
  if (!somebody_looks()) return;
  fprintf(stderr, "\r%-*s", line_width, what);
  fflush(stderr);
}

void end_progress(void) {
  if (somebody_looks()) fprintf(stderr, "\r%*s\r", line_width, "");
}
