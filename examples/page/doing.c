/* What to do, in sentences: a walk of a route as the plan has it, beside what the answer says of each
 * step and sale. The answer lists both in the order in which the walk meets them, and says nothing of
 * an output of 0 kg. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "page.h"

typedef struct Walk {
  Page* page;
  const char* at;            /* the route's pointer */
  const char* metal;         /* whose way is followed: "Au" */
  char *work_met, *sold_met; /* entries of the answer's lists that were told */
  size_t line;               /* lines looked at for credits */
  Text aside;                /* what is done with the outputs beside the main way */
  Names back, kept;          /* of this sentence */
  Doing doing;
} Walk;

/* What is handled. The lot as it lies has no name: it is "it". */
typedef struct Thing {
  const char* name;
  int one; /* "of the rest", not "of concentrate" */
} Thing;

static const char* alone(Walk* walk, Thing thing) {
  return thing.name != NULL ? pool_text(&walk->page->pool, "the %s", thing.name) : "it";
}

/* The first entry of a list of the route that is at this place and was not met before; -1 where there
 * is none. */
static long meet(Walk* walk, const char* list, char* met, const char* place) {
  const size_t count = ask_count(walk->page, "%s/%s", walk->at, list);
  for (size_t i = 0; i < count; ++i) {
    if (met[i] || strcmp(ask_text(walk->page, "%s/%s/%zu/at", walk->at, list, i), place) != 0) continue;
    met[i] = 1;
    return (long)i;
  }
  return -1;
}

/* ---- Ends ---------------------------------------------------------------------------------- */

/* "779 kg wet (686 kg dry)"; "808 g" where there is no water in it. */
static const char* sold_mass(Page* page, double wet, double dry) {
  const char* whole = mass_text(&page->pool, wet);
  if (wet - dry < 0.0005 * wet) return whole;
  return pool_text(&page->pool, "%s" NBSP "wet (%s" NBSP "dry)", whole, mass_text(&page->pool, dry));
}

/* "send 808 g of bar (752 fine) to the river refiner". */
static void tell_sale(Walk* walk, const char* buyer, Thing thing, Text* way) {
  Page* page = walk->page;
  const long sale = meet(walk, "products", walk->sold_met, buyer);
  if (sale < 0) return;
  const char* at = pool_text(&page->pool, "%s/products/%ld", walk->at, sale);
  const char* mass =
      sold_mass(page, ask_number(page, "%s/wet_mass", at), ask_number(page, "%s/dry_mass", at));
  if (thing.name != NULL)
    text_add(way, "%ssend %s of %s%s", way->size > 0 ? ", " : "", mass, thing.one ? "the " : "", thing.name);
  else if (way->size > 0) text_add(way, ", send %s", mass);
  else text_add(way, "send it, %s,", mass);
  const double fine = ask_number(page, "%s/fineness%s", at, ask_step(page, walk->metal));
  if (fine > 0) text_add(way, " (%s" NBSP "fine)", with_figures(&page->pool, fine, 3));
  text_add(way, " to %s", with_the(&page->pool, buyer));
}

/* The next line that credits the metal; -1 where there is none. */
static long next_credit(Walk* walk) {
  const char* what = pool_text(&walk->page->pool, "%s credit", walk->metal);
  const size_t count = ask_count(walk->page, "%s/lines", walk->at);
  while (walk->line < count) {
    const size_t line = walk->line++;
    if (strcmp(ask_text(walk->page, "%s/lines/%zu/what", walk->at, line), what) == 0 &&
        strcmp(ask_text(walk->page, "%s/lines/%zu/at", walk->at, line), "return") == 0)
      return (long)line;
  }
  return -1;
}

/* What a credit was worked out from is its first figure: "17.47413 g × 60 % × 2950 USD/ozt". */
static void note_credit(Walk* walk, Thing thing) {
  const long line = next_credit(walk);
  if (line < 0) return;
  char* unit;
  const double figure = strtod(ask_text(walk->page, "%s/lines/%ld/how", walk->at, line), &unit);
  Share* share = &walk->doing.back[walk->doing.back_count++];
  share->output = thing.name != NULL ? thing.name : "the lot";
  share->grams = strncmp(unit, " kg", 3) == 0 ? 1000 * figure : figure;
}

