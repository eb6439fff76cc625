/* What is open, refused or to be looked at, and what changed since the earlier statement. */
#include <string.h>

#include "sheet.h"

/* "wet mass" for "/delivered/wet_mass": the last step of a pointer, its marks undone. */
static const char* named_by(Sheet* sheet, const char* pointer) {
  const char* last = strrchr(pointer, '/');
  if (last == NULL) return pointer;
  const int mass = strncmp(pointer, "/delivered/", 11) == 0;
  Text name = {0};
  for (const char* at = last + 1; *at != '\0'; ++at) {
    if (*at == '~' && at[1] != '\0') text_add_byte(&name, *++at == '0' ? '~' : '/');
    else text_add_byte(&name, mass && *at == '_' ? ' ' : *at);
  }
  return pool_keep(&sheet->page.pool, &name);
}

static void print_refused(Sheet* sheet) {
  const size_t count = ask_count(&sheet->page, "/refused");
  if (count == 0) return;
  print_line("");
  print_line("Refused by the terms: nothing is owed");
  for (size_t i = 0; i < count; ++i) print_wrapped("  - ", ask_text(&sheet->page, "/refused/%zu", i));
}

/* A list of places and what is to be said of them. */
static void print_places(Sheet* sheet, const char* list, const char* heading) {
  const size_t count = ask_count(&sheet->page, "/%s", list);
  if (count == 0) return;
  print_line("");
  print_line(heading);
  for (size_t i = 0; i < count; ++i)
    print_wrapped("  - ", pool_text(&sheet->page.pool, "%s: %s",
                                    named_by(sheet, ask_text(&sheet->page, "/%s/%zu/at", list, i)),
                                    ask_text(&sheet->page, "/%s/%zu/what", list, i)));
}

void print_open(Sheet* sheet) {
  print_refused(sheet);
  print_places(sheet, "open", "Open");
}

void print_doubts(Sheet* sheet) { print_places(sheet, "cautions", "To be looked at"); }

/* ---- Changes -------------------------------------------------------------------------------- */

static const Triple headings = {{"was", "is", "change"}};

static void print_change(Sheet* sheet, size_t i) {
  Triple figures;
  for (size_t n = 0; n < 3; ++n)
    figures.cell[n] = to_the_cent(sheet, ask_text(&sheet->page, "/changes/%zu/%s", i, headings.cell[n]));
  const char* what = ask_text(&sheet->page, "/changes/%zu/what", i);
  print_triple(sheet, pool_text(&sheet->page.pool, "  %s", what), &headings, &figures);
}

void print_changes(Sheet* sheet) {
  const size_t count = ask_count(&sheet->page, "/changes");
  if (json_member(sheet->delivery, "previous") == NULL || sheet->refused) return;
  print_line("");
  if (count == 0) print_line("No amount changed since the last statement.");
  else print_triple(sheet, "Since the last statement", &headings, &headings);
  for (size_t i = 0; i < count; ++i) print_change(sheet, i);
}
