/* Metal accounts and metal on hand, in troy ounces. */
#include "book.h"

enum { ounce_places = 3 };

typedef struct Movement {
  const char *heading, *name;
} Movement;

static void head_row(Table* table, const char* title, const Movement* movements) {
  TableRow* head = table_add(table);
  head->cell[0] = title;
  for (size_t i = 1; i < table->columns; ++i) head->cell[i] = movements[i - 1].heading;
}

static void add_movements(Page* page, Table* table, const char* label, const char* at,
                          const Movement* movements) {
  TableRow* row = table_add(table);
  row->cell[0] = label;
  for (size_t i = 1; i < table->columns; ++i)
    row->cell[i] = rounded_to(&page->pool, ask_text(page, "%s/%s", at, movements[i - 1].name), ounce_places);
}

/* ---- Accounts -------------------------------------------------------------------------------- */

static void add_accounts(Page* page, Table* table, Buyer buyer, const Movement* movements) {
  const size_t count = ask_count(page, "%s/account", buyer.at);
  for (size_t i = 0; i < count; ++i) {
    const char* metal = ask_name(page, pool_text(&page->pool, "%s/account", buyer.at), i);
    const char* at = pool_text(&page->pool, "%s/account%s", buyer.at, ask_step(page, metal));
    const char* label = pool_text(&page->pool, "%s, %s", buyer.name, metal_name(metal));
    add_movements(page, table, label, at, movements);
  }
}

static void print_accounts(Book* book) {
  static const Movement movements[] = {{"before", "opening"},
                                       {"+ credited", "credited"},
                                       {"- priced", "priced"},
                                       {"- withdrawn", "withdrawn"},
                                       {"= left", "closing"}};
  Table table;
  table_open(&table, &book->page.pool, 6, 1);
  head_row(&table, "Metal accounts, ozt", movements);
  for (size_t i = 0; i < book->count; ++i) add_accounts(&book->page, &table, book->buyers[i], movements);
  if (table.count == 1) return;
  print_line("");
  table_print(&table);
}

/* ---- On hand --------------------------------------------------------------------------------- */

static void print_on_hand(Book* book) {
  static const Movement movements[] = {{"before", "opening"},        {"+ produced", "produced"},
                                       {"- delivered", "delivered"}, {"= expected", "closing"},
                                       {"counted", "counted"},       {"difference", "difference"}};
  Page* page = &book->page;
  const size_t count = ask_count(page, "/on_hand");
  Table table;
  table_open(&table, &page->pool, 7, 1);
  table.may_go[5] = table.may_go[6] = 1; /* nobody counted */
  head_row(&table, "On hand, ozt", movements);
  for (size_t i = 0; i < count; ++i) {
    const char* metal = ask_name(page, "/on_hand", i);
    add_movements(page, &table, metal_name(metal),
                  pool_text(&page->pool, "/on_hand%s", ask_step(page, metal)), movements);
  }
  if (count == 0) return;
  print_line("");
  table_print(&table);
}

void print_metal_stands(Book* book) {
  print_accounts(book);
  print_on_hand(book);
}
