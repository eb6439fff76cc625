/* The lines of the statement and what they come to. */
#include <string.h>

#include "sheet.h"

/* The line of the advance's interest is the last one, where the terms want interest. */
static int has_interest(const Sheet* sheet) {
  return json_member(json_member(sheet->terms, "advance"), "interest") != NULL;
}

static void print_how(Sheet* sheet, size_t i) {
  const char* how = ask_text(&sheet->page, "/lines/%zu/how", i);
  if (*how != '\0') print_wrapped("      ", whole_figures(&sheet->page, how));
}

static void print_amount(Sheet* sheet, size_t i, const char* label, int how) {
  print_figure_row(sheet, label, to_the_cent(sheet, ask_text(&sheet->page, "/lines/%zu/amount", i)));
  if (how) print_how(sheet, i);
}

static void print_rule(Sheet* sheet) { print_figure_row(sheet, "", "--------------"); }

static const char* due_text(Sheet* sheet, const char* what, const char* day) {
  const char* due = ask_text(&sheet->page, "/%s", day);
  const int known = *due != '\0' && strcmp(due, "null") != 0;
  return known ? pool_text(&sheet->page.pool, "%s, due %s", what, due) : what;
}

/* A sum with its sign turned: what is taken off. */
static const char* taken_off(Sheet* sheet, const char* amount) {
  const char* shown = to_the_cent(sheet, amount);
  if (strpbrk(shown, "123456789") == NULL) return shown;
  return *shown == '-' ? shown + 1 : pool_text(&sheet->page.pool, "-%s", shown);
}

static void print_advance(Sheet* sheet) {
  const int paid = json_member(sheet->delivery, "previous") != NULL;
  const int agreed = json_member(sheet->terms, "advance") != NULL;
  if (!paid && !agreed) return;
  const char* label =
      paid ? "less the advance already paid" : due_text(sheet, "less the advance", "advance_due");
  print_figure_row(sheet, label, taken_off(sheet, ask_text(&sheet->page, "/advance")));
}

static void print_balance(Sheet* sheet) {
  const char* balance = ask_text(&sheet->page, "/balance");
  const char* label = *balance == '-' ? "Balance, which the seller owes the buyer" : "Balance";
  print_figure_row(sheet, due_text(sheet, label, "balance_due"), to_the_cent(sheet, balance));
}

void print_amounts(Sheet* sheet, int how) {
  if (sheet->refused) return;
  const size_t lines = ask_count(&sheet->page, "/lines");
  const size_t above = lines - (size_t)has_interest(sheet); /* interest is no part of the proceeds */
  print_line("");
  print_line(pool_text(&sheet->page.pool, "What it comes to, %s", sheet->page.currency));
  for (size_t i = 0; i < above; ++i)
    print_amount(sheet, i, ask_text(&sheet->page, "/lines/%zu/what", i), how);
  print_rule(sheet);
  print_figure_row(sheet, "Proceeds", to_the_cent(sheet, ask_text(&sheet->page, "/proceeds")));
  print_advance(sheet);
  if (above < lines) print_amount(sheet, above, "less the interest on it", how);
  print_rule(sheet);
  print_balance(sheet);
}
