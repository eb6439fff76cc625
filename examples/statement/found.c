/* What was delivered: what each party found, and how each figure was settled between them. */
#include <string.h>

#include "sheet.h"

/* One row of the table; cells are the numbers alone, "" where a party stated nothing. */
typedef struct Row {
  const char *label, *unit;
  const char *seller, *buyer, *difference, *settled;
  const char* remark;
} Row;

enum { label_width = 16, unit_width = 7, party_width = 11, remark_width = 8 };

static int fits(const char* text, int width) { return (int)columns(text) < width; }

static int row_fits(const Row* row) {
  return fits(row->label, label_width - 2) && fits(row->unit, unit_width) && fits(row->seller, party_width) &&
         fits(row->buyer, party_width) && fits(row->difference, party_width) &&
         fits(row->settled, party_width + 1) && columns(row->remark) <= remark_width;
}

static void add_part(Text* text, const char* name, const char* number, const char* unit) {
  if (*number != '\0') text_add(text, "%s %s" NBSP "%s, ", name, number, unit);
}

/* A row in words, for what no column holds. */
static void print_long_row(Sheet* sheet, const Row* row) {
  Text text = {0};
  text_add(&text, "%s: ", row->label);
  add_part(&text, "seller", row->seller, row->unit);
  add_part(&text, "buyer", row->buyer, row->unit);
  add_part(&text, "difference", row->difference, row->unit);
  text_add(&text, "settled %s" NBSP "%s", row->settled, row->unit);
  if (*row->remark != '\0') text_add(&text, " (%s)", row->remark);
  print_wrapped("  ", pool_keep(&sheet->page.pool, &text));
}

static void print_row(Sheet* sheet, const Row* row) {
  if (!row_fits(row)) {
    print_long_row(sheet, row);
    return;
  }
  Text line = {0};
  text_add(&line, "  ");
  text_add_column(&line, label_width - 2, row->label);
  text_add_column(&line, unit_width, row->unit);
  text_add_column(&line, -party_width, row->seller);
  text_add_column(&line, -party_width, row->buyer);
  text_add_column(&line, -party_width, row->difference);
  text_add_column(&line, -(party_width + 1), row->settled);
  text_add(&line, "  %s", row->remark);
  print_line(pool_keep(&sheet->page.pool, &line));
}

/* ---- Figures -------------------------------------------------------------------------------- */

/* A row's numbers are shown to the same place after the point. */
static void set_places(Sheet* sheet, Row* row) {
  const char* const found[] = {row->seller, row->buyer, row->difference, row->settled};
  const char** cells[] = {&row->seller, &row->buyer, &row->difference, &row->settled};
  const int places = places_shown(sheet, found, 4);
  for (size_t i = 0; i < 4; ++i)
    if (*found[i] != '\0') *cells[i] = rounded(&sheet->page.pool, found[i], places);
}

static const char* cell(Sheet* sheet, const char* at, const char* name) {
  return number_of(sheet, ask_text(&sheet->page, "%s/%s", at, name));
}

static int is_open(Sheet* sheet, const char* at) {
  const size_t count = ask_count(&sheet->page, "/open");
  for (size_t i = 0; i < count; ++i)
    if (strcmp(ask_text(&sheet->page, "/open/%zu/at", i), at) == 0) return 1;
  return 0;
}

/* A figure alone was stated for both. */
static const char* settled_how(Sheet* sheet, const char* at) {
  if (is_open(sheet, at)) return "open";
  const char* how = ask_text(&sheet->page, "%s/how", at);
  return strcmp(how, "single") == 0 ? "stated" : how;
}

/* In words, what an umpire's figure did. */
static const char* umpire_words(Sheet* sheet, const char* how, const char* payer) {
  if (strcmp(how, "middle") == 0) return "the middle one of the three settles";
  if (strcmp(how, "umpire") == 0 || strcmp(payer, "both") == 0) return "the umpire's figure settles";
  return pool_text(&sheet->page.pool, "the mean of the umpire's and the %s's figure settles",
                   strcmp(payer, "seller") == 0 ? "buyer" : "seller");
}

static void print_umpire(Sheet* sheet, const char* at) {
  Page* page = &sheet->page;
  const char* found = ask_text(page, "%s/umpire", at);
  const char* payer = ask_text(page, "%s/umpire_paid_by", at);
  if (*found == '\0') return;
  found = quantity_shown(sheet, found);
  if (*payer == '\0') {
    print_wrapped("    ",
                  pool_text(&page->pool, "umpire %s: not needed, the two are within the limit", found));
    return;
  }
  const char* how = umpire_words(sheet, ask_text(page, "%s/how", at), payer);
  const char* whom = strcmp(payer, "both") == 0 ? "both" : pool_text(&page->pool, "the %s", payer);
  print_wrapped("    ", pool_text(&page->pool, "umpire %s: %s; the umpire is paid by %s", found, how, whom));
}

