/* Decides a month of lots together: which are joined, which way each goes, to whom and when.
 *
 *     together lots.json
 *
 * A program over the C interface alone, of the core and of the library of schedules. The page stands in
 * together/. */
#include <buttonworth_schedule.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "page/program.h"
#include "page/progress.h"
#include "together/schedule.h"

static const char help[] =
    "Decides a month of lots together: which are joined, which way each goes, to which buyer and when, so "
    "that all\n"
    "of them leave the most within the hours, melts, cash and metal that there are.\n"
    "\n"
    "usage: together [--json] [LOTS.json | -]\n"
    "\n"
    "  LOTS.json   the lots, steps, terms, routes and limits; - or nothing: standard input\n"
    "  --json      the answer as JSON instead of the page\n"
    "  --version, --help\n"
    "\n"
    "Errors are told on standard error, one line each: file, place in it, what is wrong. While it works, a\n"
    "terminal shows how far it is.\n"
    "exit codes:\n"
    "  0  there is something to send, and every limit is kept\n"
    "  1  usage: an option, or a file that cannot be read\n"
    "  2  the request is not as it should be\n"
    "  3  the request asks for impossible physics\n"
    "  5  nothing is worth sending, or the limits cannot all be kept (the page says why)\n"
    "  7  no memory\n"
    "  8  a fault of the library\n";

typedef struct Options {
  int json, help, version;
  const char* lots; /* NULL: standard input */
} Options;

static int* flag_of(Options* options, const char* argument) {
  if (strcmp(argument, "--json") == 0) return &options->json;
  if (strcmp(argument, "--help") == 0) return &options->help;
  if (strcmp(argument, "--version") == 0) return &options->version;
  return NULL;
}

static int refuse(const char* what, const char* argument) {
  fprintf(stderr, "together: %s%s (together --help says more)\n", what, argument);
  return 0;
}

/* Fills in the options; 0 where the command line is wrong, which was told. */
static int read_options(int count, char** arguments, Options* options) {
  for (int i = 1; i < count; ++i) {
    int* flag = flag_of(options, arguments[i]);
    if (flag != NULL) *flag = 1;
    else if (arguments[i][0] == '-' && arguments[i][1] != '\0')
      return refuse("there is no option ", arguments[i]);
    else if (options->lots != NULL) return refuse("one month at a time, not also ", arguments[i]);
    else options->lots = arguments[i];
  }
  return 1;
}

/* ---- Answering ------------------------------------------------------------------------------- */

static void tell_how_far(void* user, int64_t done, int64_t total) {
  char line[60];
  (void)user;
  if (total <= 0) return;
  snprintf(line, sizeof line, "blends and schedules: %d %%", (int)(100 * done / total));
  show_progress(line);
}

static int show(bw_context* context, const bw_answer* answer, const Options* options) {
  Page page = asking(context, answer);
  const int good = ask_count(&page, "/shipments") > 0 && strcmp(ask_text(&page, "/limits_kept"), "true") == 0;
  if (options->json) puts(bw_answer_text(answer, NULL));
  else print_schedule(&page);
  pool_free(&page.pool);
  return when_written("together", good ? exit_good : exit_refused);
}

static int ask(bw_context* context, const Text* text, const Options* options) {
  bw_answer* answer = NULL;
  bw_set_progress(context, tell_how_far, NULL);
  const bw_status status = bw_allocate(context, text_of(text), text->size, &answer);
  end_progress();
  if (status != BW_OK) {
    tell_errors(context, source_name(options->lots), 1);
    return exit_of(status);
  }
  const int code = show(context, answer, options);
  bw_answer_destroy(&answer);
  return code;
}

static int run(const Options* options) {
  Text text = {0};
  bw_context* context = NULL;
  int code = exit_usage;
  if (read_source("together", options->lots, &text)) {
    const bw_status status = bw_context_create(&context);
    if (status != BW_OK) print_error(bw_status_text(status));
    code = status == BW_OK ? ask(context, &text, options) : exit_of(status);
  }
  bw_context_destroy(&context);
  text_free(&text);
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
