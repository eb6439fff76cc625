/* Settles a delivery: what the buyer owes for it, as a statement to print and to file.
 *
 *     statement delivery.json
 *
 * A program over the C interface alone. What it takes to ask the library stands here; how the answer
 * becomes a sheet of paper is in statement/. */
#include <buttonworth.h>
#include <stdio.h>
#include <string.h>

#include "page/program.h"
#include "statement/sheet.h"

static const char help[] =
    "Works out what a buyer owes for a delivery, and prints the statement.\n"
    "\n"
    "usage: statement [--json] [--how] [DELIVERY.json | -]\n"
    "\n"
    "  DELIVERY.json  the delivery; - or nothing: standard input\n"
    "  --how          beneath every amount, how it was worked out (unless the delivery leaves that out)\n"
    "  --json         the answer as JSON instead of the statement\n"
    "  --version, --help\n"
    "\n"
    "Errors are told on standard error, one line each: file, place in the delivery, what is wrong.\n"
    "exit codes:\n"
    "  0  a statement, final or provisional\n"
    "  1  usage: an option, or a file that cannot be read\n"
    "  2  the delivery is not as it should be\n"
    "  3  the delivery asks for impossible physics\n"
    "  5  the terms refuse the delivery (the statement says why)\n"
    "  7  no memory\n"
    "  8  a fault of the library\n";

typedef struct Options {
  int json, how, help, version;
  const char* file; /* NULL or "-": standard input */
} Options;

/* ---- Options -------------------------------------------------------------------------------- */

static int* flag_of(Options* options, const char* argument) {
  if (strcmp(argument, "--json") == 0) return &options->json;
  if (strcmp(argument, "--how") == 0) return &options->how;
  if (strcmp(argument, "--help") == 0) return &options->help;
  if (strcmp(argument, "--version") == 0) return &options->version;
  return NULL;
}

static int refuse(const char* what, const char* argument) {
  fprintf(stderr, "statement: %s%s (statement --help says more)\n", what, argument);
  return 0;
}

/* Fills in the options; 0 where the command line is wrong, which was told. */
static int read_options(int count, char** arguments, Options* options) {
  for (int i = 1; i < count; ++i) {
    int* flag = flag_of(options, arguments[i]);
    if (flag != NULL) *flag = 1;
    else if (arguments[i][0] == '-' && arguments[i][1] != '\0')
      return refuse("there is no option ", arguments[i]);
    else if (options->file != NULL) return refuse("one delivery at a time, not also ", arguments[i]);
    else options->file = arguments[i];
  }
  return 1;
}

/* ---- Settling ------------------------------------------------------------------------------- */

/* Prints what was asked for. */
static int show(bw_context* context, const bw_answer* answer, const Text* delivery, const Options* options) {
  Sheet sheet;
  sheet_open(&sheet, context, answer, text_of(delivery));
  if (options->json) puts(bw_answer_text(answer, NULL));
  else sheet_print(&sheet, options->how);
  const int code = sheet.refused ? exit_refused : exit_good;
  sheet_close(&sheet);
  return when_written("statement", code);
}

static int settle(bw_context* context, const Text* delivery, const Options* options) {
  bw_answer* answer = NULL;
  const bw_status status = bw_settle(context, text_of(delivery), delivery->size, &answer);
  if (status != BW_OK) {
    tell_errors(context, source_name(options->file), 1);
    return exit_of(status);
  }
  const int code = show(context, answer, delivery, options);
  bw_answer_destroy(&answer);
  return code;
}

static int run(const Options* options) {
  Text delivery = {0};
  bw_context* context = NULL;
  int code = exit_usage;
  if (read_source("statement", options->file, &delivery)) {
    const bw_status status = bw_context_create(&context);
    if (status != BW_OK) print_error(bw_status_text(status));
    code = status == BW_OK ? settle(context, &delivery, options) : exit_of(status);
  }
  bw_context_destroy(&context);
  text_free(&delivery);
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
