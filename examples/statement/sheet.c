/* The sheet as a whole: its head and its foot. */
#include "sheet.h"

#include <string.h>

void sheet_open(Sheet* sheet, bw_context* context, const bw_answer* answer, const char* delivery_text) {
  memset(sheet, 0, sizeof *sheet);
  sheet->page.context = context;
  sheet->page.answer = answer;
  sheet->delivery = json_document(delivery_text);
  sheet->terms = json_member(sheet->delivery, "terms");
  sheet->page.currency = ask_text(&sheet->page, "/currency");
  sheet->refused = ask_count(&sheet->page, "/refused") > 0;
}

void sheet_close(Sheet* sheet) { pool_free(&sheet->page.pool); }

void print_figure_row(Sheet* sheet, const char* label, const char* figure) {
  const size_t room = SHEET_EDGE - 2 - columns(figure);
  Text line = {0};
  if (columns(label) >= room) {
    print_wrapped("  ", label);
    label = "";
  }
  text_add(&line, "  ");
  text_add_column(&line, (int)room, label);
  text_add(&line, "%s", figure);
  print_line(pool_keep(&sheet->page.pool, &line));
}

enum { triple_name = 26, triple_width = 17 };

static int triple_fits(const Triple* figures) {
  for (size_t i = 0; i < 3; ++i)
    if (columns(figures->cell[i]) >= triple_width) return 0;
  return 1;
}

static void print_triple_in_words(Sheet* sheet, const char* name, const Triple* headings,
                                  const Triple* figures) {
  Text text = {0};
  text_add(&text, "%s: ", name + strspn(name, " "));
  for (size_t i = 0; i < 3; ++i)
    text_add(&text, "%s%s %s", i == 0 ? "" : ", ", headings->cell[i], figures->cell[i]);
  print_wrapped("  ", pool_keep(&sheet->page.pool, &text));
}

void print_triple(Sheet* sheet, const char* name, const Triple* headings, const Triple* figures) {
  if (columns(name) >= triple_name || !triple_fits(figures)) {
    print_triple_in_words(sheet, name, headings, figures);
    return;
  }
  Text line = {0};
  text_add_column(&line, triple_name, name);
  for (size_t i = 0; i < 3; ++i) text_add_column(&line, -triple_width, figures->cell[i]);
  print_line(pool_keep(&sheet->page.pool, &line));
}

/* ---- The head ------------------------------------------------------------------------------- */

static void print_heading_row(const char* label, const char* what) {
  Text line = {0};
  text_add(&line, "  ");
  text_add_column(&line, 14, label);
  print_wrapped(text_of(&line), what);
  text_free(&line);
}

static const char* stage_text(Sheet* sheet) {
  const char* stage = ask_text(&sheet->page, "/stage");
  const size_t open = ask_count(&sheet->page, "/open");
  if (sheet->refused) return "the delivery is refused";
  if (open == 0) return stage;
  return pool_text(&sheet->page.pool, "%s: %zu figure%s open", stage, open, open == 1 ? " is" : "s are");
}

static void print_head(Sheet* sheet) {
  print_wrapped("", pool_text(&sheet->page.pool, "Settlement statement, %s", stage_text(sheet)));
  static const char* const rows[][2] = {{"buyer", "buyer"}, {"delivery", "id"}, {"arrived", "arrived"}};
  int any = 0;
  for (size_t i = 0; i < sizeof rows / sizeof *rows; ++i) {
    const char* what = ask_text(&sheet->page, "/%s", rows[i][1]);
    if (*what == '\0') continue;
    if (!any++) print_line("");
    print_heading_row(rows[i][0], what);
  }
}

/* ---- The foot ------------------------------------------------------------------------------- */

static void print_foot(const Sheet* sheet) {
  if (!sheet->cents_hidden && !sheet->digits_hidden) return;
  print_line("");
  if (sheet->cents_hidden)
    print_wrapped("",
                  "Amounts that are not whole cents are rounded to the cent for showing only: a sum may "
                  "be a cent off what its parts as shown add up to.");
  if (sheet->digits_hidden)
    print_wrapped("", "Weights and other figures with more digits are rounded for showing only.");
}

void sheet_print(Sheet* sheet, int how) {
  print_head(sheet);
  print_delivered(sheet);
  print_open(sheet);
  print_prices(sheet);
  print_amounts(sheet, how);
  print_paid_metal(sheet);
  print_changes(sheet);
  print_doubts(sheet);
  print_foot(sheet);
}
