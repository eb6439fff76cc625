/* Compares the routes of a plan: what to do with a lot, and what each way leaves.
 *
 *     compare plan.json
 *
 * A program over the C interface alone. What it takes to ask the library stands here; how the answer
 * becomes a page is in page/. */
#include <buttonworth.h>
#include <stdio.h>
#include <string.h>

#include "page/page.h"
#include "page/program.h"

static const char help[] =
    "Compares the ways of handling and selling a lot of gold concentrate.\n"
    "\n"
    "usage: compare [--json] [--how] [--double] [--route NAME]... [PLAN.json | -]\n"
    "\n"
    "  PLAN.json     the plan; - or nothing: standard input\n"
    "  --how         after the page, how every amount was worked out\n"
    "  --json        the answer as JSON instead of the page\n"
    "  --route NAME  this route only; may be given more than once\n"
    "  --double      in the processor's numbers instead of exact decimals: quick, good to 9 digits\n"
    "  --version, --help\n"
    "\n"
    "Errors are told on standard error, one line each: file, place in the plan, what is wrong.\n"
    "exit codes:\n"
    "  0  there is a best route\n"
    "  1  usage: an option, a route's name, or a file that cannot be read\n"
    "  2  the plan is not as it should be\n"
    "  3  the plan asks for impossible physics\n"
    "  4  a target that cannot be reached\n"
    "  5  no route is accepted by its buyers (the page says why)\n"
    "  7  no memory\n"
    "  8  a fault of the library\n";

typedef struct Options {
  int json, how, in_double, help, version;
  const char* file; /* NULL or "-": standard input */
  const char** routes;
  size_t route_count;
} Options;

/* ---- Options -------------------------------------------------------------------------------- */

static int* flag_of(Options* options, const char* argument) {
  if (strcmp(argument, "--json") == 0) return &options->json;
  if (strcmp(argument, "--how") == 0) return &options->how;
  if (strcmp(argument, "--double") == 0) return &options->in_double;
  if (strcmp(argument, "--help") == 0) return &options->help;
  if (strcmp(argument, "--version") == 0) return &options->version;
  return NULL;
}

static int refuse(const char* what, const char* argument) {
  fprintf(stderr, "compare: %s%s (compare --help says more)\n", what, argument);
  return 0;
}

/* Fills in the options; 0 where the command line is wrong, which was told. */
static int read_options(int count, char** arguments, Options* options) {
  for (int i = 1; i < count; ++i) {
    int* flag = flag_of(options, arguments[i]);
    if (flag != NULL) {
      *flag = 1;
    } else if (strcmp(arguments[i], "--route") == 0) {
      if (i + 1 == count) return refuse("--route needs the name of a route", "");
      options->routes[options->route_count++] = arguments[++i];
    } else if (arguments[i][0] == '-' && arguments[i][1] != '\0') {
      return refuse("there is no option ", arguments[i]);
    } else if (options->file != NULL) {
      return refuse("one plan at a time, not also ", arguments[i]);
    } else {
      options->file = arguments[i];
    }
  }
  return 1;
}

/* The options as the library takes them. */
static void write_options(const Options* options, Text* json) {
  text_add(json, "{\"arithmetic\": \"%s\"", options->in_double ? "double" : "decimal");
  if (options->route_count > 0) text_add(json, ", \"routes\": ");
  for (size_t i = 0; i < options->route_count; ++i) {
    text_add_byte(json, i == 0 ? '[' : ',');
    json_add_string(json, options->routes[i], strlen(options->routes[i]));
  }
  text_add(json, options->route_count > 0 ? "]}" : "}");
}

/* ---- Comparing ------------------------------------------------------------------------------ */

/* Prints what was asked for. */
static int show(bw_context* context, const bw_plan* plan, const bw_answer* answer, const Options* options) {
  Page page;
  page_open(&page, context, answer, bw_plan_text(plan, NULL));
  if (options->json) puts(bw_answer_text(answer, NULL));
  else page_print(&page);
  if (options->how && !options->json) page_print_how(&page);
  const int code = page.best != NULL ? exit_good : exit_refused;
  page_close(&page);
  return when_written("compare", code);
}

/* The plan was in order when it was read: what is wrong with usage or document now is a --route. */
static int tell_comparison_errors(const bw_context* context, bw_status status, const Options* options) {
  const int code = exit_of(status);
  const int from_options = code == exit_usage || code == exit_document;
  tell_errors(context, from_options ? "compare: --route" : source_name(options->file), !from_options);
  return from_options ? exit_usage : code;
}

static int compare_routes(bw_context* context, const bw_plan* plan, const Options* options) {
  Text json = {0};
  bw_answer* answer = NULL;
  write_options(options, &json);
  const bw_status status = bw_compare(context, plan, text_of(&json), json.size, &answer);
  const int code = status == BW_OK ? show(context, plan, answer, options)
                                   : tell_comparison_errors(context, status, options);
  bw_answer_destroy(&answer);
  text_free(&json);
  return code;
}

static int compare_text(bw_context* context, const Text* text, const Options* options) {
  bw_plan* plan = NULL;
  const bw_status status = bw_plan_read(context, text_of(text), text->size, &plan);
  if (status != BW_OK) {
    tell_errors(context, source_name(options->file), 1);
    return exit_of(status);
  }
  const int code = compare_routes(context, plan, options);
  bw_plan_destroy(&plan);
  return code;
}

static int run(const Options* options) {
  Text text = {0};
  bw_context* context = NULL;
  int code = exit_usage;
  if (read_source("compare", options->file, &text)) {
    const bw_status status = bw_context_create(&context);
    if (status != BW_OK) print_error(bw_status_text(status));
    code = status == BW_OK ? compare_text(context, &text, options) : exit_of(status);
  }
  bw_context_destroy(&context);
  text_free(&text);
  return code;
}

int main(int count, char** arguments) {
  Options options = {0};
  Pool pool = {0};
  options.routes = pool_block(&pool, (size_t)count * sizeof *options.routes);
  int code = exit_usage;
  if (read_options(count, arguments, &options)) {
    code = exit_good;
    if (options.help) fputs(help, stdout);
    else if (options.version) printf("buttonworth %s\n", bw_version());
    else code = run(&options);
  }
  pool_free(&pool);
  return code;
}
