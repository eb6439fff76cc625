/* Says how sure a plan's choice is, what would change it, and whether one more assay is worth its cost.
 *
 *     sure plan.json options.json
 *
 * A program over the C interface alone. How the library is asked stands in sure/asking.c, how its answers
 * become a page and pictures in the rest of sure/. */
#include <buttonworth.h>
#include <stdio.h>
#include <string.h>

#include "page/program.h"
#include "sure/picture.h"
#include "sure/sure.h"

static const char help[] =
    "Says how sure the choice of a route is: draws the plan's uncertain figures many times, and tells what "
    "each\n"
    "route leaves on average and at worst, what would tip the choice, and what one more assay is worth.\n"
    "\n"
    "usage: sure [--json] [--draws N] [--picture FOLDER] [PLAN.json | -] [OPTIONS.json]\n"
    "\n"
    "  PLAN.json         the plan; - or nothing: standard input\n"
    "  OPTIONS.json      what is asked: {\"simulate\": …, \"worth\": …, \"break_even\": [ … ], "
    "\"counter_offers\": …,\n"
    "                    \"forgiving_cut\": …, \"sensitivity\": …, \"maps\": [ … ]}, each as the library "
    "takes it;\n"
    "                    what is left out is asked with the usual options, worth and maps not at all\n"
    "  --draws N         so many draws, a power of two from 256 on\n"
    "  --picture FOLDER  pictures besides, as SVG, into a folder that is made where it is not there\n"
    "  --json            the answers as JSON instead of the page\n"
    "  --version, --help\n"
    "\n"
    "Errors are told on standard error, one line each: file, place in it, what is wrong. While it works, a\n"
    "terminal shows how far it is.\n"
    "exit codes:\n"
    "  0  there is a route to take\n"
    "  1  usage: an option, or a file that cannot be read or written\n"
    "  2  the plan or the options are not as they should be\n"
    "  3  the plan asks for impossible physics\n"
    "  4  a target that cannot be reached\n"
    "  5  no route is accepted by its buyers in any draw (the page says why)\n"
    "  7  no memory\n"
    "  8  a fault of the library\n";

typedef struct Options {
  int json, help, version;
  const char *plan, *options; /* no plan: standard input */
  const char *draws, *picture;
} Options;

/* ---- Options --------------------------------------------------------------------------------- */

static int* flag_of(Options* options, const char* argument) {
  if (strcmp(argument, "--json") == 0) return &options->json;
  if (strcmp(argument, "--help") == 0) return &options->help;
  if (strcmp(argument, "--version") == 0) return &options->version;
  return NULL;
}

static const char** value_of(Options* options, const char* argument) {
  if (strcmp(argument, "--draws") == 0) return &options->draws;
  if (strcmp(argument, "--picture") == 0) return &options->picture;
  return NULL;
}

static int refuse(const char* what, const char* argument) {
  fprintf(stderr, "sure: %s%s (sure --help says more)\n", what, argument);
  return 0;
}

static int take_file(Options* options, const char* argument) {
  if (argument[0] == '-' && argument[1] != '\0') return refuse("there is no option ", argument);
  if (options->options != NULL) return refuse("one plan and its options at a time, not also ", argument);
  if (options->plan == NULL) options->plan = argument;
  else options->options = argument;
  return 1;
}

/* What is no number cannot be handed on: it would stand in the library's options as it is. */
static int are_draws_digits(const Options* options) {
  const char* draws = options->draws;
  if (draws == NULL || (*draws >= '1' && *draws <= '9' && draws[strspn(draws, "0123456789")] == '\0'))
    return 1;
  return refuse("--draws wants a whole number, not ", draws);
}

/* Fills in the options; 0 where the command line is wrong, which was told. */
static int read_options(int count, char** arguments, Options* options) {
  for (int i = 1; i < count; ++i) {
    int* flag = flag_of(options, arguments[i]);
    const char** value = value_of(options, arguments[i]);
    if (flag != NULL) {
      *flag = 1;
    } else if (value != NULL) {
      if (i + 1 == count) return refuse("nothing stands after ", arguments[i]);
      *value = arguments[++i];
    } else if (!take_file(options, arguments[i])) {
      return 0;
    }
  }
  return are_draws_digits(options);
}

/* ---- Answering ------------------------------------------------------------------------------- */

static int show(Sure* sure, const Options* options) {
  const int code = *preferred(sure) != '\0' ? exit_good : exit_refused;
  if (options->picture != NULL && code == exit_good && !draw_pictures(sure, options->picture))
    return exit_usage;
  if (options->json) print_answers(sure);
  else print_sure(sure);
  return when_written("sure", code);
}

static int answer(bw_context* context, const bw_plan* plan, const Text* text, const Options* options) {
  const Source source = {options->plan, options->options, options->draws, options->picture != NULL};
  Sure sure;
  int code = sure_ask(&sure, context, plan, text, &source);
  if (code == exit_good) code = show(&sure, options);
  sure_close(&sure);
  return code;
}

static int read_and_answer(bw_context* context, const Text* plan_text, const Text* text,
                           const Options* options) {
  bw_plan* plan = NULL;
  const bw_status status = bw_plan_read(context, text_of(plan_text), plan_text->size, &plan);
  if (status != BW_OK) {
    tell_errors(context, source_name(options->plan), 1);
    return exit_of(status);
  }
  const int code = answer(context, plan, options->options != NULL ? text : NULL, options);
  bw_plan_destroy(&plan);
  return code;
}

static int run(const Options* options) {
  Text plan = {0}, text = {0};
  bw_context* context = NULL;
  int code = exit_usage;
  if (read_source("sure", options->plan, &plan) &&
      (options->options == NULL || read_source("sure", options->options, &text))) {
    const bw_status status = bw_context_create(&context);
    if (status != BW_OK) print_error(bw_status_text(status));
    code = status == BW_OK ? read_and_answer(context, &plan, &text, options) : exit_of(status);
  }
  bw_context_destroy(&context);
  text_free(&plan);
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
