/* Asking the library: which calls, with which parts of the options, and what is told where one fails. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../page/program.h"
#include "../page/progress.h"
#include "sure.h"

typedef bw_status (*Call)(bw_context*, const bw_plan*, const char*, size_t, bw_answer**);

typedef struct Question {
  Sure* sure;
  const Source* source;
  bw_status status; /* of the last call */
} Question;

/* ---- Options out ----------------------------------------------------------------------------- */

static int is_named(const char* name, const char* const* names) {
  for (; *names != NULL; ++names)
    if (strcmp(name, *names) == 0) return 1;
  return 0;
}

static void add_separator(Text* text) {
  if (text->start[text->size - 1] != '{') text_add(text, ", ");
}

/* Adds an object's members as they stand: those that are named, or all others. */
static void add_members(Text* text, Json object, const char* const* names, int named) {
  Pool pool = {0};
  Entry entry = {0};
  while (json_next(object, &entry)) {
    if (is_named(json_text(&pool, entry.name), names) != named) continue;
    add_separator(text);
    text_add_bytes(text, entry.name, (size_t)(json_end(entry.value) - entry.name));
  }
  pool_free(&pool);
}

static void add_draws(const Question* question, Text* text) {
  if (question->source->draws == NULL) return;
  add_separator(text);
  text_add(text, "\"draws\": %s", question->source->draws);
}

/* ---- Errors ---------------------------------------------------------------------------------- */

/* Whether an error is of --draws, and not of the options' file. */
static int is_of_draws(const Question* question, const char* place) {
  return question->source->draws != NULL && strcmp(place, "/draws") == 0;
}

/* What is wrong with options stands in their file, under the part that was asked about; gives the exit code.
 */
static int tell_options_error(Question* question, const char* part, Json error) {
  Pool* pool = &question->sure->pool;
  const char* place = json_text(pool, json_member(error, "pointer"));
  const char* text = json_text(pool, json_member(error, "text"));
  if (is_of_draws(question, place)) {
    print_error(pool_text(pool, "sure: --draws: %s", text));
    return exit_usage;
  }
  print_error(pool_text(pool, "%s: /%s%s: %s", question->source->options, part, place, text));
  return exit_document;
}

static int tell_options_errors(Question* question, const char* part) {
  int code = exit_usage;
  Entry error = {0};
  while (json_next(json_document(bw_error_list(question->sure->context, NULL)), &error))
    if (tell_options_error(question, part, error.value) == exit_document) code = exit_document;
  return code;
}

/* The plan was in order when it was read: what is wrong with usage or document now are the options. */
static int tell_call_errors(Question* question, const char* part) {
  const int code = exit_of(question->status);
  const int of_options = code == exit_usage || code == exit_document;
  if (of_options && question->source->options != NULL) return tell_options_errors(question, part);
  tell_errors(question->sure->context, of_options ? "sure: --draws" : source_name(question->source->plan),
              !of_options);
  return of_options ? exit_usage : code;
}

/* ---- One call -------------------------------------------------------------------------------- */

typedef struct Part {
  const char* name;  /* in the options' file */
  const char* doing; /* for the progress */
  Call call;
} Part;

static const Part simulating = {"simulate", "drawing the plan", bw_simulate};
static const Part weighing = {"worth", "weighing measurements", bw_worth};
static const Part tipping = {"break_even", "looking for what tips the choice", bw_break_even};
static const Part offering = {"counter_offers", "looking for counter-offers", bw_counter_offers};
static const Part cutting = {"forgiving_cut", "looking along the pulls", bw_forgiving_cut};
static const Part swinging = {"sensitivity", "looking at each figure", bw_sensitivity};
static const Part mapping = {"maps", "drawing maps", bw_map};

static void report(void* user, int64_t done, int64_t total) {
  const Part* part = user;
  char line[60];
  snprintf(line, sizeof line, "%s, %d %%", part->doing, (int)(100 * done / total));
  show_progress(line);
}

