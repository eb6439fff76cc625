/* What the buyers returned against what was due: the money, where its difference comes from, and how far
 * figures lie apart over many lots. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "book.h"

/* Parts shown on their own: this many at most, none smaller than this share of the largest. */
enum { most_parts = 6, edge = 58 };
static const double least_share = 0.02;

static void print_amount(Page* page, const char* label, const char* amount) {
  Text line = {0};
  if (columns(label) + columns(amount) + 2 > edge) {
    print_wrapped("  ", label);
    label = "";
  }
  text_add(&line, "  ");
  text_add_column(&line, edge - 2 - (int)columns(amount), label);
  text_add(&line, "%s", amount);
  print_line(pool_keep(&page->pool, &line));
}

static void print_rule(Page* page) { print_amount(page, "", "--------------"); }

/* ---- Where the difference comes from --------------------------------------------------------- */

typedef struct Part {
  const char *what, *amount; /* as the answer has it */
  double size;               /* for the order alone */
  size_t order;
} Part;

static int by_size(const void* left, const void* right) {
  const Part *a = left, *b = right;
  if (a->size != b->size) return a->size > b->size ? -1 : 1;
  return (a->order > b->order) - (a->order < b->order);
}

/* The parts of a buyer that are not nothing, largest first. */
static Part* parts_of(Page* page, const char* at, size_t* count) {
  const size_t all = ask_count(page, "%s/parts", at);
  Part* parts = pool_block(&page->pool, (all + 1) * sizeof *parts);
  *count = 0;
  for (size_t i = 0; i < all; ++i) {
    const char* amount = ask_text(page, "%s/parts/%zu/amount", at, i);
    if (is_nothing(cents(&page->pool, amount))) continue;
    const char* what = ask_text(page, "%s/parts/%zu/what", at, i);
    parts[(*count)++] = (Part){what, amount, fabs(strtod(amount, NULL)), i};
  }
  if (*count > 1) qsort(parts, *count, sizeof *parts, by_size);
  return parts;
}

/* How many stand on their own; a single small one does too. */
static size_t shown_alone(const Part* parts, size_t count) {
  size_t shown = 0;
  while (shown < count && shown < most_parts && parts[shown].size >= least_share * parts[0].size) ++shown;
  return shown + 1 == count ? count : shown;
}

/* The rest of the difference, so that what is shown adds up to it. */
static void print_other(Page* page, const char* at, const Part* parts, size_t shown, size_t count) {
  Number rest = {{0}};
  number_add(&rest, ask_text(page, "%s/difference", at));
  for (size_t i = 0; i < shown; ++i) number_take(&rest, parts[i].amount);
  print_amount(page, pool_text(&page->pool, "  other, %zu small parts", count - shown),
               number_text(&page->pool, &rest, 2));
}

static void print_parts(Page* page, const char* at) {
  size_t count;
  const Part* parts = parts_of(page, at, &count);
  const size_t shown = shown_alone(parts, count);
  if (count > 0) print_line("  of which");
  for (size_t i = 0; i < shown; ++i)
    print_amount(page, pool_text(&page->pool, "  %s", parts[i].what), cents(&page->pool, parts[i].amount));
  if (shown < count) print_other(page, at, parts, shown, count);
}

/* ---- Lots by name ---------------------------------------------------------------------------- */

enum { most_lots = 3 };

/* What the lots of a buyer differ by, as parts that bear the lots' names; largest first. */
static Part* lots_of(Page* page, const char* buyer, size_t* count) {
  const size_t all = ask_count(page, "/returns");
  Part* lots = pool_block(&page->pool, (all + 1) * sizeof *lots);
  *count = 0;
  for (size_t i = 0; i < all; ++i) {
    if (strcmp(ask_text(page, "/returns/%zu/buyer", i), buyer) != 0) continue;
    const char* amount = ask_text(page, "/returns/%zu/difference", i);
    lots[(*count)++] = (Part){ask_text(page, "/returns/%zu/id", i), amount, fabs(strtod(amount, NULL)), i};
  }
  if (*count > 1) qsort(lots, *count, sizeof *lots, by_size);
  return lots;
}

/* "" where the lines add up, or there are none. */
static const char* arithmetic_of(Page* page, size_t lot) {
  const size_t count = ask_count(page, "/returns/%zu/parts", lot);
  for (size_t i = count; i-- > 0;) {
    if (strcmp(ask_text(page, "/returns/%zu/parts/%zu/what", lot, i), "arithmetic") != 0) continue;
    const char* amount = cents(&page->pool, ask_text(page, "/returns/%zu/parts/%zu/amount", lot, i));
    if (!is_nothing(amount)) return amount;
  }
  return "";
}

