#include "plan.h"

#include <stdio.h>
#include <string.h>

#include "../page/page.h"
#include "../page/program.h"
#include "rounding.h"
#include "splice.h"

/* What takes the answers. */
typedef struct Draft {
  Pool pool;
  Text text;
} Draft;

/* ---- Values ---------------------------------------------------------------------------------- */

/* The members of an object that begin on lines of their own, one level in from where the object begins. */
static void begin_line(Text* text, int indent, int first) {
  if (!first) text_add_byte(text, ',');
  if (indent >= 0) text_add(text, "\n%*s", indent + 2, "");
  else if (!first) text_add_byte(text, ' ');
}

static void end_lines(Text* text, int indent, char bracket) {
  if (indent >= 0) text_add(text, "\n%*s", indent, "");
  text_add_byte(text, bracket);
}

static const char* assays_value(Draft* draft, Json assays, int indent) {
  Text text = {0};
  Entry entry = {0};
  text_add_byte(&text, '{');
  for (int i = 0; json_next(assays, &entry); ++i) {
    const char* analyte = json_text(&draft->pool, entry.name);
    begin_line(&text, indent, i == 0);
    json_add_string(&text, analyte, strlen(analyte));
    text_add(&text, ": ");
    add_assay(&draft->pool, &text, analyte, entry.value);
  }
  end_lines(&text, indent, '}');
  return pool_keep(&draft->pool, &text);
}

static const char* list_value(Draft* draft, Json list, int indent) {
  Text text = {0};
  Entry entry = {0};
  text_add_byte(&text, '[');
  for (int i = 0; json_next(list, &entry); ++i) {
    begin_line(&text, indent, i == 0);
    add_value(&draft->pool, &text, entry.value);
  }
  end_lines(&text, indent, ']');
  return pool_keep(&draft->pool, &text);
}

static const char* plain_value(Draft* draft, Json value) {
  Text text = {0};
  add_value(&draft->pool, &text, value);
  return pool_keep(&draft->pool, &text);
}

/* ---- What goes where ------------------------------------------------------------------------- */

static int indent_at(const Draft* draft, const char* place) {
  const char* text = text_of(&draft->text);
  const Json object = value_at(text, place);
  return object != NULL ? indent_of(text, object) : -1;
}

/* Names and dates are texts and not quantities. */
static const char* lot_value(Draft* draft, const char* place, const char* name, Json value) {
  Text text = {0};
  if (strcmp(name, "assays") == 0) return assays_value(draft, value, indent_at(draft, place));
  if (strcmp(name, "wet_mass") == 0 || strcmp(name, "moisture") == 0) return plain_value(draft, value);
  text_add_bytes(&text, value, (size_t)(json_end(value) - value));
  return pool_keep(&draft->pool, &text);
}

static int put_lot(Draft* draft, const char* place, Json answer) {
  Entry entry = {0};
  const char* before = "";
  while (json_next(json_member(answer, "lot"), &entry)) {
    const char* name = json_text(&draft->pool, entry.name);
    if (!set_member(&draft->text, place, name, lot_value(draft, place, name, entry.value), before)) return 0;
    before = name;
  }
  return 1;
}

static int is_cut_at_best(Draft* draft, const char* place) {
  const Json cut = value_at(text_of(&draft->text), pool_text(&draft->pool, "%s/cut", place));
  return cut != NULL && strcmp(json_text(&draft->pool, cut), "best") == 0;
}

/* The mineral's own grade, beside the limits that are there. */
static int put_limit(Draft* draft, const char* place, Json limit) {
  const char* there = pool_text(&draft->pool, "%s/limit", place);
  Entry entry = {0};
  if (limit == NULL) return 1;
  if (value_at(text_of(&draft->text), there) == NULL)
    return set_member(&draft->text, place, "limit", plain_value(draft, limit), "curve");
  while (json_next(limit, &entry))
    if (!set_member(&draft->text, there, json_text(&draft->pool, entry.name), plain_value(draft, entry.value),
                    ""))
      return 0;
  return 1;
}

static int put_curve(Draft* draft, const char* place, Json answer) {
  const char* of = json_text(&draft->pool, json_member(answer, "of"));
  const char* curves = pool_text(&draft->pool, "%s/curve", place);
  if (!set_member(&draft->text, curves, of, plain_value(draft, json_member(answer, "curve")), "")) return 0;
  if (!put_limit(draft, place, json_member(answer, "limit"))) return 0;
  if (!is_cut_at_best(draft, place)) return 1;
  return set_member(&draft->text, place, "search", plain_value(draft, json_member(answer, "search")), "cut");
}

static int put_flux(Draft* draft, const char* place, Json answer) {
  const char* flux = list_value(draft, json_member(answer, "flux"), indent_at(draft, place));
  return set_member(&draft->text, place, "flux", flux, "to_fume");
}