static void keep_answer(Sure* sure, const char* part, bw_answer* answer) {
  sure->answers[sure->answer_count] = answer;
  sure->parts[sure->answer_count++] = part;
}

/* Ends the options, asks, and makes a page of the answer; whether there is one. */
static int called(Question* question, const Part* part, Text* options, Page* page) {
  Sure* sure = question->sure;
  bw_answer* answer = NULL;
  text_add_byte(options, '}');
  bw_set_progress(sure->context, report, (void*)part);
  question->status = part->call(sure->context, sure->plan, text_of(options), options->size, &answer);
  end_progress();
  text_free(options);
  if (question->status != BW_OK) return 0;
  keep_answer(sure, part->name, answer);
  *page = asking(sure->context, answer);
  return 1;
}

/* The options of a part as they stand. */
static Text options_of(const Question* question, const Part* part) {
  static const char* const none[] = {NULL};
  Text text = {0};
  text_add_byte(&text, '{');
  add_members(&text, json_member(question->sure->options, part->name), none, 0);
  return text;
}

static int ask_plainly(Question* question, const Part* part, Page* page) {
  Text options = options_of(question, part);
  return called(question, part, &options, page) ? exit_good : tell_call_errors(question, part->name);
}

/* ---- The calls ------------------------------------------------------------------------------- */

static int ask_simulation(Question* question) {
  static const char* const draws[] = {"draws", NULL};
  static const char* const none[] = {NULL};
  Text options = {0};
  text_add_byte(&options, '{');
  add_members(&options, json_member(question->sure->options, simulating.name),
              question->source->draws != NULL ? draws : none, 0);
  add_draws(question, &options);
  if (question->source->keep) {
    add_separator(&options);
    text_add(&options, "\"keep\": true");
  }
  return called(question, &simulating, &options, &question->sure->simulation)
             ? exit_good
             : tell_call_errors(question, simulating.name);
}

/* What is drawn together is said once, for the simulation, and holds here too. */
static int ask_worth(Question* question) {
  static const char* const drawing[] = {"seed",      "method", "threads",  "routes",
                                        "correlate", "same",   "averaged", NULL};
  static const char* const draws[] = {"draws", NULL};
  const Json part = json_member(question->sure->options, weighing.name);
  if (part == NULL) return exit_good;
  const Json simulate = json_member(question->sure->options, simulating.name);
  Text options = options_of(question, &weighing);
  add_members(&options, simulate, drawing, 1);
  if (question->source->draws != NULL) add_draws(question, &options);
  else add_members(&options, simulate, draws, 1);
  return called(question, &weighing, &options, &question->sure->worth)
             ? exit_good
             : tell_call_errors(question, weighing.name);
}

/* A list of questions of one kind. */
static int ask_list(Question* question, const Part* part, Page* pages, size_t* count) {
  static const char* const none[] = {NULL};
  Entry entry = {0};
  while (json_next(json_member(question->sure->options, part->name), &entry)) {
    if (*count == most_answers) {
      print_error(pool_text(&question->sure->pool, "%s: /%s: at most %d of these", question->source->options,
                            part->name, most_answers));
      return exit_document;
    }
    Text options = {0};
    text_add_byte(&options, '{');
    add_members(&options, entry.value, none, 0);
    if (!called(question, part, &options, &pages[*count]))
      return tell_call_errors(question, pool_text(&question->sure->pool, "%s/%zu", part->name, *count));
    ++*count;
  }
  return exit_good;
}

/* Without options, the price of gold, where the plan has one. */
static int ask_tips(Question* question) {
  Sure* sure = question->sure;
  if (json_member(sure->options, tipping.name) != NULL)
    return ask_list(question, &tipping, sure->tips, &sure->tip_count);
  if (json_member(json_member(sure->document, "prices"), "Au") == NULL) return exit_good;
  Text options = {0};
  text_add(&options, "{\"of\": \"/prices/Au\"");
  if (!called(question, &tipping, &options, &sure->tips[0])) return tell_call_errors(question, tipping.name);
  sure->tip_count = 1;
  return exit_good;
}

