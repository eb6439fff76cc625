/* The question about the returns, made of the month's heading and the texts of two tables. */
#include <stdio.h>
#include <string.h>

#include "../page/json.h"
#include "../page/page.h"
#include "../page/program.h"
#include "../page/progress.h"
#include "folder.h"

/* ---- JSON out -------------------------------------------------------------------------------- */

/* Begins a field; all but an object's first follow a comma. */
static void add_name(Text* text, const char* name) {
  const char last = text->start[text->size - 1];
  if (last != '{') text_add_byte(text, ',');
  json_add_string(text, name, strlen(name));
  text_add_byte(text, ':');
}

/* A value as the heading has it. */
static void add_value(Pool* pool, Text* text, Json value) {
  const char* stated = json_text(pool, value); /* of anything but a string, the JSON itself */
  if (json_is_text(value)) json_add_string(text, stated, strlen(stated));
  else text_add_bytes(text, stated, strlen(stated));
}

static void add_field(Pool* pool, Text* text, Json object, const char* name) {
  const Json value = json_member(object, name);
  if (value == NULL) return;
  add_name(text, name);
  add_value(pool, text, value);
}

/* ---- A buyer --------------------------------------------------------------------------------- */

/* What the request for returns has of a buyer; the book's heading says more. */
static void add_buyer(Pool* pool, Text* text, Json buyer) {
  static const char* const fields[] = {"terms", "prices", "quotes", "period", "limits", "credits"};
  text_add_byte(text, '{');
  for (size_t i = 0; i < sizeof fields / sizeof *fields; ++i) add_field(pool, text, buyer, fields[i]);
  text_add_byte(text, '}');
}

/* ---- The request ----------------------------------------------------------------------------- */

static void add_heading(Pool* pool, Text* text, Json heading) {
  text_add(text, "{\"format\":\"buttonworth-returns/1\"");
  add_field(pool, text, heading, "currency");
  add_field(pool, text, heading, "exchange");
  add_name(text, "buyers");
  text_add_byte(text, '{');
  Entry entry = {0};
  while (json_next(json_member(heading, "buyers"), &entry)) {
    add_name(text, json_text(pool, entry.name));
    if (*entry.value == '{') add_buyer(pool, text, entry.value);
    else add_value(pool, text, entry.value); /* a note */
  }
  text_add_byte(text, '}');
}

static int add_table(Text* text, const char* name, const char* file) {
  Text table = {0};
  const int read = read_source("month", file, &table);
  add_name(text, name);
  json_add_string(text, text_of(&table), table.size);
  text_free(&table);
  return read;
}

static void report(void* user, int64_t done, int64_t total) {
  (void)user;
  char line[60];
  snprintf(line, sizeof line, "comparing returns, %d %%", (int)(100 * done / total));
  show_progress(line);
}

static int ask(bw_context* context, Folder* folder, const Text* request, bw_answer** returns) {
  bw_set_progress(context, report, NULL);
  const bw_status status = bw_reconcile(context, text_of(request), request->size, returns);
  end_progress();
  if (status == BW_OK) return exit_good;
  tell_folder_errors(context, folder);
  return exit_of(status);
}

int ask_returns(bw_context* context, Folder* folder, bw_answer** returns) {
  Text request = {0};
  add_heading(&folder->pool, &request, json_document(text_of(&folder->heading_text)));
  int code = exit_usage;
  if (add_table(&request, "deliveries", folder->deliveries) &&
      add_table(&request, "returns", folder->returns)) {
    text_add_byte(&request, '}');
    code = ask(context, folder, &request, returns);
  }
  text_free(&request);
  return code;
}
