/* Asks the bench: what is worked out before a plan, and the plan with it put in.
 *
 *     bench FOLDER
 *
 * A program over the C interface alone. How the library is asked stands in bench/requests.c, how its answers
 * become sheets in the rest of bench/, how they go into a plan in bench/plan.c. */
#include <buttonworth.h>
#include <stdio.h>
#include <string.h>

#include "bench/plan.h"
#include "bench/requests.h"
#include "bench/sheet.h"
#include "page/json.h"
#include "page/program.h"

static const char help[] =
    "Works out what is wanted before a plan: how far a sample can be believed, assays by screen, the lot "
    "from a\n"
    "run sheet, balances, the curve of a table, flux and slag, a bar, how long to gather.\n"
    "\n"
    "usage: bench [--json] [REQUEST.json | FOLDER | -]\n"
    "       bench --plan PLAN.json FOLDER\n"
    "\n"
    "  REQUEST.json      one request; - or nothing: standard input\n"
    "  FOLDER            all requests in it, *.json, in the order of the numbers their names begin with\n"
    "  --json            the answer as JSON instead of the sheet; of a folder {\"1-sampling.json\": …, …}\n"
    "  --plan PLAN.json  the plan with answers put in, as FOLDER/into-plan.csv says: in each of its rows, "
    "after\n"
    "                    the header, a request's file and the place in the plan (/lot, /lot/parts/0,\n"
    "                    /steps/NAME) that takes the lot, the curve or the flux\n"
    "  --version, --help\n"
    "\n"
    "Errors are told on standard error, one line each: file, place in the request, what is wrong. While it\n"
    "works, a terminal shows how far it is.\n"
    "exit codes:\n"
    "  0  answered\n"
    "  1  usage: an option, or a file that cannot be read\n"
    "  2  a request, or the plan, is not as it should be\n"
    "  3  figures that cannot be: a balance, a charge or a curve that nothing fits\n"
    "  4  a target that cannot be reached\n"
    "  5  no route is accepted by its buyers, however long one waits (the sheet says why)\n"
    "  7  no memory\n"
    "  8  a fault of the library\n";

typedef struct Options {
  int json, help, version;
  const char *plan, *path; /* no path: standard input */
} Options;

/* ---- Options --------------------------------------------------------------------------------- */

static int* flag_of(Options* options, const char* argument) {
  if (strcmp(argument, "--json") == 0) return &options->json;
  if (strcmp(argument, "--help") == 0) return &options->help;
  if (strcmp(argument, "--version") == 0) return &options->version;
  return NULL;
}

static int refuse(const char* what, const char* argument) {
  fprintf(stderr, "bench: %s%s (bench --help says more)\n", what, argument);
  return 0;
}

static int are_whole(const Options* options) {
  if (options->help || options->version || options->plan == NULL) return 1;
  if (options->json) return refuse("a plan is JSON: leave out --json", "");
  return options->path != NULL ? 1 : refuse("--plan wants the folder whose answers go into it", "");
}

/* Fills in the options; 0 where the command line is wrong, which was told. */
static int read_options(int count, char** arguments, Options* options) {
  for (int i = 1; i < count; ++i) {
    int* flag = flag_of(options, arguments[i]);
    if (flag != NULL) {
      *flag = 1;
    } else if (strcmp(arguments[i], "--plan") == 0) {
      if (i + 1 == count) return refuse("--plan needs the name of a plan", "");
      options->plan = arguments[++i];
    } else if (arguments[i][0] == '-' && arguments[i][1] != '\0') {
      return refuse("there is no option ", arguments[i]);
    } else if (options->path != NULL) {
      return refuse("one request or folder at a time, not also ", arguments[i]);
    } else {
      options->path = arguments[i];
    }
  }
  return are_whole(options);
}

/* ---- Answers --------------------------------------------------------------------------------- */

static void print_named(const Request* request, const char* before) {
  Text text = {0};
  text_add(&text, "%s", before);
  json_add_string(&text, request->name, strlen(request->name));
  printf("%s: %s", text_of(&text), bw_answer_text(request->answer, NULL));
  text_free(&text);
}

static void print_json(const Requests* requests) {
  if (!requests->in_folder) {
    puts(bw_answer_text(requests->list[0].answer, NULL));
    return;
  }
  for (size_t i = 0; i < requests->count; ++i) print_named(&requests->list[i], i == 0 ? "{" : ",\n");
  puts("}");
}

static int show(bw_context* context, const Requests* requests, const Options* options) {
  int code = exit_good;
  if (options->json) print_json(requests);
  else sheets_print(context, requests);
  for (size_t i = 0; i < requests->count; ++i)
    if (is_refusal(context, &requests->list[i])) code = exit_refused;
  return when_written("bench", code);
}

/* All answers first: half a page would mislead. */
static int answer(bw_context* context, Requests* requests, const Options* options) {
  const int code = requests_ask(requests, context);
  return code == exit_good ? show(context, requests, options) : code;
}

static int work_out(bw_context* context, const Options* options) {
  Requests requests;
  int code = exit_usage;
  if (requests_open(&requests, options->path)) {
    code = options->plan != NULL ? print_plan_with(context, options->plan, options->path, &requests)
                                 : answer(context, &requests, options);
  }
  requests_close(&requests);
  return code;
}

static int run(const Options* options) {
  bw_context* context = NULL;
  const bw_status status = bw_context_create(&context);
  if (status != BW_OK) print_error(bw_status_text(status));
  const int code = status == BW_OK ? work_out(context, options) : exit_of(status);
  bw_context_destroy(&context);
  return code;
}

int main(int count, char** arguments) {
  Options options = {0};
  if (!read_options(count, arguments, &options)) return exit_usage;
  if (options.help) fputs(help, stdout);
  else if (options.version) printf("buttonworth %s\n", bw_version());
  else return run(&options);
  return exit_good;
}