/* Whether the last error is of this place in the options. */
static int is_error_of(const Question* question, const char* place) {
  Entry error = {0};
  if (!json_next(json_document(bw_error_list(question->sure->context, NULL)), &error)) return 0;
  return strcmp(json_text(&question->sure->pool, json_member(error.value, "pointer")), place) == 0;
}

/* A plan without tables has no cut; one without a route that is taken has none either. That the library finds
 * no route is then no error. */
static int ask_cut(Question* question) {
  const Json part = json_member(question->sure->options, cutting.name);
  Text options = options_of(question, &cutting);
  if (called(question, &cutting, &options, &question->sure->cut)) return exit_good;
  const int none = json_member(part, "route") == NULL && is_error_of(question, "/route");
  return none ? exit_good : tell_call_errors(question, cutting.name);
}

static void add_pointer(Text* text, const char* pointer) {
  if (text->start[text->size - 1] != '[') text_add(text, ", ");
  json_add_string(text, pointer, strlen(pointer));
}

/* Unless the options say otherwise, the figures that were drawn; what is the same is said once, for the
 * simulation, and moves together. */
static int ask_sensitivity(Question* question) {
  static const char* const same[] = {"same", NULL};
  Page* simulation = &question->sure->simulation;
  const size_t count = ask_count(simulation, "/inputs");
  const Json part = json_member(question->sure->options, swinging.name);
  Text options = options_of(question, &swinging);
  if (count == 0) {
    text_free(&options);
    return exit_good;
  }
  if (json_member(part, "of") == NULL) {
    add_separator(&options);
    text_add(&options, "\"of\": [");
    for (size_t i = 0; i < count; ++i) add_pointer(&options, ask_text(simulation, "/inputs/%zu/of", i));
    text_add_byte(&options, ']');
  }
  if (json_member(part, "same") == NULL)
    add_members(&options, json_member(question->sure->options, simulating.name), same, 1);
  return called(question, &swinging, &options, &question->sure->sensitivity)
             ? exit_good
             : tell_call_errors(question, swinging.name);
}

/* ---- All of them ----------------------------------------------------------------------------- */

/* The comparison, for what is to be done; its best route becomes the one that the draws prefer. */
static int ask_comparison(Question* question) {
  static const char options[] = "{\"how\": false}";
  Sure* sure = question->sure;
  bw_answer* answer = NULL;
  bw_set_progress(sure->context, NULL, NULL);
  question->status = bw_compare(sure->context, sure->plan, options, strlen(options), &answer);
  if (question->status != BW_OK) {
    tell_errors(sure->context, source_name(question->source->plan), 1);
    return exit_of(question->status);
  }
  keep_answer(sure, "compare", answer);
  page_open(&sure->comparison, sure->context, answer, bw_plan_text(sure->plan, NULL));
  return exit_good;
}

static void take_preferred(Sure* sure) {
  Page* page = &sure->comparison;
  page->best = NULL;
  for (size_t i = 0; i < page->count; ++i)
    if (strcmp(page->routes[i].name, preferred(sure)) == 0) page->best = &page->routes[i];
}

/* The parts of the options: objects, or lists of them. */
static int is_list(const char* part) {
  return strcmp(part, tipping.name) == 0 || strcmp(part, mapping.name) == 0;
}

static int are_objects(Json list) {
  Entry entry = {0};
  while (json_next(list, &entry))
    if (*entry.value != '{') return 0;
  return *list == '[';
}

/* What is wrong with a part's name or kind; NULL where nothing is. */
static const char* wrong_with(const char* part, Json value) {
  static const char* const known[] = {"simulate",      "worth",       "break_even", "counter_offers",
                                      "forgiving_cut", "sensitivity", "maps",       NULL};
  if (strcmp(part, "note") == 0) return NULL;
  if (!is_named(part, known))
    return "there is no such part; the parts are simulate, worth, break_even, counter_offers, forgiving_cut, "
           "sensitivity and maps";
  if (is_list(part)) return are_objects(value) ? NULL : "a list of objects is wanted here: [{…}, …]";
  return *value == '{' ? NULL : "an object is wanted here: {…}";
}

