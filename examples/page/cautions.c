/* Cautions: each said once with the steps it holds for, mercury first; those of other routes than
 * the best in a few words. */
#include <stdlib.h>
#include <string.h>

#include "page.h"

typedef struct Group {
  const char* what;
  Names here;      /* steps of the best route, or the lot */
  Names elsewhere; /* steps of other routes only */
} Group;

/* Whether a caution concerns whoever takes the best route; where there is none, all do. */
static int concerns_best(Page* page, const char* at) {
  static const char* const lists[] = {"work", "products"};
  if (page->best == NULL || strcmp(at, "lot") == 0) return 1;
  for (size_t l = 0; l < 2; ++l) {
    const size_t count = ask_count(page, "%s/%s", page->best->at, lists[l]);
    for (size_t i = 0; i < count; ++i)
      if (strcmp(ask_text(page, "%s/%s/%zu/at", page->best->at, lists[l], i), at) == 0) return 1;
  }
  return 0;
}

static Group* group_of(Group* groups, size_t* count, const char* what) {
  for (size_t i = 0; i < *count; ++i)
    if (strcmp(groups[i].what, what) == 0) return &groups[i];
  groups[*count].what = what;
  return &groups[(*count)++];
}

static size_t gather(Page* page, Group* groups, size_t cautions) {
  size_t count = 0;
  for (size_t i = 0; i < cautions; ++i) {
    const char* at = ask_text(page, "/cautions/%zu/at", i);
    Group* group =
        group_of(groups, &count, without_rules(&page->pool, ask_text(page, "/cautions/%zu/what", i)));
    names_add(&page->pool, concerns_best(page, at) ? &group->here : &group->elsewhere, at);
  }
  return count;
}

/* Names its steps where they are not all of those that the heading names. */
static void print_group(Page* page, const Group* group, const Names* heading) {
  Text text = {0};
  text_add(&text, "%s", group->what);
  if (group->here.count > 0 && group->here.count < heading->count)
    text_add(&text, " (%s)", names_text(&page->pool, &group->here));
  print_wrapped("  - ", text_of(&text));
  text_free(&text);
}

/* Mercury is said in full wherever it is; it comes before all else. */
static void print_in_full(Page* page, const Group* groups, size_t count, const Names* heading) {
  for (size_t i = 0; i < count; ++i)
    if (is_of_mercury(groups[i].what)) print_group(page, &groups[i], heading);
  for (size_t i = 0; i < count; ++i)
    if (!is_of_mercury(groups[i].what) && groups[i].here.count > 0) print_group(page, &groups[i], heading);
}

/* The beginning of a caution, up to its colon, in small letters. */
static const char* in_short(Page* page, const char* what) {
  char* text = pool_block(&page->pool, strlen(what) + 1);
  memcpy(text, what, strcspn(what, ":"));
  return text;
}

/* The last lines: where else care is needed, and whose word comes first. */
static void print_end(Page* page, const Group* groups, size_t count) {
  Names steps = {0}, others = {0};
  for (size_t i = 0; i < count; ++i) {
    for (size_t s = 0; s < groups[i].elsewhere.count; ++s)
      names_add(&page->pool, &steps, groups[i].elsewhere.name[s]);
    if (groups[i].here.count == 0 && !is_of_mercury(groups[i].what))
      names_add(&page->pool, &others, in_short(page, groups[i].what));
  }
  Text text = {0};
  if (steps.count > 0) text_add(&text, "On other routes, take care at %s", names_text(&page->pool, &steps));
  if (others.count > 0) text_add(&text, ": %s", names_text(&page->pool, &others));
  text_add(&text, "%s%s", steps.count > 0 ? ". " : "", rules_of_caution);
  print_wrapped("  ", text_of(&text));
  text_free(&text);
}

static Names all_here(Page* page, const Group* groups, size_t count) {
  Names all = {0};
  for (size_t i = 0; i < count; ++i)
    for (size_t s = 0; s < groups[i].here.count; ++s) names_add(&page->pool, &all, groups[i].here.name[s]);
  return all;
}

static void print_cautions_heading(Page* page, const Names* steps) {
  const char* at = steps->count > 0 ? pool_text(&page->pool, ": %s", names_text(&page->pool, steps)) : "";
  print_wrapped("", pool_text(&page->pool, "Cautions%s", at));
}

enum Mercury mercury_before_heat(Page* page) {
  const size_t cautions = ask_count(page, "/cautions");
  enum Mercury worst = mercury_none;
  for (size_t i = 0; page->best != NULL && i < cautions; ++i) {
    const char* what = ask_text(page, "/cautions/%zu/what", i);
    if (!is_of_mercury(what) || !concerns_best(page, ask_text(page, "/cautions/%zu/at", i))) continue;
    const enum Mercury here = strncmp(what, "Stop", 4) == 0 ? mercury_known : mercury_untested;
    if (here > worst) worst = here;
  }
  return worst;
}

void print_cautions(Page* page) {
  const size_t cautions = ask_count(page, "/cautions");
  if (cautions == 0) return;
  Group* groups = pool_block(&page->pool, cautions * sizeof *groups);
  const size_t count = gather(page, groups, cautions);
  const Names heading = all_here(page, groups, count);
  print_line("");
  print_cautions_heading(page, &heading);
  print_in_full(page, groups, count, &heading);
  print_end(page, groups, count);
}
