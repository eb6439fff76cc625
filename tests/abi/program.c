/* A program as somebody built it when the interface was stored: with the headers of baseline/ and a library
 * that has those functions and no bodies. It runs with today's library, and what it is told must be what it
 * expects. All of it is worked out by hand. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "buttonworth.h"
#include "buttonworth_schedule.h"

static int failures = 0;
static bw_context* context = NULL;

static void expect(int right, const char* what, int line) {
  if (right) return;
  ++failures;
  fprintf(stderr, "line %d: %s; last error: %s\n", line, what, bw_error_text(context));
}
#define EXPECT(condition) expect((condition) != 0, #condition, __LINE__)

static int is_near(double a, double b) { return fabs(a - b) <= 1e-9 * fabs(b); }

/* ---- Statuses ------------------------------------------------------------------------------------ */

typedef struct Known {
  bw_status status;
  const char *class_name, *name;
} Known;

/* What a status is called is in the vectors and in programs; the number is in the programs alone. */
static const Known statuses[] = {
    {BW_OK, "ok", "ok"},
    {BW_USAGE_NULL, "usage", "null"},
    {BW_USAGE_SIZE, "usage", "size"},
    {BW_USAGE_BUFFER, "usage", "buffer"},
    {BW_USAGE_POINTER, "usage", "pointer"},
    {BW_USAGE_TYPE, "usage", "kind"},
    {BW_USAGE_NAME, "usage", "no such name"},
    {BW_USAGE_OPTIONS, "usage", "options"},
    {BW_USAGE_OVER, "usage", "over"},
    {BW_DOCUMENT_UTF8, "document", "utf8"},
    {BW_DOCUMENT_JSON, "document", "json"},
    {BW_DOCUMENT_LIMIT, "document", "limit"},
    {BW_DOCUMENT_REPEATED, "document", "repeated"},
    {BW_DOCUMENT_UNKNOWN_FIELD, "document", "unknown field"},
    {BW_DOCUMENT_MISSING_FIELD, "document", "missing field"},
    {BW_DOCUMENT_TYPE, "document", "type"},
    {BW_DOCUMENT_QUANTITY, "document", "quantity"},
    {BW_DOCUMENT_UNIT, "document", "unit"},
    {BW_DOCUMENT_RANGE, "document", "range"},
    {BW_DOCUMENT_NAME, "document", "name"},
    {BW_DOCUMENT_CONFLICT, "document", "conflict"},
    {BW_DOCUMENT_FORMAT, "document", "format"},
    {BW_DOMAIN_ASSAYS, "domain", "assays"},
    {BW_DOMAIN_CURVE, "domain", "curve"},
    {BW_DOMAIN_SPLIT, "domain", "split"},
    {BW_DOMAIN_MELT, "domain", "melt"},
    {BW_DOMAIN_MERCURY, "domain", "mercury"},
    {BW_DOMAIN_BALANCE, "domain", "balance"},
    {BW_DOMAIN_FLUX, "domain", "flux"},
    {BW_DOMAIN_FIT, "domain", "fit"},
    {BW_NO_SOLUTION_GRADE, "no solution", "grade"},
    {BW_NO_SOLUTION_RECOVERY, "no solution", "recovery"},
    {BW_CANCELLED, "cancelled", "cancelled"},
    {BW_BUSY, "busy", "busy"},
    {BW_MEMORY, "memory", "memory"},
    {BW_INTERNAL, "internal", "internal"},
};

static void check_statuses(void) {
  for (size_t i = 0; i < sizeof statuses / sizeof *statuses; ++i) {
    EXPECT(strcmp(bw_status_name(statuses[i].status), statuses[i].name) == 0);
    EXPECT(strcmp(bw_status_class(statuses[i].status), statuses[i].class_name) == 0);
    EXPECT(bw_status_text(statuses[i].status)[0] != '\0');
  }
}

/* ---- A plan -------------------------------------------------------------------------------------- */