/* What an answer gives a plan, and what takes it. */
typedef struct Giving {
  const char *format, *taker;
  int (*put)(Draft* draft, const char* place, Json answer);
} Giving;

static const Giving givings[] = {{"buttonworth-lot/1", "lot", put_lot},
                                 {"buttonworth-fitted-curve/1", "table step with its curve", put_curve},
                                 {"buttonworth-flux/1", "melt step", put_flux}};

/* ---- The rows -------------------------------------------------------------------------------- */

static const char rows_name[] = "into-plan.csv";

/* Where a row stands, to tell what is wrong with it. */
typedef struct Row {
  const char* file;
  int number; /* as a spreadsheet counts, the header being 1 */
} Row;

static int refuse(Draft* draft, Row row, const char* wrong) {
  print_error(pool_text(&draft->pool, "%s: row %d: %s", row.file, row.number, wrong));
  return exit_document;
}

static int put_answer(Draft* draft, Row row, const Request* request, const char* place) {
  const Json answer = json_document(bw_answer_text(request->answer, NULL));
  const char* format = json_text(&draft->pool, json_member(answer, "format"));
  for (size_t i = 0; i < sizeof givings / sizeof *givings; ++i) {
    if (strcmp(format, givings[i].format) != 0) continue;
    if (givings[i].put(draft, place, answer)) return exit_good;
    return refuse(draft, row, pool_text(&draft->pool, "the plan has no %s at %s", givings[i].taker, place));
  }
  return refuse(draft, row,
                pool_text(&draft->pool,
                          "what %s answers has no place in a plan: a run sheet, a table test or a charge has",
                          request->name));
}

static int put_row(bw_context* context, Draft* draft, const Requests* requests, Row row, const char* line) {
  const char* comma = strchr(line, ',');
  if (comma == NULL) return refuse(draft, row, "a row is a request's file, a comma, and a place in the plan");
  const char* name = pool_text(&draft->pool, "%.*s", (int)(comma - line), line);
  Request* request = request_named(requests, name);
  if (request == NULL)
    return refuse(draft, row, pool_text(&draft->pool, "the folder holds no request \"%s\"", name));
  const int code = request_ask(context, request);
  return code == exit_good ? put_answer(draft, row, request, comma + 1) : code;
}

/* A line without its end; NULL after the last. */
static const char* next_line(Pool* pool, const char** at) {
  if (**at == '\0') return NULL;
  const size_t size = strcspn(*at, "\n");
  const size_t end = size > 0 && (*at)[size - 1] == '\r' ? size - 1 : size;
  const char* line = pool_text(pool, "%.*s", (int)end, *at);
  *at += size + ((*at)[size] == '\n');
  return line;
}

/* The first line is the header. */
static int put_rows(bw_context* context, Draft* draft, const Requests* requests, const char* file,
                    const char* rows) {
  const char* line = next_line(&draft->pool, &rows);
  int code = exit_good;
  for (Row row = {file, 2}; code == exit_good && line != NULL; ++row.number) {
    line = next_line(&draft->pool, &rows);
    if (line != NULL && *line != '\0') code = put_row(context, draft, requests, row, line);
  }
  return code;
}

/* ---- The plan -------------------------------------------------------------------------------- */

/* Only a plan that the library reads is one. */
static int check(bw_context* context, const Text* text, const char* name) {
  bw_plan* plan = NULL;
  const bw_status status = bw_plan_read(context, text_of(text), text->size, &plan);
  bw_plan_destroy(&plan);
  if (status == BW_OK) return exit_good;
  tell_errors(context, name, 1);
  return exit_of(status);
}

static int put_all(bw_context* context, Draft* draft, const char* plan_file, const char* rows_file,
                   const Requests* requests) {
  Text rows = {0};
  int code = check(context, &draft->text, plan_file);
  if (code == exit_good && !read_source("bench", rows_file, &rows)) code = exit_usage;
  if (code == exit_good) code = put_rows(context, draft, requests, rows_file, text_of(&rows));
  if (code == exit_good)
    code = check(context, &draft->text, pool_text(&draft->pool, "%s with the answers in it", plan_file));
  text_free(&rows);
  return code;
}

int print_plan_with(bw_context* context, const char* plan_file, const char* folder,
                    const Requests* requests) {
  Draft draft = {{0}, {0}};
  int code = exit_usage;
  if (read_source("bench", plan_file, &draft.text))
    code = put_all(context, &draft, plan_file, path_in(&draft.pool, folder, rows_name), requests);
  if (code == exit_good) {
    fputs(text_of(&draft.text), stdout);
    code = when_written("bench", code);
  }
  text_free(&draft.text);
  pool_free(&draft.pool);
  return code;
}
