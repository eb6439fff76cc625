#include "table.h"

#include <string.h>

#include "number.h"

enum { gap = 2, beneath = 2 };

void table_open(Table* table, Pool* pool, size_t columns, size_t names) {
  memset(table, 0, sizeof *table);
  table->pool = pool;
  table->columns = columns;
  table->names = names;
}

TableRow* table_add(Table* table) {
  if (table->count == table->room) {
    table->room = table->room != 0 ? 2 * table->room : 16;
    TableRow* more = pool_block(table->pool, table->room * sizeof *more);
    if (table->count > 0) memcpy(more, table->rows, table->count * sizeof *more);
    table->rows = more;
  }
  TableRow* row = &table->rows[table->count++];
  for (size_t i = 0; i < most_columns; ++i) row->cell[i] = "";
  row->is_sum = 0;
  return row;
}

/* ---- Which columns, how wide ----------------------------------------------------------------- */

static int holds_figures(const Table* table, size_t column) {
  for (size_t i = 1; i < table->count; ++i)
    if (!is_nothing(table->rows[i].cell[column])) return 1;
  return 0;
}

static void leave_out(Table* table, size_t column) {
  for (size_t i = 0; i < table->count; ++i) {
    const char** cell = table->rows[i].cell + column;
    memmove(cell, cell + 1, (most_columns - column - 1) * sizeof *cell);
  }
  memmove(table->may_go + column, table->may_go + column + 1,
          (most_columns - column - 1) * sizeof *table->may_go);
  --table->columns;
}

static int width_of(const Table* table, size_t column) {
  size_t widest = 0;
  for (size_t i = 0; i < table->count; ++i) {
    const size_t wide = columns(table->rows[i].cell[column]);
    if (wide > widest) widest = wide;
  }
  return (int)widest;
}

/* The widths of all columns; gives what they come to. */
static int measure(const Table* table, int* width) {
  int sum = 0;
  for (size_t i = 0; i < table->columns; ++i) {
    width[i] = width_of(table, i);
    sum += width[i] + (i > 0 ? gap : 0);
  }
  return sum;
}

/* ---- Printing -------------------------------------------------------------------------------- */

static void print_row(const Table* table, const TableRow* row, const int* width) {
  Text line = {0};
  for (size_t i = 0; i < table->columns; ++i) {
    if (i > 0) text_add(&line, "%*s", gap, "");
    text_add_column(&line, i < table->names ? width[i] : -width[i], row->cell[i]);
  }
  print_line(pool_keep(table->pool, &line));
}

static void print_rule(const Table* table, const int* width) {
  Text line = {0};
  for (size_t i = 0; i < table->columns; ++i) {
    if (i > 0) text_add(&line, "%*s", gap, "");
    for (int n = 0; n < width[i]; ++n) text_add_byte(&line, i < table->names ? ' ' : '-');
  }
  print_line(pool_keep(table->pool, &line));
}

/* The name on a line of its own, its figures beneath. */
static void print_under_names(const Table* table, int* width) {
  width[0] = beneath;
  for (size_t i = 0; i < table->count; ++i) {
    TableRow row = table->rows[i];
    if (row.is_sum) print_rule(table, width);
    print_wrapped("", row.cell[0]);
    row.cell[0] = "";
    print_row(table, &row, width);
  }
}

/* "harbour smelter: lots 14, dry, kg 3,021.10". */
static void print_in_words(const Table* table, const TableRow* row) {
  Text text = {0};
  for (size_t i = 0; i < table->columns; ++i) {
    const char *name = table->rows[0].cell[i], *cell = row->cell[i];
    if (*cell == '\0') continue;
    if (text.size > 0) text_add(&text, i == 1 ? ": " : ", ");
    if (i > 0 && *name != '\0') text_add(&text, "%s" NBSP, name);
    text_add(&text, "%s", cell);
  }
  print_wrapped("  ", pool_keep(table->pool, &text));
}

static void print_all_in_words(const Table* table) {
  if (*table->rows[0].cell[0] != '\0') print_wrapped("", table->rows[0].cell[0]);
  for (size_t i = 1; i < table->count; ++i) print_in_words(table, &table->rows[i]);
}

static int is_empty(const Table* table, const TableRow* row) {
  for (size_t i = 0; i < table->columns; ++i)
    if (*row->cell[i] != '\0') return 0;
  return 1;
}

static void print_side_by_side(const Table* table, const int* width) {
  for (size_t i = is_empty(table, &table->rows[0]) ? 1 : 0; i < table->count; ++i) {
    if (table->rows[i].is_sum) print_rule(table, width);
    print_row(table, &table->rows[i], width);
  }
}

void table_print(Table* table) {
  int width[most_columns];
  for (size_t i = table->columns; i-- > table->names;)
    if (table->may_go[i] && !holds_figures(table, i)) leave_out(table, i);
  const int wide = measure(table, width);
  if (wide <= PAGE_WIDTH) print_side_by_side(table, width);
  else if (table->names == 1 && wide - width[0] + beneath <= PAGE_WIDTH) print_under_names(table, width);
  else print_all_in_words(table);
}
