/* What the sheets have in common, and which answer has which. */
#include "sheet.h"

#include <stdarg.h>
#include <string.h>

typedef struct Kind {
  const char* format; /* of the answer */
  void (*print)(Sheet* sheet);
} Kind;

static const Kind kinds[] = {
    {"buttonworth-sampling-error/1", print_sampling}, {"buttonworth-screened-grade/1", print_screen_assay},
    {"buttonworth-lot/1", print_run_sheet},           {"buttonworth-balanced/1", print_balance},
    {"buttonworth-fitted-curve/1", print_table_test}, {"buttonworth-flux/1", print_flux},
    {"buttonworth-bar-check/1", print_bar},           {"buttonworth-waiting/1", print_lot_size},
};

/* ---- Parts of a sheet ------------------------------------------------------------------------ */

static void print_rule(char sign) {
  Text line = {0};
  for (size_t i = 0; i < PAGE_WIDTH; ++i) text_add_byte(&line, sign);
  print_line(text_of(&line));
  text_free(&line);
}

void print_title(Sheet* sheet, const char* title) {
  const size_t wide = columns(title), name = columns(sheet->name);
  if (wide + 2 + name <= PAGE_WIDTH)
    print_line(
        pool_text(&sheet->page.pool, "%s%*s%s", title, (int)(PAGE_WIDTH - wide - name), "", sheet->name));
  else print_wrapped("", pool_text(&sheet->page.pool, "%s (%s)", title, sheet->name));
  print_rule('=');
  const char* note = json_text(&sheet->page.pool, json_member(sheet->request, "note"));
  if (*note != '\0') print_wrapped("", note);
  if (sheet->hurts) print_wrapped("", "READ WHAT STANDS AT THE END OF THIS SHEET BEFORE ANYTHING IS HEATED.");
  print_line("");
}

enum { label_width = 26 };

void print_row(const char* label, const char* text) {
  Text first = {0};
  text_add_column(&first, label_width, label);
  if (columns(label) >= label_width) text_add_byte(&first, ' ');
  print_wrapped(text_of(&first), text);
  text_free(&first);
}

static Figure asked(Sheet* sheet, const char* pointer, va_list values) {
  return figure_at(&sheet->page, pool_format(&sheet->page.pool, pointer, values));
}

const char* shown(Sheet* sheet, const char* pointer, ...) {
  va_list values;
  va_start(values, pointer);
  const Figure figure = asked(sheet, pointer, values);
  va_end(values);
  return figure_text(&sheet->page.pool, figure);
}

const char* number_shown(Sheet* sheet, const char* pointer, ...) {
  va_list values;
  va_start(values, pointer);
  const Figure figure = asked(sheet, pointer, values);
  va_end(values);
  return figure_number(&sheet->page.pool, figure);
}

void print_figure(Sheet* sheet, const char* label, const char* pointer, ...) {
  va_list values;
  va_start(values, pointer);
  const Figure figure = asked(sheet, pointer, values);
  va_end(values);
  if (has_figure(figure)) print_row(label, figure_text(&sheet->page.pool, figure));
}

const char* stated_at(Sheet* sheet, Json object, const char* name) {
  return stated_text(&sheet->page.pool, json_member(object, name));
}

const char* analyte_at(Sheet* sheet, const char* pointer, size_t index) {
  return analyte_name(ask_name(&sheet->page, pointer, index));
}

/* ---- All sheets ------------------------------------------------------------------------------ */

static int has_hazard(Page* page) {
  const size_t count = ask_count(page, "/cautions");
  for (size_t i = 0; i < count; ++i)
    if (is_hazard(ask_text(page, "/cautions/%zu/what", i))) return 1;
  return 0;
}

static void print_sheet(bw_context* context, const Request* request) {
  Sheet sheet = {asking(context, request->answer), json_document(text_of(&request->text)), request->name, 0};
  sheet.hurts = has_hazard(&sheet.page);
  const char* format = ask_text(&sheet.page, "/format");
  for (size_t i = 0; i < sizeof kinds / sizeof *kinds; ++i)
    if (strcmp(format, kinds[i].format) == 0) kinds[i].print(&sheet);
  print_bench_cautions(&sheet);
  pool_free(&sheet.page.pool);
}

void sheets_print(bw_context* context, const Requests* requests) {
  for (size_t i = 0; i < requests->count; ++i) {
    if (i > 0) print_line("\n");
    print_sheet(context, &requests->list[i]);
  }
  print_line("");
  print_rule('-');
  print_wrapped("",
                "After ± stands one standard deviation. Figures are rounded for reading: to its second digit "
                "where there is one, else to four digits. --json has them in full.");
}

int is_refusal(bw_context* context, const Request* request) {
  Page page = asking(context, request->answer);
  const int waits = strcmp(ask_text(&page, "/format"), "buttonworth-waiting/1") == 0;
  const int none = strcmp(ask_text(&page, "/route"), "null") == 0;
  pool_free(&page.pool);
  return waits && none;
}
