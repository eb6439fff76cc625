/* The folder of a month: its four files, how the library is asked about them, how errors are told. */
#ifndef MONTH_FOLDER_H
#define MONTH_FOLDER_H

#include <buttonworth.h>

#include "../page/text.h"

typedef struct Folder {
  Pool pool;
  const char *heading, *deliveries, *received, *returns; /* the files */
  Text heading_text;
} Folder;

void folder_open(Folder* folder, const char* path);
void folder_close(Folder* folder);
int has_returns(const Folder* folder);

/* The month's book, its tables taken in pieces as they are read: the exit code, and the answer where it is
 * good. What was wrong was told. */
int take_month(bw_context* context, Folder* folder, bw_answer** book);
/* The buyers' returns against what was due by the same heading and deliveries. */
int ask_returns(bw_context* context, Folder* folder, bw_answer** returns);

/* Tells the errors of the last call, one line each: file, row as a spreadsheet counts them, place, what is
 * wrong. */
void tell_folder_errors(bw_context* context, Folder* folder);

#endif