/* What was meant for a part that does not exist would be lost unseen. */
static int has_known_parts(const Question* question) {
  Pool* pool = &question->sure->pool;
  Entry entry = {0};
  int good = 1;
  while (json_next(question->sure->options, &entry)) {
    const char* name = json_text(pool, entry.name);
    const char* wrong = wrong_with(name, entry.value);
    if (wrong == NULL) continue;
    print_error(pool_text(pool, "%s: /%s: %s", question->source->options, name, wrong));
    good = 0;
  }
  return good;
}

/* The library reads the text before it looks at what it says: one that is no JSON is told by it. */
static int is_json(const Question* question, const Text* text) {
  bw_context* context = question->sure->context;
  bw_answer* answer = NULL;
  const bw_status status = bw_convert(context, text_of(text), text->size, &answer);
  bw_answer_destroy(&answer);
  const int good = status != BW_DOCUMENT_JSON && status != BW_DOCUMENT_UTF8 && status != BW_DOCUMENT_LIMIT &&
                   status != BW_DOCUMENT_REPEATED && status != BW_DOCUMENT_TYPE;
  if (!good) tell_errors(context, question->source->options, 1);
  return good;
}

static int read_options(Question* question, const Text* options) {
  if (options == NULL) return exit_good;
  if (!is_json(question, options)) return exit_document;
  question->sure->options = json_document(text_of(options));
  return has_known_parts(question) ? exit_good : exit_document;
}

static int ask_changes(Question* question) {
  Sure* sure = question->sure;
  int code = ask_worth(question);
  if (code == exit_good) code = ask_tips(question);
  if (code == exit_good) code = ask_plainly(question, &offering, &sure->offers);
  if (code == exit_good) code = ask_cut(question);
  if (code == exit_good) code = ask_sensitivity(question);
  if (code == exit_good) code = ask_list(question, &mapping, sure->maps, &sure->map_count);
  return code;
}

int sure_ask(Sure* sure, bw_context* context, const bw_plan* plan, const Text* options,
             const Source* source) {
  memset(sure, 0, sizeof *sure);
  sure->context = context;
  sure->plan = plan;
  sure->document = json_document(bw_plan_text(plan, NULL));
  Question question = {sure, source, BW_OK};
  int code = read_options(&question, options);
  if (code == exit_good) code = ask_simulation(&question);
  if (code == exit_good) code = ask_comparison(&question);
  if (code != exit_good) return code;
  take_preferred(sure);
  return *preferred(sure) != '\0' ? ask_changes(&question) : exit_good;
}

void sure_close(Sure* sure) {
  Page* const pages[] = {&sure->simulation, &sure->worth, &sure->offers, &sure->cut, &sure->sensitivity};
  for (size_t i = 0; i < sizeof pages / sizeof *pages; ++i) pool_free(&pages[i]->pool);
  for (size_t i = 0; i < sure->tip_count; ++i) pool_free(&sure->tips[i].pool);
  for (size_t i = 0; i < sure->map_count; ++i) pool_free(&sure->maps[i].pool);
  page_close(&sure->comparison);
  for (size_t i = 0; i < sure->answer_count; ++i) bw_answer_destroy(&sure->answers[i]);
  pool_free(&sure->pool);
}

/* Several answers to one part are a list. */
void print_answers(const Sure* sure) {
  const char* before = NULL;
  int in_list = 0;
  putchar('{');
  for (size_t i = 0; i < sure->answer_count; ++i) {
    const char* part = sure->parts[i];
    const int listed = is_list(part);
    const int goes_on = before != NULL && strcmp(before, part) == 0;
    if (in_list && !goes_on) putchar(']');
    if (before != NULL) puts(",");
    if (!goes_on) printf("\"%s\": %s", part, listed ? "[" : "");
    fputs(bw_answer_text(sure->answers[i], NULL), stdout);
    in_list = listed;
    before = part;
  }
  puts(in_list ? "]}" : "}");
}