static void print_names(Page* page, const char* what, const Names* names) {
  if (names->count == 0) return;
  print_wrapped("  - ", pool_text(&page->pool, "%s: %s.", what, names_text(&page->pool, names)));
}

static void print_lots(Page* page, const char* buyer) {
  size_t count;
  const Part* lots = lots_of(page, buyer, &count);
  Names most = {0}, not_adding_up = {0};
  for (size_t i = 0; i < count; ++i) {
    const char *id = lots[i].what, *off = arithmetic_of(page, lots[i].order);
    const char* amount = cents(&page->pool, lots[i].amount);
    if (i < most_lots && !is_nothing(amount))
      names_add(&page->pool, &most, pool_text(&page->pool, "%s (%s)", id, amount));
    if (*off != '\0') names_add(&page->pool, &not_adding_up, pool_text(&page->pool, "%s (by %s)", id, off));
  }
  print_names(page, "Lots that differ most", &most);
  print_names(page, "Lines that do not add up to what was returned", &not_adding_up);
}

/* ---- A buyer --------------------------------------------------------------------------------- */

/* Nobody returns figures of a lot that he did not take: such a one is marked. */
static const char* missing_text(Book* book, Page* page, const char* at) {
  Names names = {0};
  const size_t count = ask_count(page, "%s/missing", at);
  for (size_t i = 0; i < count; ++i) {
    const char* id = ask_text(page, "%s/missing/%zu", at, i);
    names_add(&page->pool, &names, is_refused(book, id) ? pool_text(&page->pool, "%s (refused)", id) : id);
  }
  return count > 0 ? pool_text(&page->pool, "; none yet of %s", names_text(&page->pool, &names)) : "";
}

static void print_sums(Page* page, const char* at) {
  static const char* const rows[][2] = {{"what was due", "ours"}, {"what they returned", "theirs"}};
  for (size_t i = 0; i < 2; ++i)
    print_amount(page, rows[i][0], cents(&page->pool, ask_text(page, "%s/%s", at, rows[i][1])));
  print_rule(page);
  print_amount(page, "difference", cents(&page->pool, ask_text(page, "%s/difference", at)));
}

/* "Gold paid for or credited: 6,190.1 g by them, 6,192.0 g by us: 1.9 g less." */
static void print_payable(Page* page, const char* at) {
  Pool* pool = &page->pool;
  const size_t count = ask_count(page, "%s/payable", at);
  for (size_t i = 0; i < count; ++i) {
    const char* metal = ask_name(page, pool_text(pool, "%s/payable", at), i);
    const char* of = pool_text(pool, "%s/payable%s", at, ask_step(page, metal));
    const double ours = ask_number(page, "%s/ours", of), theirs = ask_number(page, "%s/theirs", of);
    const double less = ours - theirs;
    const char* far = fabs(less) < 0.005
                          ? "as much"
                          : pool_text(pool, "%s" NBSP "g %s", with_decimals(pool, fabs(less), 2),
                                      less > 0 ? "less" : "more");
    print_wrapped(
        "  - ",
        pool_text(pool, "%s paid for or credited: %s" NBSP "g by their account, %s" NBSP "g by ours: %s.",
                  with_capital(pool, metal_name(metal)), with_decimals(pool, theirs, 2),
                  with_decimals(pool, ours, 2), far));
  }
}

static void print_buyer(Book* book, Page* page, Buyer buyer) {
  const char* returns = ask_text(page, "%s/returns", buyer.at);
  const char* lots = strcmp(returns, "1") == 0 ? "lot" : "lots";
  print_line("");
  print_wrapped("", pool_text(&page->pool, "%s: returns of %s %s%s", buyer.name, returns, lots,
                              missing_text(book, page, buyer.at)));
  if (strcmp(returns, "0") == 0) return;
  print_sums(page, buyer.at);
  print_parts(page, buyer.at);
  print_lots(page, buyer.name);
  print_payable(page, buyer.at);
  const size_t count = ask_count(page, "%s/figures", buyer.at);
  for (size_t i = 0; i < count; ++i)
    print_figure_sentence(page, pool_text(&page->pool, "%s/figures/%zu", buyer.at, i));
}

void returns_print(Book* book, const bw_answer* answer) {
  Page page = asking(book->page.context, answer);
  size_t count;
  const Buyer* buyers = buyers_of(&page, &count);
  print_heading("Returns against what was due");
  print_wrapped(
      "", "Theirs less ours. Percentages are of the figure itself: 1" NBSP "% of a moisture of 6" NBSP
          "% is 0.06" NBSP
          "%. Chance alone: where both mean the same and differ by chance only, how often "
          "they would lie as far apart. It does not say who is right. Metal that is credited counts in the "
          "sentences and in no money.");
  for (size_t i = 0; i < count; ++i) print_buyer(book, &page, buyers[i]);
  pool_free(&page.pool);
}