/* 1 t at 50 g/t, 90 % of 100 USD/g paid: 4500 USD; or kept, for nothing. */
static const char plan_text[] =
    "{\"format\": \"buttonworth-plan/1\", \"currency\": \"USD\", \"prices\": {\"Au\": \"100 USD/g\"}, "
    "\"discount\": \"0 %/a\", \"lot\": {\"wet_mass\": \"1 t\", \"assays\": {\"Au\": \"50 g/t\"}}, "
    "\"terms\": {\"smelter\": {\"buys\": \"concentrate\", \"pay\": {\"Au\": {\"share\": \"90 %\"}}}}, "
    "\"routes\": {\"as it is\": {\"sell\": \"smelter\"}, \"kept\": {\"keep\": true}}}";

static int64_t last_done = -1, last_total = -2;
static void follow(void* user, int64_t done, int64_t total) {
  ++*(int*)user;
  last_done = done;
  last_total = total;
}

static void record(void* user, int32_t level, const char* text, size_t size) {
  ++*(int*)user;
  EXPECT(level >= 0 && level <= 4 && strlen(text) == size);
}

static void check_comparison(const bw_plan* plan) {
  bw_answer* answer = NULL;
  double leaves = 0;
  size_t size = 0;
  char text[16];
  EXPECT(bw_compare(context, plan, NULL, 0, &answer) == BW_OK);
  EXPECT(bw_answer_number(context, answer, "/routes/as it is/net", &leaves) == BW_OK && leaves == 4500);
  EXPECT(bw_answer_string(context, answer, "/best", text, sizeof text, &size) == BW_OK);
  EXPECT(strcmp(text, "as it is") == 0 && size == 9);
  EXPECT(bw_answer_string(context, answer, "/best", text, 4, &size) == BW_USAGE_BUFFER && size == 9);
  EXPECT(bw_answer_count(context, answer, "/routes", &size) == BW_OK && size == 2);
  EXPECT(bw_answer_name(context, answer, "/routes", 1, text, sizeof text, NULL) == BW_OK);
  EXPECT(strcmp(text, "kept") == 0);
  EXPECT(bw_answer_number(context, answer, "/nothing", &leaves) == BW_USAGE_POINTER && isnan(leaves));
  EXPECT(strlen(bw_answer_text(answer, &size)) == size && size > 100);
  bw_answer_destroy(&answer);
  EXPECT(answer == NULL);
}

static void check_simulation(const bw_plan* plan) {
  const char options[] = "{\"draws\": 256, \"seed\": 7, \"threads\": 2, \"keep\": true}";
  bw_answer* answer = NULL;
  double draws[256], mean = 0;
  size_t count = 0;
  EXPECT(bw_simulate(context, plan, options, strlen(options), &answer) == BW_OK);
  EXPECT(bw_answer_number(context, answer, "/routes/as it is/mean", &mean) == BW_OK && is_near(mean, 4500));
  EXPECT(bw_answer_draws(context, answer, "as it is", draws, 256, &count) == BW_OK && count == 256);
  EXPECT(is_near(draws[0], 4500) && is_near(draws[255], 4500));
  bw_answer_destroy(&answer);
}

/* A lot of m t at a g/t leaves 90 m a USD. */
static void check_lots(const bw_plan* plan) {
  const char* const pointers[] = {"/lot/wet_mass", "/lot/assays/Au"};
  const double lots[] = {1, 50, 2, 10, 0.5, 100}, wanted[] = {4500, 1800, 4500};
  const double* const columns[] = {lots, lots + 1};
  const int64_t strides[] = {2, 2};
  const char options[] = "{\"routes\": [\"as it is\"]}";
  double values[4], sds[4], sum = 0;
  bw_answer* answer = NULL;
  EXPECT(bw_value_lots(context, plan, options, strlen(options), pointers, columns, strides, 2, 3, values, sds,
                       4, &answer) == BW_OK);
  for (int i = 0; i < 3; ++i) EXPECT(is_near(values[i], wanted[i]) && sds[i] == 0);
  EXPECT(isnan(values[3]));
  EXPECT(bw_answer_number(context, answer, "/sum", &sum) == BW_OK && is_near(sum, 10800));
  bw_answer_destroy(&answer);
}

