/* What was delivered, and what became of its value: a row for each buyer. */
#include <string.h>

#include "book.h"

/* The row of a buyer, or of all of them together. */
static TableRow* row_of(Table* table, const char* name, int is_sum) {
  TableRow* row = table_add(table);
  row->cell[0] = name;
  row->is_sum = is_sum;
  return row;
}

/* ---- Delivered ------------------------------------------------------------------------------- */

/* The first metal that somebody pays for: gold, as a rule. "" where nothing was paid for. */
static const char* main_metal(Page* page) {
  const size_t count = ask_count(page, "/total/metal");
  for (size_t i = 0; i < count; ++i) {
    const char* name = ask_name(page, "/total/metal", i);
    if (ask_number(page, "/total/metal%s/payable", ask_step(page, name)) > 0) return name;
  }
  return "";
}

enum { delivered_columns = 6 };

static void add_delivered(Book* book, Table* table, const char* metal, Buyer of, int is_sum) {
  static const char* const masses[] = {"wet_mass", "dry_mass"};
  Page* page = &book->page;
  TableRow* row = row_of(table, of.name, is_sum);
  row->cell[1] = with_commas(&page->pool, ask_text(page, "%s/deliveries", of.at));
  for (size_t i = 0; i < 2; ++i)
    row->cell[2 + i] = rounded_to(&page->pool, ask_text(page, "%s/%s", of.at, masses[i]), 2);
  const char* payable = ask_text(page, "%s/metal%s/payable", of.at, ask_step(page, metal));
  row->cell[4] = rounded_to(&page->pool, payable, 2);
  row->cell[5] = money_at(book, "%s/proceeds", of.at);
}

static void print_remark(Book* book, const char* metal) {
  Page* page = &book->page;
  const char* refused = ask_text(page, "/total/refused");
  const char* were = strcmp(refused, "1") == 0 ? "was refused and is" : "were refused and are";
  Text text = {0};
  if (*metal != '\0')
    text_add(&text, "%s: the part that is payable. ", with_capital(&page->pool, metal_name(metal)));
  if (strcmp(refused, "0") != 0) text_add(&text, "%s of the lots %s in no other figure.", refused, were);
  if (text.size > 0) print_wrapped("  ", text_of(&text));
  text_free(&text);
}

void print_delivered(Book* book) {
  const char* metal = main_metal(&book->page);
  const char* in_grams = pool_text(&book->page.pool, "%s, g", metal_name(metal));
  Table table;
  table_open(&table, &book->page.pool, delivered_columns, 1);
  *table_add(&table) =
      (TableRow){{"Delivered", "lots", "wet, kg", "dry, kg", in_grams, "proceeds", "", ""}, 0};
  table.may_go[4] = 1;
  for (size_t i = 0; i < book->count; ++i) add_delivered(book, &table, metal, book->buyers[i], 0);
  add_delivered(book, &table, metal, (Buyer){"together", "/total"}, 1);
  print_line("");
  table_print(&table);
  print_remark(book, metal);
}

/* ---- Sums of money by column ----------------------------------------------------------------- */

typedef struct Column {
  const char *heading, *at;
  int may_go; /* where it holds nothing but zeros */
} Column;

static void add_money(Book* book, Table* table, const Column* columns, Buyer of, int is_sum) {
  TableRow* row = row_of(table, of.name, is_sum);
  for (size_t i = 1; i < table->columns; ++i) row->cell[i] = money_at(book, "%s%s", of.at, columns[i - 1].at);
}

static void print_money_table(Book* book, const char* title, const Column* columns, size_t count) {
  Table table;
  table_open(&table, &book->page.pool, count + 1, 1);
  TableRow* head = row_of(&table, title, 0);
  for (size_t i = 0; i < count; ++i) {
    head->cell[i + 1] = columns[i].heading;
    table.may_go[i + 1] = columns[i].may_go;
  }
  for (size_t i = 0; i < book->count; ++i) add_money(book, &table, columns, book->buyers[i], 0);
  add_money(book, &table, columns, (Buyer){"together", "/total"}, 1);
  print_line("");
  table_print(&table);
}

void print_owed(Book* book) {
  static const Column columns[] = {{"before", "/cash/opening", 0},      {"+ due", "/cash/due", 0},
                                   {"+ changed", "/cash/changed", 1},   {"+ priced", "/cash/priced", 1},
                                   {"- received", "/cash/received", 0}, {"= owed", "/cash/closing", 0}};
  print_money_table(book, "Owed", columns, sizeof columns / sizeof *columns);
  print_wrapped(
      "  ", "Due: proceeds less the interest on advances. What stands with a minus is owed to the buyer.");
}

/* ---- Kinds of lines --------------------------------------------------------------------------- */

static void print_lines(Book* book) {
  const size_t count = ask_count(&book->page, "/total/lines");
  Table table;
  table_open(&table, &book->page.pool, 2, 1);
  row_of(&table, "Line by line, all buyers", 0);
  for (size_t i = 0; i < count; ++i) {
    const char* name = ask_name(&book->page, "/total/lines", i);
    TableRow* row = row_of(&table, pool_text(&book->page.pool, "  %s", name), 0);
    row->cell[1] = money_at(book, "/total/lines%s", ask_step(&book->page, name));
  }
  TableRow* sum = row_of(&table, "  due", 1);
  sum->cell[1] = money_at(book, "/total/cash/due");
  print_line("");
  table_print(&table);
}

void print_kinds(Book* book) {
  static const Column columns[] = {{"value", "/kinds/value", 0},
                                   {"refining", "/kinds/refining", 1},
                                   {"charges", "/kinds/charges", 0},
                                   {"penalties", "/kinds/penalties", 1},
                                   {"participation", "/kinds/participation", 1},
                                   {"interest", "/kinds/interest", 1}};
  print_money_table(book, "Due, by kind", columns, sizeof columns / sizeof *columns);
  if (ask_count(&book->page, "/total/account") > 0)
    print_wrapped("  ", "Metal that is credited has no value here; what was priced of it stands under Owed.");
  print_lines(book);
}
