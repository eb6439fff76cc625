/* Small words: lists of names, articles, money. */
#include <ctype.h>
#include <string.h>

#include "page.h"

int names_have(const Names* names, const char* name) {
  for (size_t i = 0; i < names->count; ++i)
    if (strcmp(names->name[i], name) == 0) return 1;
  return 0;
}

void names_add(Pool* pool, Names* names, const char* name) {
  if (names_have(names, name)) return;
  if (names->count == names->room) {
    names->room = names->room != 0 ? 2 * names->room : 8;
    const char** more = pool_block(pool, names->room * sizeof *more);
    if (names->count > 0) memcpy(more, names->name, names->count * sizeof *more);
    names->name = more;
  }
  names->name[names->count++] = name;
}

static const char* names_joined(Pool* pool, const Names* names, const char* comma, const char* last) {
  Text text = {0};
  for (size_t i = 0; i < names->count; ++i)
    text_add(&text, "%s%s", i == 0 ? "" : i + 1 == names->count ? last : comma, names->name[i]);
  return pool_keep(pool, &text);
}

/* Names that hold commas themselves are kept apart by semicolons. */
const char* names_text(Pool* pool, const Names* names) {
  for (size_t i = 0; i < names->count; ++i)
    if (strchr(names->name[i], ',') != NULL) return names_joined(pool, names, "; ", "; ");
  return names_joined(pool, names, ", ", " and ");
}

const char* names_listed(Pool* pool, const Names* names) { return names_joined(pool, names, ", ", ", "); }

const char* with_the(Pool* pool, const char* name) {
  const int proper = !islower((unsigned char)name[0]) || strncmp(name, "the ", 4) == 0;
  return proper ? name : pool_text(pool, "the %s", name);
}

const char* metal_name(const char* symbol) {
  static const char* const known[][2] = {
      {"Au", "gold"}, {"Ag", "silver"}, {"Pt", "platinum"}, {"Pd", "palladium"}, {"Hg", "mercury"}};
  for (size_t i = 0; i < sizeof known / sizeof *known; ++i)
    if (strcmp(known[i][0], symbol) == 0) return known[i][1];
  return symbol;
}

const char* analyte_name(const char* symbol) {
  static const char* const known[][2] = {{"As", "arsenic"}, {"Sb", "antimony"}, {"Pb", "lead"},
                                         {"Bi", "bismuth"}, {"Cu", "copper"},   {"Fe", "iron"},
                                         {"S", "sulphur"}};
  for (size_t i = 0; i < sizeof known / sizeof *known; ++i)
    if (strcmp(known[i][0], symbol) == 0) return known[i][1];
  return metal_name(symbol);
}

const char* with_capital(Pool* pool, const char* word) {
  return pool_text(pool, "%c%s", toupper((unsigned char)word[0]), word + (*word != '\0'));
}

/* ---- Cautions ------------------------------------------------------------------------------- */

const char rules_of_caution[] = "Local rules and licensed practice come first.";

/* Where the sentence begins; NULL where a caution does not end with it. */
static const char* rules_in(const char* what) {
  const size_t size = strlen(what), tail = sizeof rules_of_caution - 1;
  const char* at = size > tail ? what + size - tail : NULL;
  return at != NULL && strcmp(at, rules_of_caution) == 0 ? at : NULL;
}

int is_hazard(const char* what) { return rules_in(what) != NULL; }

const char* without_rules(Pool* pool, const char* what) {
  const char* rules = rules_in(what);
  return rules != NULL ? pool_text(pool, "%.*s", (int)(rules - 1 - what), what) : what;
}

int is_of_mercury(const char* what) { return strstr(what, "ercury") != NULL; }

/* ---- How an amount was worked out ------------------------------------------------------------ */

static int begins_with_sign(const char* text) {
  static const char* const signs[] = {"×", "÷", "−"};
  for (size_t i = 0; i < sizeof signs / sizeof *signs; ++i)
    if (strncmp(text, signs[i], strlen(signs[i])) == 0) return 1;
  return 0;
}

const char* whole_figures(Page* page, const char* how) {
  Text text = {0};
  for (const char* at = how; *at != '\0'; ++at) {
    const int may_break = begins_with_sign(at + 1) || (at > how && at[-1] == ',');
    if (*at == ' ' && !may_break) text_add(&text, NBSP);
    else text_add_byte(&text, *at);
  }
  return pool_keep(&page->pool, &text);
}

const char* money_text(Page* page, double amount) { return with_decimals(&page->pool, amount, page->cents); }