static void check_tipping(const bw_plan* plan) {
  const char of_price[] = "{\"of\": \"/prices/Au\", \"from\": \"50 USD/g\", \"to\": \"150 USD/g\"}";
  const char map[] =
      "{\"x\": {\"of\": \"/prices/Au\", \"from\": \"50 USD/g\", \"to\": \"150 USD/g\", \"steps\": 3}, "
      "\"y\": {\"of\": \"/lot/wet_mass\", \"from\": \"1 t\", \"to\": \"2 t\", \"steps\": 3}}";
  bw_answer* answer = NULL;
  EXPECT(bw_break_even(context, plan, of_price, strlen(of_price), &answer) == BW_OK);
  bw_answer_destroy(&answer);
  EXPECT(bw_map(context, plan, map, strlen(map), &answer) == BW_OK);
  bw_answer_destroy(&answer);
  EXPECT(bw_sensitivity(context, plan, NULL, 0, &answer) == BW_OK);
  bw_answer_destroy(&answer);
  EXPECT(bw_counter_offers(context, plan, NULL, 0, &answer) == BW_OK);
  bw_answer_destroy(&answer);
  EXPECT(bw_forgiving_cut(context, plan, NULL, 0, &answer) == BW_USAGE_OPTIONS && answer == NULL);
  EXPECT(bw_worth(context, plan, NULL, 0, &answer) == BW_USAGE_OPTIONS && answer == NULL);
}

static void check_changed_plan(const bw_plan* plan) {
  const char* const pointers[] = {"/lot/wet_mass", "/note"};
  const char* const values[] = {"1 t", "rows"};
  bw_plan* changed = NULL;
  bw_answer* answer = NULL;
  double leaves = 0;
  EXPECT(bw_plan_with(context, plan, "/lot/wet_mass", "2 t", &changed) == BW_OK);
  EXPECT(strstr(bw_plan_text(changed, NULL), "\"2 t\"") != NULL);
  EXPECT(bw_compare(context, changed, NULL, 0, &answer) == BW_OK);
  EXPECT(bw_answer_number(context, answer, "/routes/as it is/net", &leaves) == BW_OK && leaves == 9000);
  bw_answer_destroy(&answer);
  bw_plan_destroy(&changed);
  EXPECT(bw_plan_read_rows(context, pointers, values, 2, &changed) == BW_DOCUMENT_MISSING_FIELD);
  EXPECT(changed == NULL);
  EXPECT(bw_read_rows(context, pointers, values, 2, &answer) == BW_OK);
  EXPECT(strstr(bw_answer_text(answer, NULL), "\"rows\"") != NULL);
  bw_answer_destroy(&answer);
}

static void check_plan(void) {
  bw_plan* plan = NULL;
  int reports = 0, records = 0;
  EXPECT(bw_set_progress(context, follow, &reports) == BW_OK);
  EXPECT(bw_set_log(context, record, &records, 0) == BW_OK);
  EXPECT(bw_plan_read(context, plan_text, strlen(plan_text), &plan) == BW_OK);
  check_comparison(plan);
  EXPECT(reports > 0 && last_done == last_total && records > 0);
  EXPECT(bw_set_progress(context, NULL, NULL) == BW_OK && bw_set_log(context, NULL, NULL, 0) == BW_OK);
  check_simulation(plan);
  check_lots(plan);
  check_tipping(plan);
  check_changed_plan(plan);
  bw_plan_destroy(&plan);
}

/* ---- Errors and limits --------------------------------------------------------------------------- */

