/* A month in pieces: the heading opens it, the tables are handed over as they are read, then it is closed.
 * No table is ever in memory as a whole. */
#include <stdio.h>

#include "../page/program.h"
#include "../page/progress.h"
#include "folder.h"

enum { piece_size = 65536 };

static int cannot_read(const char* file) {
  end_progress();
  fprintf(stderr, "month: %s cannot be read\n", file);
  return exit_usage;
}

static int told(bw_context* context, Folder* folder, bw_status status) {
  end_progress();
  if (status == BW_OK) return exit_good;
  tell_folder_errors(context, folder);
  return exit_of(status);
}

/* Hands over a file, as far as it is in order. */
static bw_status take_pieces(bw_context* context, bw_month* month, const char* table, FILE* file) {
  char piece[piece_size];
  size_t size;
  bw_status status = BW_OK;
  while (status == BW_OK && (size = fread(piece, 1, sizeof piece, file)) > 0)
    status = bw_month_take(context, month, table, piece, size);
  return status;
}

static int take_table(bw_context* context, Folder* folder, bw_month* month, const char* table,
                      const char* name) {
  show_progress(pool_text(&folder->pool, "reading %s", name));
  FILE* file = fopen(name, "rb");
  if (file == NULL) return cannot_read(name);
  const bw_status status = take_pieces(context, month, table, file);
  const int broken = ferror(file);
  fclose(file);
  return broken ? cannot_read(name) : told(context, folder, status);
}

static int take_tables(bw_context* context, Folder* folder, bw_month* month, bw_answer** book) {
  int code = take_table(context, folder, month, "deliveries", folder->deliveries);
  if (code == exit_good) code = take_table(context, folder, month, "received", folder->received);
  return code == exit_good ? told(context, folder, bw_month_close(context, month, book)) : code;
}

int take_month(bw_context* context, Folder* folder, bw_answer** book) {
  if (!read_source("month", folder->heading, &folder->heading_text)) return exit_usage;
  bw_month* month = NULL;
  const bw_status status =
      bw_month_open(context, text_of(&folder->heading_text), folder->heading_text.size, &month);
  const int code = told(context, folder, status);
  const int end = code == exit_good ? take_tables(context, folder, month, book) : code;
  bw_month_destroy(&month);
  return end;
}