static void tell_return(Walk* walk, Json shares, Thing thing) {
  names_add(&walk->page->pool, &walk->back, thing.name != NULL ? thing.name : "it");
  if (json_member(shares, walk->metal) != NULL) note_credit(walk, thing);
}

static void tell_keep(Walk* walk, Thing thing) {
  names_add(&walk->page->pool, &walk->kept, thing.name != NULL ? thing.name : "it");
  names_add(&walk->page->pool, &walk->doing.kept, thing.name != NULL ? thing.name : "the lot");
}

/* ---- Steps --------------------------------------------------------------------------------- */

static void follow(Walk* walk, Json node, Thing thing, Text* way);

/* The pull of a pass through a table, in percent. A step met more than once has a list of them. */
static double pull_of(Walk* walk, const char* step, long work) {
  long earlier = 0;
  for (long i = 0; i < work; ++i)
    earlier += strcmp(ask_text(walk->page, "%s/work/%ld/at", walk->at, i), step) == 0;
  const char* cut = pool_text(&walk->page->pool, "%s/cut%s", walk->at, ask_step(walk->page, step));
  const int many = ask_count(walk->page, "%s", cut) > 0;
  return many ? ask_number(walk->page, "%s/%ld", cut, earlier) : ask_number(walk->page, "%s", cut);
}

/* ", take 37.0 kg (5.39 % of 686 kg dry mass)". */
static void tell_cut(Walk* walk, const char* step, long work, Text* way) {
  Page* page = walk->page;
  const double feed = ask_number(page, "%s/work/%ld/feed", walk->at, work);
  const double pull = pull_of(walk, step, work);
  text_add(way, ", take %s (%s" NBSP "%% of %s dry mass)", mass_text(&page->pool, feed * pull / 100),
           with_figures(&page->pool, pull, 3), mass_text(&page->pool, feed));
}

static void tell_melts(Walk* walk, long work, Text* way) {
  const double melts = ask_number(walk->page, "%s/work/%ld/melts", walk->at, work);
  text_add(way, " in %s %s", with_decimals(&walk->page->pool, melts, 0),
           melts > 1 ? "crucibles" : "crucible");
}

/* What is done, as one more link of the chain: "table it", later ", dry it". */
static void tell_step(Walk* walk, const char* step, const char* kind, long work, Thing thing, Text* way) {
  const char* what = way->size == 0 ? alone(walk, thing) : "it";
  if (way->size > 0) text_add(way, ", ");
  if (strcmp(kind, "split") == 0) {
    text_add(way, "pass %s over %s", what, with_the(&walk->page->pool, step));
    return;
  }
  text_add(way, "%s %s", kind, what);
  if (strcmp(kind, "table") == 0) tell_cut(walk, step, work, way);
  if (strcmp(kind, "melt") == 0) tell_melts(walk, work, way);
}

/* The outputs of a step in the order of the walk. */
static Names outputs_of(Walk* walk, Json step, const char* kind) {
  static const char* const known[][4] = {{"table", "concentrate", "middlings", "tailings"},
                                         {"dry", "dried", NULL, NULL},
                                         {"melt", "bar", "slag", NULL}};
  Pool* pool = &walk->page->pool;
  Names names = {0};
  for (size_t k = 0; k < sizeof known / sizeof *known; ++k)
    for (size_t i = 1; strcmp(known[k][0], kind) == 0 && i < 4 && known[k][i] != NULL; ++i)
      names_add(pool, &names, known[k][i]);
  Entry entry = {0};
  while (json_next(json_member(step, "into"), &entry))
    if (strcmp(json_text(pool, entry.name), "note") != 0)
      names_add(pool, &names, json_text(pool, entry.name));
  return names;
}

/* An output beside the main way is told in a clause of its own. */
static void follow_aside(Walk* walk, Json node, Thing thing) {
  Text way = {0};
  follow(walk, node, thing, &way);
  if (way.size > 0) text_add(&walk->aside, "; %s", text_of(&way));
  text_free(&way);
}

