/* What is sent which way and when, and what stays. */
#include <string.h>

#include "../page/table.h"
#include "schedule.h"

static void add_shipment(Page* page, Table* table, size_t i) {
  Pool* pool = &page->pool;
  TableRow* row = table_add(table);
  row->cell[0] = pool_text(pool, "  %zu", i + 1);
  row->cell[1] = ask_text(page, "/shipments/%zu/route", i);
  row->cell[2] = day_of(page, pool_text(pool, "/shipments/%zu/start", i));
  row->cell[3] = day_of(page, pool_text(pool, "/shipments/%zu/result/last_cash_day", i));
  row->cell[4] = with_decimals(pool, ask_number(page, "/shipments/%zu/result/present_value", i), 0);
}

/* What a buyer limits and nobody tested in these lots. */
static void print_conditions(Page* page, size_t shipment) {
  const size_t count = ask_count(page, "/shipments/%zu/result/conditional", shipment);
  for (size_t i = 0; i < count; ++i)
    print_wrapped("     if tested: ", ask_text(page, "/shipments/%zu/result/conditional/%zu", shipment, i));
}

void print_shipments(Page* page) {
  const size_t count = ask_count(page, "/shipments");
  Table table;
  if (count == 0) return;
  print_heading("What to do");
  table_open(&table, &page->pool, 5, 2);
  TableRow* head = table_add(&table);
  head->cell[0] = "  shipment";
  head->cell[1] = "way";
  head->cell[2] = "start, day";
  head->cell[3] = "all in hand, day";
  head->cell[4] = pool_text(&page->pool, "leaves, %s", page->currency);
  for (size_t i = 0; i < count; ++i) add_shipment(page, &table, i);
  table_print(&table);
  print_line("");
  for (size_t i = 0; i < count; ++i) {
    print_wrapped(pool_text(&page->pool, "  %zu: ", i + 1), lots_of(page, i));
    print_conditions(page, i);
  }
}

void print_left(Page* page) {
  const size_t count = ask_count(page, "/left");
  if (count == 0) return;
  print_heading("What stays, and why");
  for (size_t i = 0; i < count; ++i) {
    const char* share = ask_text(page, "/left/%zu/share", i);
    const char* of = strcmp(share, "100 %") == 0 ? "" : pool_text(&page->pool, "%s of ", share);
    print_wrapped("  ", pool_text(&page->pool, "%s%s", of, ask_text(page, "/left/%zu/lot", i)));
    const size_t reasons = ask_count(page, "/left/%zu/reasons", i);
    for (size_t r = 0; r < reasons; ++r)
      print_wrapped("    - ", ask_text(page, "/left/%zu/reasons/%zu", i, r));
  }
}
