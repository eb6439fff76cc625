/* What would tip the choice: where another route takes the lead, and which figures move it. */
#include <math.h>
#include <string.h>

#include "sure.h"

/* ---- One figure ------------------------------------------------------------------------------ */

static const char* best_of(Page* page, size_t lead) { return ask_text(page, "/leads/%zu/best", lead); }

static const char* leader_text(Sure* sure, Page* page, size_t lead) {
  const char* best = best_of(page, lead);
  return strcmp(best, "null") == 0 ? "all are refused" : quoted(&sure->pool, best);
}

/* "up to 2.327 %: \"as it lies\"; from there on: …". */
static const char* intervals_text(Sure* sure, Page* page) {
  const size_t count = ask_count(page, "/leads");
  Text text = {0};
  for (size_t i = 0; i < count; ++i) {
    const char* to = short_quantity(&sure->pool, ask_text(page, "/leads/%zu/to", i));
    if (text.size > 0) text_add(&text, "; ");
    if (i + 1 < count) text_add(&text, "up to %s ", to);
    else text_add(&text, "from there on ");
    text_add(&text, "%s", leader_text(sure, page, i));
  }
  text_add(&text, ".");
  return pool_keep(&sure->pool, &text);
}

static const char* tip_text(Sure* sure, Page* page, const char* among) {
  Pool* pool = &sure->pool;
  const char* from = short_quantity(pool, ask_text(page, "/from"));
  const char* to = short_quantity(pool, ask_text(page, "/to"));
  const char* plan = short_quantity(pool, ask_text(page, "/plan"));
  if (ask_count(page, "/leads") == 1)
    return pool_text(pool, "planned %s%s; from %s to %s nothing changes: %s.", plan, among, from, to,
                     leader_text(sure, page, 0));
  return pool_text(pool, "planned %s%s; looked at from %s to %s. Best: %s", plan, among, from, to,
                   intervals_text(sure, page));
}

/* Which routes were looked at, where not all were. */
static const char* of_routes(Sure* sure, size_t tip) {
  Entry entry = {0};
  const Json list = json_member(sure->options, "break_even");
  for (size_t i = 0; json_next(list, &entry); ++i) {
    const Json routes = json_member(entry.value, "routes");
    Entry route = {0};
    size_t count = 0;
    if (i != tip || routes == NULL) continue;
    while (json_next(routes, &route)) ++count;
    return pool_text(&sure->pool, " (of %zu routes)", count);
  }
  return "";
}

void print_tips(Sure* sure) {
  if (sure->tip_count == 0) return;
  print_heading("What would tip the choice, all else as planned");
  for (size_t i = 0; i < sure->tip_count; ++i) {
    Page* page = &sure->tips[i];
    const char* name = ask_text(page, "/name");
    print_wrapped("  - ", pool_text(&sure->pool, "%s, %s", with_capital(&sure->pool, name),
                                    tip_text(sure, page, of_routes(sure, i))));
  }
}

/* ---- Which figures move the lead ------------------------------------------------------------- */

enum { most_swings = 8 };

static const char* lead_text(Sure* sure, const char* at, const char* end) {
  const double lead = ask_number(&sure->sensitivity, "%s/lead_at/%s", at, end);
  return isnan(lead) ? "refused" : amount_text(sure, lead);
}

static void add_swing(Sure* sure, Table* table, const char* at) {
  Page* page = &sure->sensitivity;
  Pool* pool = &sure->pool;
  TableRow* row = table_add(table);
  row->cell[0] = pool_text(pool, "  %s", ask_text(page, "%s/name", at));
  row->cell[1] = short_quantity(pool, ask_text(page, "%s/low", at));
  row->cell[2] = lead_text(sure, at, "low");
  row->cell[3] = short_quantity(pool, ask_text(page, "%s/high", at));
  row->cell[4] = lead_text(sure, at, "high");
}

/* Whether its ends move the lead by something, or the route is refused there; certain figures have no ends.
 */
static int moves(Sure* sure, const char* at) {
  const double swing = ask_number(&sure->sensitivity, "%s/swing", at);
  if (isnan(ask_number(&sure->sensitivity, "%s/low", at))) return 0;
  return isnan(swing) || !is_nothing(amount_text(sure, swing));
}

void print_swings(Sure* sure) {
  Page* page = &sure->sensitivity;
  const size_t count = ask_count(page, "/quantities");
  size_t told = 0;
  Table table;
  table_open(&table, &sure->pool, 5, 1);
  *table_add(&table) = (TableRow){{"What moves the lead", "low", "lead", "high", "lead"}, 0};
  for (size_t i = 0; i < count && told < most_swings; ++i) {
    const char* at = pool_text(&sure->pool, "/quantities/%zu", i);
    if (!moves(sure, at)) continue;
    add_swing(sure, &table, at);
    ++told;
  }
  if (told == 0) return;
  print_line("");
  table_print(&table);
  print_wrapped(
      "  ",
      pool_text(&sure->pool,
                "Each figure alone, at the ends that 95 in 100 draws lie between; as planned, %s leads by "
                "%s. Below 0 another route leads.",
                quoted(&sure->pool, ask_text(page, "/best")), amount_text(sure, ask_number(page, "/lead"))));
}