static void work_through(Walk* walk, Json node, Thing thing, Text* way) {
  Pool* pool = &walk->page->pool;
  const char* name = json_text(pool, json_member(node, "step"));
  const Json step = json_member(json_member(walk->page->plan, "steps"), name);
  const char* kind = json_text(pool, json_member(step, "kind"));
  const long work = meet(walk, "work", walk->work_met, name);
  if (work < 0) return;
  tell_step(walk, name, kind, work, thing, way);
  const int splits = strcmp(kind, "split") == 0;
  const Names outputs = outputs_of(walk, step, kind);
  for (size_t i = 0; i < outputs.count; ++i) {
    const Thing next = {outputs.name[i], splits};
    const Json onward = json_member(node, outputs.name[i]);
    if (i > 0 || splits) follow_aside(walk, onward, next);
    else follow(walk, onward, strcmp(kind, "dry") == 0 ? thing : next, way);
  }
}

static void follow(Walk* walk, Json node, Thing thing, Text* way) {
  const Json buyer = json_member(node, "sell");
  if (json_member(node, "step") != NULL) work_through(walk, node, thing, way);
  else if (buyer != NULL) tell_sale(walk, json_text(&walk->page->pool, buyer), thing, way);
  else if (json_member(node, "return") != NULL) tell_return(walk, json_member(node, "return"), thing);
  else if (json_member(node, "keep") != NULL) tell_keep(walk, thing);
}

/* ---- Sentences ------------------------------------------------------------------------------ */

/* "; send the slag, middlings and tailings back to the plant". */
static void tell_names(Walk* walk, Text* way, const char* before, Names* names, const char* after) {
  if (names->count == 0) return;
  const int it = strcmp(names->name[0], "it") == 0;
  text_add(way, "%s%s %s%s%s", way->size > 0 ? "; " : "", before, it ? "" : "the ",
           names_text(&walk->page->pool, names), after);
  names->count = 0;
}

/* One sentence: the main way of a lot or of pieces apart, then what is done beside it. */
static void tell_sentence(Walk* walk, Json node, Thing thing, Text* sentences) {
  Text way = {0};
  follow(walk, node, thing, &way);
  text_add(&way, "%s", text_of(&walk->aside) + (way.size == 0 && walk->aside.size > 0 ? 2 : 0));
  text_free(&walk->aside);
  tell_names(walk, &way, "send", &walk->back, " back to the plant");
  tell_names(walk, &way, "keep", &walk->kept, "");
  if (way.size == 0) return;
  way.start[0] = (char)toupper((unsigned char)way.start[0]);
  text_add(sentences, "%s%s.", sentences->size > 0 ? " " : "", text_of(&way));
  text_free(&way);
}

/* A route is a node, or a node for the lot and one for each kind of pieces apart. */
static void tell_route(Walk* walk, Json route, Text* sentences) {
  static const Thing the_lot = {NULL, 0};
  const Json lot = json_member(route, "lot");
  tell_sentence(walk, lot != NULL ? lot : route, the_lot, sentences);
  Entry entry = {0};
  while (lot != NULL && json_next(route, &entry)) {
    const Thing pieces = {json_text(&walk->page->pool, entry.name), 0};
    if (strcmp(pieces.name, "lot") != 0 && strcmp(pieces.name, "note") != 0)
      tell_sentence(walk, entry.value, pieces, sentences);
  }
}

Doing doing_of(Page* page, const Route* route, const char* metal) {
  Walk walk = {0};
  walk.page = page;
  walk.at = route->at;
  walk.metal = metal;
  walk.work_met = pool_block(&page->pool, ask_count(page, "%s/work", route->at));
  walk.sold_met = pool_block(&page->pool, ask_count(page, "%s/products", route->at));
  walk.doing.back = pool_block(&page->pool, ask_count(page, "%s/lines", route->at) * sizeof(Share));
  Text sentences = {0};
  tell_route(&walk, json_member(json_member(page->plan, "routes"), route->name), &sentences);
  walk.doing.sentences = pool_keep(&page->pool, &sentences);
  return walk.doing;
}