static void print_figure(Sheet* sheet, const char* at, const char* label) {
  const char* settled = ask_text(&sheet->page, "%s/settled", at);
  if (*settled == '\0') return;
  Row row = {label,
             unit_of(settled),
             cell(sheet, at, "seller"),
             cell(sheet, at, "buyer"),
             cell(sheet, at, "difference"),
             number_of(sheet, settled),
             settled_how(sheet, at)};
  set_places(sheet, &row);
  print_row(sheet, &row);
  print_umpire(sheet, at);
}

/* ---- Masses that follow ---------------------------------------------------------------------- */

/* Grams for kilograms: the point goes three places to the right. */
static const char* in_grams(Sheet* sheet, const char* kilograms) {
  const char* point = strchr(kilograms, '.');
  const int whole = (int)strcspn(kilograms, ".");
  const char* places = pool_text(&sheet->page.pool, "%s000", point != NULL ? point + 1 : "");
  const char* grams = pool_text(&sheet->page.pool, "%.*s%.3s.%s", whole, kilograms, places, places + 3);
  while (*grams == '0' && grams[1] != '.') ++grams;
  return grams;
}

/* A bar weighed in grams is paid in grams. */
static int are_grams(Sheet* sheet) {
  static const char* const weighed[] = {"gross", "wet_mass"};
  for (size_t i = 0; i < 2; ++i)
    if (strcmp(unit_of(ask_text(&sheet->page, "/delivered/%s/settled", weighed[i])), "g") == 0) return 1;
  return 0;
}

static void print_mass(Sheet* sheet, const char* name, const char* label) {
  const char* mass = ask_text(&sheet->page, "/delivered/%s", name);
  if (*mass == '\0') return;
  const int grams = are_grams(sheet);
  const char* kilograms = number_of(sheet, mass);
  Row row = {label, grams ? "g" : "kg", "", "", "", grams ? in_grams(sheet, kilograms) : kilograms, ""};
  set_places(sheet, &row);
  print_row(sheet, &row);
}

static void add_term(Sheet* sheet, Text* text, Json place, const char* name, const char* words) {
  const char* term = term_text(sheet, place, name);
  if (term != NULL) text_add(text, "%s%s %s", text->size > 0 ? ", " : "", words, term);
}

/* What the terms take between what was delivered and what is paid on. */
static void print_deductions(Sheet* sheet) {
  const Json weighing = json_member(json_member(sheet->terms, "rounding"), "mass");
  const int melted = *ask_text(&sheet->page, "/delivered/melted/settled") != '\0';
  Text text = {0};
  add_term(sheet, &text, weighing, "step", "weighed down to steps of");
  add_term(sheet, &text, weighing, "turn", "each once it is passed by");
  if (!melted)
    add_term(sheet, &text, json_member(sheet->terms, "melt_loss"), "mass", "less the melt loss of");
  add_term(sheet, &text, sheet->terms, "sample_kept", "less the sample of");
  add_term(sheet, &text, sheet->terms, "mass_deduction", "less a deduction of");
  if (text.size > 0) print_wrapped("    ", text_of(&text));
  text_free(&text);
}

/* ---- The table ------------------------------------------------------------------------------ */

/* What the terms take to be there without an assay, or against it. */
static void print_deemed(Sheet* sheet) {
  Pool* pool = &sheet->page.pool;
  const Json deemed = json_member(sheet->terms, "deemed");
  Entry entry = {0};
  while (json_next(deemed, &entry)) {
    const char* name = json_text(pool, entry.name);
    const char* grade = term_text(sheet, deemed, name);
    if (grade == NULL || strcmp(name, "note") == 0) continue;
    print_wrapped("  ",
                  pool_text(pool, "%s counts as %s, whatever was assayed: the terms say so.", name, grade));
  }
}

static void print_assays(Sheet* sheet) {
  const size_t count = ask_count(&sheet->page, "/assays");
  for (size_t i = 0; i < count; ++i) {
    const char* name = ask_name(&sheet->page, "/assays", i);
    print_figure(sheet, pool_text(&sheet->page.pool, "/assays%s", ask_step(&sheet->page, name)), name);
  }
}

static void print_table_head(Sheet* sheet) {
  Text line = {0};
  text_add_column(&line, label_width + unit_width, "Delivered");
  text_add_column(&line, -party_width, "seller");
  text_add_column(&line, -party_width, "buyer");
  text_add_column(&line, -party_width, "difference");
  text_add_column(&line, -(party_width + 1), "settled");
  print_line(pool_keep(&sheet->page.pool, &line));
}

void print_delivered(Sheet* sheet) {
  print_line("");
  print_table_head(sheet);
  print_figure(sheet, "/delivered/wet_mass", "wet mass");
  print_figure(sheet, "/delivered/moisture", "moisture");
  print_figure(sheet, "/delivered/gross", "gross");
  print_figure(sheet, "/delivered/melted", "melted");
  print_mass(sheet, "dry_mass", "dry mass");
  print_mass(sheet, "settled_mass", "mass paid on");
  print_deductions(sheet);
  print_assays(sheet);
  print_deemed(sheet);
}
