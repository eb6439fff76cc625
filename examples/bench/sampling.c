/* How far a sample can be believed, stage by stage; and an assay by screen. */
#include <math.h>
#include <string.h>

#include "sheet.h"

/* ---- Stages ---------------------------------------------------------------------------------- */

/* The request's stage of that number. */
static Json stage_of(Sheet* sheet, size_t number) {
  Entry entry = {0};
  size_t i = 0;
  while (json_next(json_member(sheet->request, "stages"), &entry))
    if (i++ == number) return entry.value;
  return NULL;
}

static int is_repeated(Sheet* sheet, size_t number) {
  const Json repeated = json_member(stage_of(sheet, number), "repeated");
  return strcmp(json_text(&sheet->page.pool, repeated), "true") == 0;
}

/* Its name, with a star where each determination went through it anew. */
static const char* stage_name(Sheet* sheet, size_t i) {
  const char* what = ask_text(&sheet->page, "/stages/%zu/what", i);
  if (*what == '\0') what = pool_text(&sheet->page.pool, "stage %zu", i + 1);
  return is_repeated(sheet, i) ? pool_text(&sheet->page.pool, "%s" NBSP "*", what) : what;
}

static const char* which_applies(Sheet* sheet, size_t i) {
  static const char* const words[][2] = {
      {"grain count", "count"}, {"fundamental error", "Gy"}, {"stated", "own"}};
  const char* applies = ask_text(&sheet->page, "/stages/%zu/applies", i);
  for (size_t w = 0; w < sizeof words / sizeof *words; ++w)
    if (strcmp(applies, words[w][0]) == 0) return words[w][1];
  return applies;
}

static const char* percent(Sheet* sheet, size_t stage, const char* name) {
  const double error = ask_number(&sheet->page, "/stages/%zu/%s", stage, name);
  return isnan(error)
             ? ""
             : pool_text(&sheet->page.pool, "%s" NBSP "%%", with_figures(&sheet->page.pool, error, 2));
}

static const char* smallest_sample(Sheet* sheet, size_t stage) {
  const double grams = ask_number(&sheet->page, "/stages/%zu/smallest_sample", stage);
  return isnan(grams) ? "" : mass_text(&sheet->page.pool, grams / 1000);
}

static void print_stages(Sheet* sheet) {
  Page* page = &sheet->page;
  Table table;
  table_open(&table, &page->pool, 8, 1);
  for (size_t i = 3; i < 8; ++i) table.may_go[i] = 1;
  const char* target = stated_at(sheet, sheet->request, "target");
  *table_add(&table) = (TableRow){{"Stage", "sample", "grains", "count", "Gy", "taken", "error",
                                   *target != '\0' ? pool_text(&page->pool, "for %s", target) : ""},
                                  0};
  const size_t count = ask_count(page, "/stages");
  for (size_t i = 0; i < count; ++i) {
    const double grains = ask_number(page, "/stages/%zu/grains", i);
    *table_add(&table) =
        (TableRow){{stage_name(sheet, i), stated_at(sheet, stage_of(sheet, i), "sample"),
                    isnan(grains) ? "" : with_figures(&page->pool, grains, 3),
                    percent(sheet, i, "grain_error"), percent(sheet, i, "fundamental_error"),
                    which_applies(sheet, i), percent(sheet, i, "error"), smallest_sample(sheet, i)},
                   0};
  }
  table.may_go[5] = 0; /* words */
  table_print(&table);
}

/* What the columns mean, and what the luck of few grains is. */
static void print_legend(Sheet* sheet) {
  Page* page = &sheet->page;
  const size_t count = ask_count(page, "/stages");
  print_wrapped("  ",
                "Count: by the luck of how many grains of gold are in the sample. Gy: by the fundamental "
                "error of particles of all sizes. Error: the one taken, with the stage's own beside it.");
  if (*stated_at(sheet, sheet->request, "target") != '\0')
    print_wrapped("  ",
                  "The last column is the sample that would do for that error, the stage's own left aside.");
  int repeated = 0;
  for (size_t i = 0; i < count; ++i) {
    repeated |= is_repeated(sheet, i);
    const char* half = percent(sheet, i, "within_half");
    if (strcmp(which_applies(sheet, i), "count") != 0 || *half == '\0') continue;
    print_wrapped("  ", pool_text(&page->pool,
                                  "%s: the grains are within half of what is expected in %s of such samples.",
                                  stage_name(sheet, i), half));
  }
  if (repeated)
    print_wrapped("  ", "* Each determination went through this stage anew, so several share out its error.");
}

/* ---- What was found -------------------------------------------------------------------------- */

static void print_determinations(Sheet* sheet) {
  Page* page = &sheet->page;
  const char* count = ask_text(page, "/determinations/count");
  if (*count == '\0') return;
  const Figure mean = figure_at(page, "/determinations/mean");
  const double sd = ask_number(page, "/determinations/sd");
  const char* each = isnan(sd) ? ""
                               : pool_text(&page->pool, "; each ±" NBSP "%s" NBSP "%s",
                                           with_figures(&page->pool, sd, 2), mean.unit);
  print_row("Determinations",
            pool_text(&page->pool, "%s, mean %s%s", count,
                      figure_text(&page->pool, with_sd(mean, ask_number(page, "/determinations/sd_of_mean"))),
                      each));
}

static void print_duplicates(Sheet* sheet) {
  Page* page = &sheet->page;
  const char* pairs = ask_text(page, "/duplicates/pairs");
  if (*pairs == '\0') return;
  const double error = ask_number(page, "/duplicates/error");
  print_row("Duplicates",
            pool_text(&page->pool, "%s pair%s: one determination is good to %s" NBSP "%%", pairs,
                      strcmp(pairs, "1") == 0 ? "" : "s", with_figures(&page->pool, error, 2)));
}

void print_sampling(Sheet* sheet) {
  print_title(sheet, "How far a sample can be believed");
  print_stages(sheet);
  print_legend(sheet);
  print_line("");
  print_figure(sheet, "Grade expected", "/grade");
  print_determinations(sheet);
  print_duplicates(sheet);
  print_row("Error of the whole",
            pool_text(&sheet->page.pool, "%s" NBSP "%%",
                      with_figures(&sheet->page.pool, ask_number(&sheet->page, "/error"), 2)));
  print_figure(sheet, "Result", "/result");
}

/* ---- By screen ------------------------------------------------------------------------------- */

void print_screen_assay(Sheet* sheet) {
  static const char* const parts[][2] = {{"coarse", "Coarse, on the screen"}, {"fine", "Fine, through it"}};
  print_title(sheet, "Assay by screen");
  Table table;
  table_open(&table, &sheet->page.pool, 4, 1);
  *table_add(&table) = (TableRow){{"Part", "mass", "metal found", "grade"}, 0};
  for (size_t i = 0; i < 2; ++i) {
    const Json part = json_member(sheet->request, parts[i][0]);
    *table_add(&table) = (TableRow){{parts[i][1], stated_at(sheet, part, "mass"),
                                     stated_at(sheet, part, "metal"), stated_at(sheet, part, "grade")},
                                    0};
  }
  table_print(&table);
  print_line("");
  print_figure(sheet, "Grade of the whole", "/grade");
  print_figure(sheet, "Share in the coarse part", "/coarse_share");
}
