/* The lot from a run sheet: what it weighs, how wet it is, what it holds. */
#include <math.h>
#include <string.h>

#include "sheet.h"

static void print_cycles(Sheet* sheet) {
  Page* page = &sheet->page;
  const char *count = ask_text(page, "/cycle/count"), *weighed = ask_text(page, "/cycle/weighed");
  if (*count == '\0') return;
  Text text = {0};
  if (strcmp(count, weighed) == 0) text_add(&text, "%s, all weighed", count);
  else text_add(&text, "%s, of which %s were weighed", count, weighed);
  const Figure mean = with_sd(figure_at(page, "/cycle/mean"), ask_number(page, "/cycle/sd"));
  text_add(&text, ": %s a cycle", figure_text(&page->pool, mean));
  print_row("Cycles", text_of(&text));
  text_free(&text);
}

/* Pails as the request has them: "9 of 20 L, fill 85 % ± 2 %, 2.36 kg/L ± 1.5 %". */
static const char* buckets_text(Sheet* sheet, Json some) {
  const char* fill = stated_at(sheet, some, "fill");
  return pool_text(&sheet->page.pool, "%s of %s%s%s, %s", stated_at(sheet, some, "count"),
                   stated_at(sheet, some, "volume"), *fill != '\0' ? ", filled to " : "", fill,
                   stated_at(sheet, some, "bulk_density"));
}

static void print_buckets(Sheet* sheet) {
  const Json buckets = json_member(sheet->request, "buckets");
  if (buckets == NULL) return;
  if (*buckets == '{') {
    print_row("Buckets", buckets_text(sheet, buckets));
    return;
  }
  Entry entry = {0};
  while (json_next(buckets, &entry)) print_row("Buckets", buckets_text(sheet, entry.value));
}

static const char* moisture_text(Sheet* sheet, size_t i) {
  Pool* pool = &sheet->page.pool;
  const Figure moisture = figure_at(&sheet->page, pool_text(pool, "/moistures/%zu", i));
  if (moisture.sd > 0) return figure_text(pool, moisture);
  return pool_text(pool, "%s" NBSP "%%", with_decimals(pool, moisture.value, 1));
}

static void print_moistures(Sheet* sheet) {
  Text samples = {0};
  const size_t count = ask_count(&sheet->page, "/moistures");
  for (size_t i = 0; i < count; ++i) text_add(&samples, "%s%s", i > 0 ? ", " : "", moisture_text(sheet, i));
  if (count > 0) print_row("Moisture of the samples", text_of(&samples));
  text_free(&samples);
}

static void print_composites(Sheet* sheet) {
  Entry entry = {0};
  Text composites = {0};
  for (int i = 1; json_next(json_member(sheet->request, "composites"), &entry); ++i) {
    const char *what = stated_at(sheet, entry.value, "what"), *mass = stated_at(sheet, entry.value, "mass");
    if (*what == '\0') what = pool_text(&sheet->page.pool, "composite %d", i);
    text_add(&composites, "%s%s", i > 1 ? ", " : "", what);
    if (*mass != '\0') text_add(&composites, " (%s)", mass);
  }
  if (composites.size > 0) print_row("Composites", text_of(&composites));
  text_free(&composites);
}

/* ---- What it holds --------------------------------------------------------------------------- */

/* Base metals weigh kilograms. */
static const char* content_text(Sheet* sheet, const char* step) {
  Pool* pool = &sheet->page.pool;
  const Figure grams = figure_at(&sheet->page, pool_text(pool, "/content%s", step));
  if (!has_figure(grams)) return "";
  return figure_text(pool, fabs(grams.value) < 1000 ? grams : in_unit(grams, 0.001, "kg"));
}

/* An assay that was worked out, base metals in per cent; or, as it was written, in words. */
static const char* assay_text(Sheet* sheet, Json assays, const char* name) {
  const Json stated = json_member(assays, name);
  if (stated != NULL) return stated_text(&sheet->page.pool, stated);
  const char* at = pool_text(&sheet->page.pool, "/lot/assays%s", ask_step(&sheet->page, name));
  const Figure grade = figure_at(&sheet->page, at);
  return figure_text(&sheet->page.pool, is_precious(name) ? grade : in_unit(grade, 1e-4, "%"));
}

static void print_assays(Sheet* sheet) {
  Page* page = &sheet->page;
  const Json assays = json_member(sheet->request, "assays");
  const size_t count = ask_count(page, "/lot/assays");
  if (count == 0) return;
  Table table;
  table_open(&table, &page->pool, 3, 1);
  *table_add(&table) = (TableRow){{"On the dry sand", "assay", "content"}, 0};
  for (size_t i = 0; i < count; ++i) {
    const char* name = ask_name(page, "/lot/assays", i);
    *table_add(&table) = (TableRow){
        {analyte_name(name), assay_text(sheet, assays, name), content_text(sheet, ask_step(page, name))}, 0};
  }
  print_line("");
  table_print(&table);
}

void print_run_sheet(Sheet* sheet) {
  const char *id = ask_text(&sheet->page, "/lot/id"), *date = ask_text(&sheet->page, "/lot/date");
  print_title(sheet, pool_text(&sheet->page.pool, "The lot from a run sheet%s%s%s%s", *id != '\0' ? ": " : "",
                               id, *date != '\0' ? ", " : "", date));
  print_cycles(sheet);
  print_buckets(sheet);
  print_figure(sheet, "Wet mass", "/lot/wet_mass");
  print_moistures(sheet);
  print_figure(sheet, "Moisture", "/lot/moisture");
  print_figure(sheet, "Dry mass", "/dry_mass");
  print_composites(sheet);
  print_assays(sheet);
}