static void check_errors(void) {
  const char wrong[] = "{\"quantity\": \"1 lb\", \"to\": \"USD\"}";
  bw_answer* answer = NULL;
  size_t size = 0;
  int64_t depth = 0;
  EXPECT(bw_convert(context, wrong, strlen(wrong), &answer) == BW_DOCUMENT_UNIT && answer == NULL);
  EXPECT(bw_error_status(context) == BW_DOCUMENT_UNIT);
  EXPECT(strstr(bw_error_list(context, &size), "\"code\":\"unit\",\"status\":209") != NULL && size > 40);
  EXPECT(bw_convert(context, "{", 1, &answer) == BW_DOCUMENT_JSON);
  EXPECT(bw_convert(context, NULL, 1, &answer) == BW_USAGE_NULL);
  EXPECT(bw_get_limit(context, "depth", &depth) == BW_OK && depth == 64);
  EXPECT(bw_set_limit(context, "depth", 2) == BW_OK);
  EXPECT(bw_convert(context, "{\"a\": [[1]]}", 12, &answer) == BW_DOCUMENT_LIMIT);
  EXPECT(bw_set_limit(context, "depth", depth) == BW_OK);
  EXPECT(bw_set_limit(context, "no such", 2) == BW_USAGE_NAME);
  bw_cancel(context);
  EXPECT(bw_convert(NULL, wrong, strlen(wrong), &answer) == BW_USAGE_NULL);
}

/* ---- Requests of their own ----------------------------------------------------------------------- */

typedef bw_status (*Request)(bw_context*, const char*, size_t, bw_answer**);

/* The number at a pointer of the answer to a request. */
static double asked(Request call, const char* json, const char* pointer) {
  bw_answer* answer = NULL;
  double number = NAN;
  EXPECT(call(context, json, strlen(json), &answer) == BW_OK);
  EXPECT(bw_answer_number(context, answer, pointer, &number) == BW_OK);
  bw_answer_destroy(&answer);
  return number;
}

static void check_requests(void) {
  /* 100 g at 880 fine, whatever is in it */
  EXPECT(asked(bw_settle,
               "{\"format\": \"buttonworth-delivery/1\", \"currency\": \"USD\", \"terms\": {\"buys\": "
               "\"nuggets\", "
               "\"deemed\": {\"Au\": \"880 fine\"}, \"pay\": {\"Au\": {}}}, \"delivered\": {\"wet_mass\": "
               "\"100 g\"}, "
               "\"assays\": {}, \"prices\": {\"Au\": \"1 USD/g\"}}",
               "/proceeds") == 88);
  /* (0.842 g + 399 g x 0.525 %) / 400 g */
  EXPECT(is_near(asked(bw_bench,
                       "{\"format\": \"buttonworth-screen-assay/1\", \"coarse\": {\"mass\": \"1 g\", "
                       "\"metal\": \"0.842 g\"}, \"fine\": {\"mass\": \"399 g\", \"grade\": \"0.525 %\"}}",
                       "/grade"),
                 7341.875));
  /* two lots of 300 kg that no buyer takes alone: 30 g x 90 % x 100 USD/g */
  EXPECT(
      asked(bw_allocate,
            "{\"format\": \"buttonworth-allocation/1\", \"currency\": \"USD\", \"prices\": {\"Au\": \"100 "
            "USD/g\"}, "
            "\"discount\": \"0 %/a\", \"gap\": \"0 %\", \"lots\": {"
            "\"K-1\": {\"wet_mass\": \"300 kg\", \"assays\": {\"Au\": \"50 g/t\"}}, "
            "\"K-2\": {\"wet_mass\": \"300 kg\", \"assays\": {\"Au\": \"50 g/t\"}}}, "
            "\"terms\": {\"smelter\": {\"buys\": \"concentrate\", \"pay\": {\"Au\": {\"share\": \"90 %\"}}, "
            "\"accepts\": {\"mass\": {\"min\": \"400 kg\"}}}}, \"routes\": {\"sold\": {\"sell\": "
            "\"smelter\"}}}",
            "/present_value") == 2700);
}

