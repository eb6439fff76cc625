/* The book of a month: what was delivered to any number of buyers, what is owed and when, and what the buyers
 * returned against what was due.
 *
 *     month FOLDER
 *
 * A program over the C interface alone. How the library is asked stands in month/taking.c and
 * month/asking.c; how its answers become a page is in the rest of month/. */
#include <buttonworth.h>
#include <stdio.h>
#include <string.h>

#include "month/book.h"
#include "month/folder.h"
#include "page/program.h"

static const char help[] =
    "Works out a month of deliveries to any number of buyers, and prints the book.\n"
    "\n"
    "usage: month [--json] FOLDER\n"
    "\n"
    "  FOLDER  holds the month:\n"
    "            month.json      days, buyers, their terms, what was open, metal accounts, metal on hand\n"
    "            deliveries.csv  one row a delivery\n"
    "            received.csv    one row a sum of money received\n"
    "            returns.csv     one row a return of a buyer; may be missing\n"
    "  --json  the answers as JSON instead of the page: {\"book\": …, \"returns\": …}\n"
    "  --version, --help\n"
    "\n"
    "Errors are told on standard error, one line each: file, row as a spreadsheet counts it, place, what is\n"
    "wrong. While it works, a terminal shows how far it is.\n"
    "exit codes:\n"
    "  0  a book; refused and provisional deliveries are told in it\n"
    "  1  usage: an option, or a file that cannot be read\n"
    "  2  a file is not as it should be\n"
    "  3  a delivery asks for impossible physics\n"
    "  7  no memory\n"
    "  8  a fault of the library\n";

typedef struct Options {
  int json, help, version;
  const char* folder;
} Options;

/* ---- Options -------------------------------------------------------------------------------- */

static int* flag_of(Options* options, const char* argument) {
  if (strcmp(argument, "--json") == 0) return &options->json;
  if (strcmp(argument, "--help") == 0) return &options->help;
  if (strcmp(argument, "--version") == 0) return &options->version;
  return NULL;
}

static int refuse(const char* what, const char* argument) {
  fprintf(stderr, "month: %s%s (month --help says more)\n", what, argument);
  return 0;
}

/* Fills in the options; 0 where the command line is wrong, which was told. */
static int read_options(int count, char** arguments, Options* options) {
  for (int i = 1; i < count; ++i) {
    int* flag = flag_of(options, arguments[i]);
    if (flag != NULL) *flag = 1;
    else if (arguments[i][0] == '-') return refuse("there is no option ", arguments[i]);
    else if (arguments[i][0] == '\0') return refuse("a folder has a name", "");
    else if (options->folder != NULL) return refuse("one month at a time, not also ", arguments[i]);
    else options->folder = arguments[i];
  }
  const int asks = options->help || options->version || options->folder != NULL;
  return asks ? 1 : refuse("name the folder of a month", "");
}

/* ---- The month ------------------------------------------------------------------------------ */

static void print_json(const bw_answer* book, const bw_answer* returns) {
  printf("{\"book\": %s", bw_answer_text(book, NULL));
  if (returns != NULL) printf(",\n\"returns\": %s", bw_answer_text(returns, NULL));
  puts("}");
}

static void print_page(bw_context* context, const bw_answer* answer, const bw_answer* returns) {
  Book book;
  book_open(&book, context, answer);
  book_print(&book);
  if (returns != NULL) returns_print(&book, returns);
  book_close(&book);
}

/* Both answers first: half a page would mislead. */
static int work_out(bw_context* context, Folder* folder, const Options* options) {
  bw_answer *book = NULL, *returns = NULL;
  int code = take_month(context, folder, &book);
  if (code == exit_good && has_returns(folder)) code = ask_returns(context, folder, &returns);
  if (code == exit_good && options->json) print_json(book, returns);
  else if (code == exit_good) print_page(context, book, returns);
  bw_answer_destroy(&returns);
  bw_answer_destroy(&book);
  return code == exit_good ? when_written("month", code) : code;
}

static int run(const Options* options) {
  Folder folder;
  bw_context* context = NULL;
  folder_open(&folder, options->folder);
  const bw_status status = bw_context_create(&context);
  if (status != BW_OK) print_error(bw_status_text(status));
  const int code = status == BW_OK ? work_out(context, &folder, options) : exit_of(status);
  bw_context_destroy(&context);
  folder_close(&folder);
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