static void check_refused_requests(void) {
  const Request calls[] = {bw_reconcile, bw_book, bw_dispute, bw_metal_call};
  bw_answer* answer = NULL;
  for (size_t i = 0; i < sizeof calls / sizeof *calls; ++i) {
    EXPECT(calls[i](context, "{}", 2, &answer) >= 200 && answer == NULL);
    EXPECT(strcmp(bw_status_class(bw_error_status(context)), "document") == 0);
  }
}

/* 110 kg, of which 5 % moisture, at 300 g/t: 104.5 kg x 300 g/t x 80 USD/g */
static void check_month(void) {
  const char heading[] =
      "{\"format\": \"buttonworth-month/1\", \"currency\": \"USD\", \"from\": \"2026-03-01\", \"to\": "
      "\"2026-03-31\", "
      "\"buyers\": {\"smelter\": {\"prices\": {\"Au\": \"80 USD/g\"}, "
      "\"terms\": {\"buys\": \"concentrate\", \"pay\": {\"Au\": {}}}}}}";
  const char table[] =
      "id,buyer,arrived,wet_mass (kg),moisture (%),Au (g/t)\nK-1,smelter,2026-03-10,110,5,300\n";
  bw_month* month = NULL;
  bw_answer* book = NULL;
  double proceeds = 0;
  EXPECT(bw_month_open(context, heading, strlen(heading), &month) == BW_OK);
  EXPECT(bw_month_take(context, month, "deliveries", table, strlen(table)) == BW_OK);
  EXPECT(bw_month_close(context, month, &book) == BW_OK);
  EXPECT(bw_answer_number(context, book, "/total/proceeds", &proceeds) == BW_OK && proceeds == 2508);
  EXPECT(bw_month_take(context, month, "deliveries", table, strlen(table)) == BW_USAGE_OVER);
  bw_answer_destroy(&book);
  bw_month_destroy(&month);
}

/* ---- Numbers ------------------------------------------------------------------------------------- */

static void check_numbers(void) {
  /* feed 1 %, concentrate 10 %, tailings 0.5 %: 10 (1 - 0.5) / (1 (10 - 0.5)) */
  const double grades[] = {0.01, 0.1, 0.005}, ounces[] = {1, 0, 2, 0};
  const double* const columns[] = {grades, grades + 1, grades + 2};
  const int64_t strides[] = {0, 0, 0};
  double recovery = 0, rows[2] = {0, 0}, grams[2] = {0, 0};
  bw_answer* answer = NULL;
  EXPECT(bw_formula(context, "two_product_recovery", grades, 3, &recovery) == BW_OK);
  EXPECT(is_near(recovery, 5 / 9.5));
  EXPECT(bw_formula_array(context, "two_product_recovery", columns, strides, 3, 2, rows, 1) == BW_OK);
  EXPECT(is_near(rows[0], 5 / 9.5) && rows[1] == rows[0]);
  EXPECT(bw_convert_array(context, ounces, 2, 2, "ozt", "g", grams, 1) == BW_OK);
  EXPECT(is_near(grams[0], 31.1034768) && is_near(grams[1], 62.2069536));
  EXPECT(bw_formulas(context, &answer) == BW_OK);
  bw_answer_destroy(&answer);
  EXPECT(bw_schema(context, "plan", &answer) == BW_OK);
  bw_answer_destroy(&answer);
}

int main(void) {
  EXPECT(bw_context_create(&context) == BW_OK);
  EXPECT(bw_version()[0] != '\0');
  EXPECT(bw_abi_version() == BASELINE_ABI_VERSION);
  check_statuses();
  check_plan();
  check_errors();
  check_requests();
  check_refused_requests();
  check_month();
  check_numbers();
  bw_context_destroy(&context);
  EXPECT(context == NULL);
  printf("%d expectations failed\n", failures);
  return failures == 0 ? 0 : 1;
}
